/* What commands that answer from outings begin with: outings read, fitted and compared. */
#ifndef CW_CLI_FITTED_H
#define CW_CLI_FITTED_H

#include <stdbool.h>
#include <stddef.h>

#include "command.h"
#include "compare/compare.h"
#include "fit/fit.h"
#include "load.h"
#include "report/report.h"

struct cw_fitted {
    size_t n; /* outings, of each of these */
    struct cw_loaded *loaded;
    struct cw_fit *fits;
    struct cw_report_outing *outings; /* the same for reports */
};

/* Reads and fits n outing files. An outing without an order has runs without setups; where the
 * order does not match the runs, that is said. Warnings about the recordings are said where
 * say_warnings. CW_EXIT_ANSWERED, or the status to leave with after saying why. Free with
 * cw_fitted_free either way. */
enum cw_exit cw_fitted_load(char *const *paths, size_t n, bool say_warnings,
                            struct cw_fitted *fitted);

/* Whether any run has a setup, so that there is something to compare. */
bool cw_fitted_labelled(const struct cw_fitted *fitted);

/* Compares the setups of all outings, of which no two may hold the same ride. Free with
 * cw_compare_free either way. */
enum cw_exit cw_fitted_compare(const struct cw_fitted *fitted,
                               const struct cw_compare_options *options,
                               struct cw_compare *compare);

/* Turns down the runs that compare calls outliers, but never a setup's last one, and fits their
 * outings again; *dropped says whether there were any. What compare borrowed of the fits is then
 * gone. */
enum cw_exit cw_fitted_drop(struct cw_fitted *fitted, const struct cw_compare *compare,
                            bool *dropped);

void cw_fitted_free(struct cw_fitted *fitted);

#endif
