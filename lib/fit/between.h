/* How runs differ beyond the noise within them: by a scatter of their own, and by wind that is
 * another in each run. Neither shows within a run, where a steady wind looks like drag area; both
 * show in how runs of one setup disagree. What else is known of the wind (notes, an air log) is
 * taken in as an observation of it:
 *
 *   log CdA of run i = setup + own + b w + noise,   seen = f w + e
 *
 * w being run i's mean wind beyond the outing's, a process in clock time that all riders of the
 * outing share; f a factor (height, shelter), one for all notes and one for a log; e what one note
 * is wrong by. What all notes of an outing share is left out by taking them about their mean: it is
 * the uncertainty of the outing's wind, a cause in its budget. */
#ifndef CW_FIT_BETWEEN_H
#define CW_FIT_BETWEEN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "fit/run_data.h"
#include "runs/run.h"
#include "stats/components.h"

/* The components: the noise, the runs' own scatter, the winds' sd, m/s; then for each who saw them
 * the factor and by how much larger the errors are than stated. */
enum { CW_BETWEEN_NOISE, CW_BETWEEN_OWN, CW_BETWEEN_WIND, CW_BETWEEN_BARE };

/* How a run answers to a headwind w that is not known of, which is taken to make v2 of the drag
 * (v + w)2: means along the road over that of v2, of v and of 1. */
struct cw_wind_answer {
    double speed, one;
};
struct cw_wind_answer cw_wind_answer_of(const struct cw_run_data *data);

/* A run whose log CdA is asked for. Borrowed throughout. */
struct cw_between_run {
    struct cw_wind_answer by_wind;
    size_t setup, road;
    bool reversed;
    const struct cw_run *run;
    size_t outing;
    double note_sd_ms; /* stated standard uncertainty of a note */
};

/* A log's means over a run err by the gusts that pass it by, m/s. Common practice, no source. */
extern const double cw_wind_log_sd_ms;

/* Everything about n runs that the components stand on. Owned; what the components' data refer to
 * must outlive them. */
struct cw_between {
    size_t n;
    double *own, *wind; /* covariance of log CdA for a scatter of 1 and an sd of 1 m/s, n x n */
    double *alike;      /* correlation of the winds, n x n */
    double *by;         /* how log CdA answers to a wind of 1 m/s, n: alike in runs ridden alike */
    double *curve;      /* to its square, n; likewise */
    double *across;     /* how it answers to the crosswind that a log has, n */
    double *seen_ms[CW_WIND_SEEN]; /* n, about the mean over their outing; NaN: not seen */
    double *seen_sd_ms[CW_WIND_SEEN];
    size_t n_seen[CW_WIND_SEEN];
    enum cw_wind_use use[CW_WIND_SEEN];
    size_t factor[CW_WIND_SEEN]; /* index of the component; the error's is the next. 0: none */
    double *scratch;             /* where winds were seen */
    size_t *outing;              /* n */
    size_t *order;               /* n: as they were ridden */
    double *carry; /* n: what the i-th of those has of what went on in the wind before it, of that
                    * of the one before (cw_components_data) */
};

/* Free with cw_between_free, also after an error. */
enum cw_status cw_between_make(const struct cw_between_run *runs, size_t n,
                               struct cw_between *between, struct cw_error *error);
void cw_between_free(struct cw_between *between);

/* Fits the components of n runs' log CdA to data, whose n, p, value, design and fixed are set and
 * whose components are set here: the noise, as large as stated to so many degrees of freedom; and
 * where runs are repeated (n > p) the others: scatters of 0.4 % of CdA and 0.02 m/s, or of any
 * larger order alike (common practice, no source), a factor about 1 with an sd of 0.3 in its
 * logarithm, never negative, and errors as large as stated, by a factor of 1.6. What was seen is
 * used (between->use) unless it is likelier that it tells nothing (one in four does, before it is
 * looked at) or the opposite. On made-up tables of eight runs, a b b a a b b a
 * (tests/study/study_between), intervals of a difference then hold 99 times in 100 where there is
 * nothing of all that, 96 where runs scatter by 1 %, and 94 to 95 where they scatter by 3 % or
 * winds differ by 0.3 to 0.7 m/s; of four runs 94 to 100. noise: n x n, of log CdA. */
enum cw_status cw_between_fit(struct cw_between *between, const double *noise, double noise_df,
                              bool with_seen, struct cw_components_data *data,
                              struct cw_components *fit, struct cw_error *error);

/* The middle of what the components may be, theta: long tails that few runs leave have no mean
 * square to speak of. */
void cw_between_middle(const struct cw_components *fit, double theta[CW_COMPONENTS_MOST]);

/* The winds at theta given what was seen of them and nothing else: their mean (n) and covariance
 * (n x n), and what they make of log CdA beyond by w (n). False where theta has none. */
bool cw_between_winds_seen(const struct cw_between *between, const double *theta, double *mean,
                           double *covariance, double *beyond);

/* Each run's wind beyond the outing's, + as the road's way has it, its standard error, and that of
 * how it differs from the mean over its outing's runs, at theta: the best linear prediction from
 * the runs and from who saw it, by P = V^-1 (I - X weight), n x n, and P y of the values that the
 * components have at theta (stats/components.h). */
enum cw_status cw_between_winds(const struct cw_between *between, const double *theta,
                                const double *projected, const double *residual, double *wind_ms,
                                double *sd_ms, double *beside_sd_ms, struct cw_error *error);

/* How a run's log CdA answers to a headwind of 1 m/s that is not known of: twice the mean of v over
 * that of v2, along the road. A headwind w is taken to make v2 of the drag (v + w)2. */
double cw_between_by_wind(const struct cw_run_data *data);

/* Correlation of the mean winds of two runs. Three quarters of their variance go on for a minute or
 * two, and are each run's own unless a companion rides close by; a quarter wanders over a quarter
 * of an hour, of which means over a run differ less than the wind does from one moment to the next.
 * Near the ground in neutral air, gusts would leave nothing that wanders: by the spectrum of Kaimal
 * and others (1972, Q. J. R. Meteorol. Soc. 98:563; from memory), at 1 to 3 m and 1.5 to 3 m/s,
 * means over 60 to 90 s correlate by less than 0.01 four minutes apart. What wanders are the large
 * eddies of a sunny day, and the weather: by how much is a guess. Taken for half, differences of
 * ABBA came out too sure (tests/study: breeze). */
double cw_between_alike(const struct cw_run *a, const struct cw_run *b);

/* Widens a run's own CdA by what its own wind may have done to it. */
enum cw_status cw_between_widen(const struct cw_components *components,
                                const struct cw_run_data *data, struct cw_estimate *cda_m2,
                                struct cw_error *error);

#endif
