/* What all runs together say of Crr and CdA, freed of everything else: the summary that estimates
 * and comparisons are made from. */
#ifndef CW_FIT_INFORMATION_H
#define CW_FIT_INFORMATION_H

#include <stddef.h>

#include "base/error.h"

/* A Gaussian likelihood exp(-1/2 x'Jx + b'x) in x = (Crr of each set of tyres, CdA of each run).
 * J may be singular: then the data cannot tell some of x apart. */
struct cw_information {
    size_t n_tyres, n_runs, n; /* n = n_tyres + n_runs; Crr first */
    double *matrix;            /* J, n x n, whole */
    double *vector;            /* b */
};

/* All zero. Free with cw_information_free. */
enum cw_status cw_information_alloc(size_t n_tyres, size_t n_runs,
                                    struct cw_information *information, struct cw_error *error);
void cw_information_free(struct cw_information *information);

/* The estimate of x (n numbers) and its covariance (n x n; either may be NULL), as the data alone
 * have it: so that a singular J gives wide errors rather than none, x is held by priors far wider
 * than any bicycle, Crr within 0.1, CdA within 3 m2. CW_E_NUMERIC if that does not do. */
enum cw_status cw_information_solve(const struct cw_information *information, double *value,
                                    double *covariance, struct cw_error *error);

/* What bicycles and riders have (common practice, no source). */
#define CW_USUAL_CDA_M2 0.37
#define CW_USUAL_CDA_SD_M2 0.12
#define CW_USUAL_CRR 0.006
#define CW_USUAL_CRR_SD 0.005

/* The same with what bicycles have as a prior of what is common to all runs: of the mean of their
 * CdA and of Crr. A run by itself may be anywhere about that, to 3 m2, so that differences are the
 * runs' own. For what is compared: where heights tell the level of CdA it changes nothing to speak
 * of; where they don't, a level that no rider has would spoil differences that the runs do tell. */
enum cw_status cw_information_solve_usual(const struct cw_information *information, double *value,
                                          double *covariance, struct cw_error *error);

/* Takes into J that a parameter of the recording with variance variance was held at its estimate,
 * where by_parameter (n) is how a unit of it moves the estimate of x. */
enum cw_status cw_information_loosen(struct cw_information *information, const double *by_parameter,
                                     double variance, struct cw_error *error);

#endif
