/* The model over the table of all runs: setups, drifts, and the scatter from run to run. */
#ifndef CW_COMPARE_RUN_MODEL_H
#define CW_COMPARE_RUN_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/warning.h"
#include "compare/compare.h"
#include "compare/run_table.h"
#include "fit/between.h"
#include "stats/components.h"

struct cw_run_model {
    size_t n, p;                     /* runs; drags, as in the table */
    const size_t *drag;              /* of each setup: the table's, borrowed */
    double *design;                  /* n x p */
    struct cw_components_data data;  /* what was fitted; stands on the model and the table */
    struct cw_components components; /* the noise's size, runs' own scatter, wind: integrated out */
    /* At the middle of what those may be: */
    double *weight;   /* p x n: log_cda = weight . table's */
    double *log_cda;  /* p: each drag's mean */
    double *value;    /* n: log CdA less what is expected of it from who saw the winds */
    double *residual; /* n: of those */
    double *t;        /* n: externally studentised */
    double noise2;    /* by how much the variances of the fits' noise count */
    double *random;   /* covariance of the runs but for systematic causes, n x n */
    double *inverse;  /* of that with them, n x n */
    /* n: beyond the outing's, and the two errors of it, as cw_between_winds has them. */
    double *wind_ms, *wind_sd_ms, *wind_beside_ms;
    struct cw_winds_seen seen[CW_WIND_SEEN];
    struct cw_between between;
    double theta[CW_COMPONENTS_MOST];          /* the middle */
    size_t n_drifts;                           /* 1 where a drift is told */
    struct cw_estimate drift_percent_per_hour; /* of the first outing */
};

enum cw_warning_kind {
    CW_COMPARE_NO_DRIFT,            /* the order cannot tell a drift from the setups */
    CW_COMPARE_FEW_RUNS,            /* no scatter left to judge by */
    CW_COMPARE_NOT_TOLD,            /* and the setup's number */
    CW_COMPARE_SAID_SAME = 1 << 20, /* likewise */
};

/* The table is borrowed. with_seen: with what notes and logs have of the winds. */
enum cw_status cw_run_model_fit(const struct cw_table_of_runs *table,
                                const struct cw_fit *const *fits, bool with_seen,
                                struct cw_run_model *model, struct cw_warnings *warnings,
                                struct cw_error *error);
void cw_run_model_free(struct cw_run_model *model);

/* A setup's mean CdA, m2, with all that is not known of it, and of that the part that is not the
 * systematic causes'. */
enum cw_status cw_run_model_level(const struct cw_run_model *model,
                                  const struct cw_table_of_runs *table, size_t setup,
                                  struct cw_estimate *cda_m2, struct cw_error *error);

/* Crr of the tyres that a setup has in the first outing with runs of it, as all runs together tell
 * it when runs of one setup are of one CdA (and scatter): much better than when each run's is its
 * own, and the only way where every run goes down another road. correlation: with the setup's mean
 * CdA. crr is all NaN where Crr was given. */
enum cw_status cw_run_model_crr(const struct cw_run_model *model,
                                const struct cw_table_of_runs *table,
                                const struct cw_fit *const *fits, size_t setup,
                                struct cw_estimate *crr, double *correlation,
                                struct cw_error *error);

/* What each run's log CdA counts in the difference between two setups: n weights. */
void cw_run_model_weights(const struct cw_run_model *model, size_t setup, size_t reference,
                          double *weight);

struct cw_run_difference {
    struct cw_estimate log_ratio; /* log CdA of a setup less that of the reference */
    double noise;                 /* its standard error from noise and scatter alone */
    double df, p_value;
};
/* Of setups of different drags. */
enum cw_status cw_run_model_difference(const struct cw_run_model *model, size_t setup,
                                       size_t reference, struct cw_run_difference *difference,
                                       struct cw_error *error);

/* Fills percent, t, p_adjusted, outlier and worst of the table's runs. */
void cw_run_model_among(const struct cw_run_model *model, const struct cw_fit *const *fits,
                        struct cw_run_among *runs);

/* How log CdA answers to a headwind of 1 m/s taken as none, on the mean of a fit's runs. */
double cw_log_cda_by_wind(const struct cw_fit *fit);

#endif
