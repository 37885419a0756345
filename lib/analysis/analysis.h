/* An outing from paths to answers: the whole way, a step a call.
 *
 *     struct cw_analysis analysis;
 *     struct cw_error error;
 *     cw_analysis_begin(&analysis, NULL);
 *     if (cw_analysis_open_outings(&analysis, paths, n, &error) < 0 ||
 *         cw_analysis_find(&analysis, &error) < 0 || cw_analysis_fit(&analysis, &error) < 0 ||
 *         cw_analysis_compare(&analysis, NULL, &error) < 0)
 *         puts(error.message);
 *     ...                       the answers are in analysis.outings and analysis.compare
 *     cw_analysis_free(&analysis);
 *
 * Nothing is printed and nothing global is touched: progress and warnings go to the caller's
 * functions, in the caller's thread, and any number of analyses may run in as many threads, each
 * called from one; it uses more of its own where its options say so. */
#ifndef CW_ANALYSIS_ANALYSIS_H
#define CW_ANALYSIS_ANALYSIS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"
#include "compare/compare.h"
#include "explain/explain.h"
#include "fit/fit.h"
#include "motion/height_kind.h"
#include "motion/motion.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "road/ridden.h"
#include "runs/runs.h"
#include "timed/timed.h"

CW_PUBLIC_BEGIN

/* Said on the way, while the analysis goes on. */
enum cw_notice_kind {
    CW_NOTICE_WARNING,  /* of a recording, which carries it too (recording.warnings); or that two
                         * loose recordings share time */
    CW_NOTICE_LEFT_OUT, /* an input that cannot be used, among others that can */
    CW_NOTICE_UNTIMED   /* an outing of which nothing could be timed */
};

/* Lasts, with its texts, as long as the call. */
struct cw_notice {
    enum cw_notice_kind kind;
    const char *file; /* which it is about; NULL if none */
    long line;        /* in the file; 0 if none */
    const char *message;
};

/* What the caller wants to be told, all of which may be NULL, and lets be read. Texts last as long
 * as the call. caller is borrowed as long as the analysis lives. */
struct cw_analysis_options {
    void (*notice)(void *caller, const struct cw_notice *notice);
    /* "reading" item i (from 1) of n, a file, which is what is waited for. */
    void (*progress)(void *caller, const char *doing, size_t i, size_t n, const char *file);
    void *caller;    /* handed to both */
    double limit_mb; /* an input, unpacked, may have so many megabytes; 0: 2048 */
    bool level;      /* loose recordings are of a level road: no heights are looked at */
    bool results;    /* in place of an outing file there may be a result of comparing some */
    size_t threads; /* at most so many at once; 0 and 1: the caller's alone. Whatever it is, answers
                     * have the same digits, and notices come in the same order in the caller's */
};

struct cw_air_log;

/* An outing as far as it has been analysed; owned by its analysis, with all it points to. */
struct cw_analysed {
    bool has_file; /* an outing file says what it is; else these are loose recordings */
    bool saved;    /* taken from a result: it is fitted and timed; its recordings hold no more than
                    * the times of their first and last samples, and there are no motions */
    struct cw_outing outing;
    size_t n_recordings;
    struct cw_recording *recordings;
    struct cw_air_log *log; /* outing/air_log.h; NULL where the outing names none */
    /* cw_analysis_find */
    struct cw_motion *motions;     /* one a recording; n is 0 where none could be made */
    struct cw_height_kind heights; /* where the heights come from, as far as they tell */
    struct cw_runs runs;           /* kept and turned down, each with its road and setup */
    enum cw_status labelled; /* whether skip and order fit the runs; else label_error says why */
    struct cw_error label_error;
    bool skip_failed;   /* it was skip that did not fit */
    size_t log_covers;  /* kept runs that lie within the log */
    double log_shift_h; /* where none does: hours later that its times would cover all; NaN: none */
    /* cw_analysis_fit */
    bool fitted;
    struct cw_fit fit;
    /* cw_analysis_average: its setups against each other, of this outing alone */
    bool averaged;
    struct cw_compare average;
    /* cw_analysis_time: n is 0 where nothing could be timed; untimed then says why */
    struct cw_timed timed;
    char untimed[CW_ERROR_MESSAGE];
    struct cw_explained_times more_times;
    struct cw_explained explained; /* cw_analysis_explain */
};

/* Owns all that it has read and found. Its parts point into each other (a fit borrows from the
 * outing it was made of), so it is for reading. */
struct cw_analysis {
    struct cw_analysis_options options;
    size_t n;
    struct cw_analysed *outings; /* n */
    enum cw_status left_out; /* the gravest fault of inputs that were left out; CW_OK: none was */
    /* cw_analysis_compare */
    bool compared;
    struct cw_compare compare; /* the setups of all outings */
};

/* An analysis of nothing yet. options may be NULL; they are copied. Free with cw_analysis_free,
 * which may be called at any time after. */
