/* The runs of all outings as one table of log CdA with its covariance. */
#ifndef CW_COMPARE_RUN_TABLE_H
#define CW_COMPARE_RUN_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "compare/compare.h"

struct cw_table_of_runs {
    size_t n, n_setups;
    size_t n_drags;           /* setups that are said to have the same drag have one between them */
    size_t *drag;             /* of each setup */
    struct cw_run_among *run; /* outing by outing, in time order */
    double *reference_m2;     /* CdA about which each run's logarithm is taken: its drag's mean */
    double *log_cda;
    double *noise;      /* covariance of log_cda from the fits' noise, n x n */
    double *covariance; /* the same with the outings' systematic causes */
};

/* Runs without a setup, or of one that tells no CdA, are left out. The setups' indices are those of
 * compare, and so is what is said to be the same. */
enum cw_status cw_table_of_runs_make(const struct cw_fit *const *fits, size_t n,
                                     const struct cw_compare *compare,
                                     struct cw_table_of_runs *table, struct cw_error *error);
void cw_table_of_runs_free(struct cw_table_of_runs *table);

/* Gives each setup a drag of its own, or those two one between them. */
void cw_table_of_runs_drags_apart(struct cw_table_of_runs *table);
void cw_table_of_runs_one_drag(struct cw_table_of_runs *table, size_t setup, size_t other);

/* The runs that are to be kept, as a table of its own, and the setups' new numbers: n_setups of
 * them, SIZE_MAX where a setup has no run left. */
enum cw_status cw_table_of_runs_part(const struct cw_table_of_runs *table, const bool *keep,
                                     size_t *renumbered, struct cw_table_of_runs *part,
                                     struct cw_error *error);

/* What a standard uncertainty of how tyres answer to the temperature does to log CdA of the table's
 * run i; it is one for all runs. */
double cw_run_by_warm(const struct cw_fit *const *fits, const struct cw_table_of_runs *table,
                      size_t i);

/* Crr of a set of tyres of one outing, its variance, and its covariance with each run's log CdA
 * (n numbers, 0 for runs of other outings), from the noise of that outing's fit. */
enum cw_status cw_table_of_runs_crr(const struct cw_table_of_runs *table,
                                    const struct cw_fit *const *fits, size_t outing, size_t tyres,
                                    double *value, double *variance, double *covariance,
                                    struct cw_error *error);
/* What the outing's systematic causes do to both: the covariance with each run's log CdA. */
enum cw_status cw_table_of_runs_systematic(const struct cw_table_of_runs *table,
                                           const struct cw_fit *const *fits, size_t outing,
                                           size_t tyres, double *covariance,
                                           struct cw_error *error);

#endif
