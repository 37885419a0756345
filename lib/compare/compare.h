/* Setups against each other: which has the lower drag, by how much, and how sure that is.
 *
 * The currency is log CdA of each run, as all runs of its outing together give it (fit/fit.h), with
 * the full covariance of those estimates: what runs share (Crr, the road's tilt, the recorder's
 * lag) is in it and cancels where it should. On it stands a mixed model (stats/components.h): a
 * mean for each setup; a drift of some 1 % an hour over each outing; and, their sizes integrated
 * out, what differs between runs that the fit knows nothing of (fit/between.h): a scatter of their
 * own, and wind that is another in each run and much the same in neighbours.
 *
 * Across outings an outing's systematic causes (fit/budget.h: mass, air, wind, heights) shift all
 * its runs alike and enter the covariance; so an outing's own shift is a random effect, of the size
 * that its budget says.
 *
 * Where setups are on different tyres, how these roll is compared beside their drag
 * (compare/rolling.h), and both together, which is known far better than its parts: force and power
 * on the level, seconds and metres of run-out on this road. */
#ifndef CW_COMPARE_COMPARE_H
#define CW_COMPARE_COMPARE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "base/warning.h"
#include "compare/history.h"
#include "compare/split.h"
#include "fit/cause.h"
#include "fit/fit.h"
#include "outing/outing.h"
#include "runs/runs.h"

CW_PUBLIC_BEGIN

struct cw_compare_workings;

struct cw_compare_options {
    /* A setup's name; NULL: the first that has runs of those that the outing ridden first names. */
    const char *reference; /* borrowed during the call */
    double level;          /* of the verdict; 0.05 by default */
};
struct cw_compare_options cw_compare_options_default(void);

struct cw_setup_result {
    const char *name;  /* borrowed from the outing */
    const char *rider; /* a companion's name, borrowed likewise; "": the outing's own rider */
    const char *tyres; /* in the first outing that has it, borrowed likewise */
    size_t drag;       /* the first setup that is said to have the same drag; often itself */
    size_t runs, outings;
    double load_kg;            /* in the first outing that has it */
    double pressure_kpa;       /* of its tyres there; NaN: not noted */
    struct cw_estimate cda_m2; /* its mean, with noise and systematic causes */
    double usual_part;         /* what weight in it the CdA has that riders usually have, 0 to 1 */
    bool level_told; /* the runs tell it; else it is little more than what bicycles have, while
                      * differences are the runs' own */
    /* Of its tyres, by all runs under the one CdA of each setup, and its correlation with cda_m2:
     * where that is near -1 the two are not told apart, and only lines like "were Crr 0.005, CdA
     * would be ..." can be said. NaN where Crr was given. */
    struct cw_estimate crr;
    double correlation;
};

enum cw_verdict { CW_VERDICT_UNDECIDED, CW_VERDICT_LOWER, CW_VERDICT_HIGHER };
/* "undecided", "lower", "higher"; constants. */
const char *cw_verdict_text(enum cw_verdict verdict);

/* What of a difference between setups on different tyres the runs tell. */
enum cw_told_of {
    CW_TOLD_NONE,
    CW_TOLD_SUM, /* the force at CW_SUM_KMH, and neither of its parts */
    CW_TOLD_DRAG,
    CW_TOLD_ROLLING,
    CW_TOLD_BOTH
};

/* "none", "sum", "drag", "rolling", "both"; constants. */
const char *cw_told_of_text(enum cw_told_of told);

/* Speeds at which drag and rolling are added up; that of the sum's own test, and about the same for
 * whoever reads mph. */
enum { CW_FORCES = 3 };
#define CW_SUM_KMH 30
#define CW_SUM_MPH 20

/* How much more force it takes, and power, to ride a setup than the reference at a steady speed on
 * the level in still air: drag and tyres, each setup with its own load. */
struct cw_force {
    double speed_kmh;
    struct cw_estimate force_n, power_w;
};

/* How the tyres of two setups differ. Where they are the same, or Crr was given, all is NaN. */
struct cw_rolling_difference {
    bool compared;
    struct cw_estimate crr;
    /* Of the reference's Crr (Fieller's interval, stats/ratio.h); NaN where that is not told from
     * 0.
     */
    struct cw_estimate percent;
    double df, p_value, p_adjusted; /* Holm's over all tests of drag and of rolling */
    enum cw_verdict verdict;
    double smallest_detectable;         /* with 80 % power */
    double correlation;                 /* with the difference of log CdA */
    double sum_p_value, sum_p_adjusted; /* of the force at CW_SUM_KMH; Holm's over such sums */
    enum cw_told_of told;
    /* crr's standard error were the setups said to have the same drag; NaN where they are, or it is
     * not worked out: it is of the first comparison of different tyres. */
    double standard_error_if_same_drag;
};