void cw_analysis_begin(struct cw_analysis *analysis, const struct cw_analysis_options *options);
void cw_analysis_free(struct cw_analysis *analysis);

/* Each opens inputs, once an analysis. Paths are borrowed during the call.
 *
 * Outing files with their recordings, in their order. CW_E_READ or CW_E_FORMAT with file and line:
 * an outing file or a recording that cannot be used, or recordings of an outing that are of one
 * ride. Of several outings such a one is left out while others can be used. */
enum cw_status cw_analysis_open_outings(struct cw_analysis *analysis, const char *const *paths,
                                        size_t n, struct cw_error *error);
/* Recordings, as one outing without a file, or one outing file; told apart by content. A recording
 * that cannot be used is left out while others can be. CW_E_ARGUMENT for an outing file among
 * others. */
enum cw_status cw_analysis_open_files(struct cw_analysis *analysis, const char *const *paths,
                                      size_t n, struct cw_error *error);
/* An outing that is in memory already: takes over outing and the n recordings (allocated), also
 * when it fails. May be called more than once. */
enum cw_status cw_analysis_take(struct cw_analysis *analysis, const struct cw_outing *outing,
                                struct cw_recording *recordings, size_t n, struct cw_error *error);

/* Finds the runs, numbers their roads, and labels them as the outing files say; an order or a skip
 * that does not fit is no error here (labelled). Loose recordings of which no motion can be made
 * are left out while others can be used. CW_E_DATA. */
enum cw_status cw_analysis_find(struct cw_analysis *analysis, struct cw_error *error);

/* Makes loose recordings, in which runs were found, an outing, which is taken over, also when it
 * fails: its recordings become those that can be used, in their order, and what it says of its n-th
 * recording must be meant of the n-th of those. Runs are found again, as of that outing; a mass
 * that is NaN is not known yet. */
enum cw_status cw_analysis_adopt(struct cw_analysis *analysis, const struct cw_outing *outing,
                                 struct cw_error *error);
/* Finds and labels the first outing's runs again, after a caller changed what it says of riders,
 * setups and runs. */
enum cw_status cw_analysis_find_again(struct cw_analysis *analysis, struct cw_error *error);

/* Whether an outing's runs can be fitted, or, where with_setups, compared: CW_E_DATA, and *error
 * says why, where none is kept, or skip or order do not fit. An order that is not there at all is a
 * fault only where with_setups. */
enum cw_status cw_analysed_check(const struct cw_analysed *of, bool with_setups,
                                 struct cw_error *error);

/* The name of an outing's setup; NULL for CW_NO_SETUP. */
static inline const char *cw_analysed_setup(const struct cw_analysed *of, size_t setup) {
    return setup < of->outing.n_setups ? of->outing.setups[setup].name : NULL;
}

/* What the fit and the timing of an outing begin with; borrows from it. */
struct cw_ridden cw_analysed_ridden(const struct cw_analysed *of);

/* Fits every outing's runs; those without an order have no setup. Of several, one whose runs cannot
 * be fitted is left out. As cw_analysed_check and cw_fit_outing. */
enum cw_status cw_analysis_fit(struct cw_analysis *analysis, struct cw_error *error);

/* Whether any run has a setup, so that there is something to compare. */
bool cw_analysis_has_setups(const struct cw_analysis *analysis);

/* Each outing's setups on their own, where its runs have any. As cw_compare_setups. */
enum cw_status cw_analysis_average(struct cw_analysis *analysis, struct cw_error *error);

struct cw_analysis_compare_options {
    /* What the others are compared with. NULL: the first named by the outing ridden first, of those
     * that have runs. Borrowed during the call. */
    const char *reference;
    /* Turn down runs that disagree with their fellows, fit again and compare again; at most twice,
     * and never a setup's last run. */
    bool drop_outliers;
};
/* The setups of all outings. options may be NULL. CW_E_FORMAT where two outings hold the same ride,
 * else as cw_compare_setups; what was compared before is replaced. */
enum cw_status cw_analysis_compare(struct cw_analysis *analysis,
                                   const struct cw_analysis_compare_options *options,
                                   struct cw_error *error);

/* The comparison, borrowed from the analysis, or NULL where nothing was compared. */
static inline const struct cw_compare *cw_analysis_compared(const struct cw_analysis *analysis) {
    return analysis->compared ? &analysis->compare : NULL;
}

/* Times every outing's runs as measured, against the comparison's reference where the outing has
 * it. An outing of which nothing can be timed is noticed and has timed.n of 0. */
enum cw_status cw_analysis_time(struct cw_analysis *analysis, struct cw_error *error);

/* Where the measured differences came from, once compared and timed: of every outing's pairs, and
 * in each comparison that of the outing with both that was ridden first. As cw_explain. */
enum cw_status cw_analysis_explain(struct cw_analysis *analysis, struct cw_error *error);

CW_PUBLIC_END

#endif
