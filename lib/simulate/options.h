/* The options' ranges. */
#ifndef CW_SIMULATE_OPTIONS_H
#define CW_SIMULATE_OPTIONS_H

#include "base/error.h"
#include "simulate/simulate.h"

/* CW_E_ARGUMENT naming the first option that is out of range. */
enum cw_status cw_simulate_options_check(const struct cw_simulate_options *options,
                                         struct cw_error *error);

#endif