struct cw_comparison {
    size_t setup, reference; /* indices into the setups */
    /* Whether both are said to have the same drag: its difference is then 0, with NaN for its
     * tests.
     */
    bool drag_said;
    struct cw_estimate difference_m2;
    struct cw_estimate percent; /* (setup - reference) / reference x 100 */
    double noise_percent;       /* percent's standard error but for the outings' causes */
    /* Holm's adjustment over all pairs, each two drags once, and all two sets of tyres. */
    double df, p_value, p_adjusted;
    enum cw_verdict verdict;
    struct cw_rolling_difference rolling;
    /* By how much later the setup's runs came, where a drift would look like a difference
     * (compare/order.h); NaN where they took turns. */
    double hours_later;
    double smallest_detectable_percent; /* with 80 % power */
    /* Runs of each setup that would show the difference seen, or 2 %, with 80 % power, if they
     * scatter as these did; NaN where a million would not. Estimates, as the scatter is. */
    double runs_to_show_seen, runs_to_show_2_percent;
    /* On the road of the first outing that has both: from the runs' mean entry speed, in still air,
     * with each setup's own load and tyres. NaN where no outing has both. */
    struct cw_estimate time_over_road_s;
    /* What the air of their own runs makes besides of the setups' times there, where runs differ in
     * temperature: denser in the cold, and tyres that roll worse. 0 where they don't. */
    double time_by_air_s;
    /* The measured difference of times between gates there (timed/timed.h), where its interval
     * excludes the model's even if entry speeds made of it what they can at most; else NaN, and
     * before cw_analysis_time. */
    struct cw_estimate time_by_clock_s;
    /* Measured differences there by stopwatch and by tape, with nothing allowed for; NaN where none
     * was noted or the runs are too few to judge it, and before cw_analysis_time. */
    struct cw_estimate time_watched_s, runout_taped_m;
    /* The measured differences there, of times between gates and of run-outs, divided among their
     * causes (explain/explain.h); told is false before cw_analysis_explain. With them, by how much
     * heavier the setup was ridden than the reference, and how heavy that was. */
    struct cw_split time_split, runout_split;
    double heavier_kg, reference_kg;
    struct cw_estimate runout_m;          /* NaN unless the runs ended in standing still */
    struct cw_estimate watts_at_40kmh;    /* on the flat, drag and tyres */
    struct cw_force force[CW_FORCES];     /* at 20, CW_SUM_KMH and 40 km/h */
    struct cw_force force_mph[CW_FORCES]; /* at 12, CW_SUM_MPH and 25 mph */
    /* A steady wind in the setup's runs, and in none of the reference's, that would do the same; +
     * is a headwind. NaN where no outing has both, or the budget has no wind. */
    double wind_to_explain_ms;
};

/* How a run stands among its fellows. */
struct cw_run_among {
    size_t outing, index; /* of the outing; of the run in its fit */
    size_t setup;
    double time_s;             /* when it started */
    struct cw_estimate cda_m2; /* together */
    double percent;            /* off what its setup and the drift say */
    double t, p_adjusted;      /* externally studentised; Bonferroni over all runs */
    bool outlier;              /* p_adjusted below 0.05 */
    double worst_m, worst_ms;  /* where along the road the smoothed gust is strongest, and how */
    bool companion;            /* another rider's than the outing's own */
    /* Mean wind along the road, + as the outing file has it. Its noise is what is not known of how
     * it differs from other runs'; NaN with one run a setup. What was seen of it; NaN: nothing. */
    struct cw_estimate wind_along_ms;
    double wind_noted_ms, wind_logged_ms;
};

/* What came of who else saw the winds (fit/between.h). */
struct cw_winds_seen {
    size_t n; /* runs at whose time they saw it */
    enum cw_wind_use use;
    struct { /* where it is used: median and 95 % interval */
        double median, low, high;
    } factor,         /* what they see of the wind on the road */
        error_factor; /* by how much larger their errors are than stated */
};

