/* The noise as it is searched for: its parameters, what is known of them beforehand, and their
 * logarithms. */
#ifndef CW_FIT_NOISE_SEARCH_H
#define CW_FIT_NOISE_SEARCH_H

#include "fit/noise.h"
#include "fit/noise_numbers.h"
#include "fit/reml.h"
#include "outing/outing.h"

/* Stated weak priors of their logarithms, and hard bounds (a variance that runs to nothing or a
 * correlation time that runs away are known traps), by the source of the elevations. The medians
 * are common practice, no source. */
void cw_noise_priors(const struct cw_outing *outing,
                     struct cw_reml_prior prior[CW_NOISE_PARAMETERS]);
struct cw_noise cw_noise_from_log(const double log_value[CW_NOISE_PARAMETERS]);
void cw_noise_to_log(const struct cw_noise *noise, double log_value[CW_NOISE_PARAMETERS]);

#endif