/* The winds of the runs of the outings' own riders. */
struct cw_winds {
    double known_ms;        /* how well they are known beside each other, rms; NaN: nothing is */
    double low_ms, high_ms; /* from the least to the most that is found */
    /* What is not known of them does, as a standard error: to the mean of the runs' CdA, and to the
     * first comparison's difference. NaN where there is none. */
    double cda_percent, difference_percent;
    struct cw_winds_seen seen[CW_WIND_SEEN];
    size_t n_companion_runs;
    /* Half the interval of the first comparison: as it would be without all of that; and, where
     * there was none, about what it would be with a sensor beside the road or a companion. NaN. */
    double half_percent_without, half_percent_with_sensor, half_percent_with_companion;
};

enum { CW_DOUBTED_MOST = 2 };

/* Runs that ride like another setup than the one they are labelled with (compare/labels.h). */
struct cw_labels_doubt {
    size_t n;                                           /* 0: none */
    size_t run[CW_DOUBTED_MOST], like[CW_DOUBTED_MOST]; /* the run; the setup that it rides like */
    double better; /* by so much less would the variance within setups be */
};

/* What one systematic cause does, off by its standard uncertainty (struct cw_compare says of what).
 */
struct cw_cause_effect {
    enum cw_cause_kind kind;
    const char *name, *unit; /* constant texts */
    double uncertainty, cda_percent, crr, difference_percent;
};

/* Owns its arrays, not the names in them. */
struct cw_compare {
    size_t n_setups;
    struct cw_setup_result *setups; /* the reference first; those not told last */
    /* Setups whose runs tell a CdA, by three standard errors and more. The others have NaN for it,
     * take part in nothing, and a warning names them. */
    size_t n_told;
    size_t n_comparisons;
    struct cw_comparison *comparisons;
    size_t n_runs;
    struct cw_run_among *runs; /* outing by outing as given, in time order */
    double scatter_percent;    /* from run to run beyond the fit's own errors (tau) */
    double scatter_low_percent, scatter_high_percent;
    double wind_sd_ms; /* by which mean winds differ from run to run; NaN with one run a setup */
    double wind_sd_low_ms, wind_sd_high_ms;
    struct cw_winds wind;
    struct cw_labels_doubt doubt;
    bool has_drift;
    struct cw_estimate drift_percent_per_hour; /* of the first outing with one */
    /* What a steady headwind of 1 m/s that the outing file does not know of makes of every CdA of
     * the first outing that has runs compared; NaN where its budget has no wind. */
    double wind_percent_per_ms;
    /* Budget: effect of one standard uncertainty of each cause, in percent, on the runs' mean CdA
     * (and on the first tyres' Crr) of the first outing that has it, and on the first comparison's
     * difference; there, what several outings bring is combined as independent. NaN for the
     * difference where there is no comparison. */
    size_t n_causes;
    struct cw_cause_effect *causes;
    double systematic_percent, systematic_difference_percent; /* all causes together */
    double noise_percent; /* beside them: the setups' standard error from noise and scatter, mean */
    struct cw_history history; /* setups and tyres along time, over several outings */
    struct cw_warnings warnings;
    struct cw_compare_workings *workings; /* how it was worked out: compare/workings.h */
};

/* "The first outing" is the one ridden first, here and above: the order of fits changes nothing but
 * the numbers that outings go by.
 * CW_E_DATA: no run has a setup; the reference is no setup's name. With fewer than two setups that
 * tell a CdA there are no comparisons, which is no error. options may be NULL. Free with
 * cw_compare_free, also after an error; what it borrows must outlive it. */
enum cw_status cw_compare_setups(const struct cw_fit *const *fits, size_t n,
                                 const struct cw_compare_options *options,
                                 struct cw_compare *compare, struct cw_error *error);
void cw_compare_free(struct cw_compare *compare);

/* Whether anybody else saw the winds and was believed: notes, an air log, a companion. */
bool cw_winds_known(const struct cw_winds *winds);
/* Whether anybody else saw the wind of that run, or it is a companion's. */
bool cw_among_seen(const struct cw_run_among *run);

/* Whether drag and rolling of any two setups were told apart, neither being said to be the same. */
bool cw_compare_tells_rolling(const struct cw_compare *compare);

/* Whether the load is what is asked about: it changes the mass ridden by a hundredth or more, and
 * the times are divided among their causes. */
bool cw_comparison_asks_load(const struct cw_comparison *comparison);

/* The setup of that name, n_setups where there is none. */
size_t cw_compare_setup_named(const struct cw_compare *compare, const char *name);

CW_PUBLIC_END

#endif
