/* The force that slows a setup down on the level, with its error. */
#ifndef CW_COMPARE_FORCE_H
#define CW_COMPARE_FORCE_H

#include "compare/compare.h"
#include "fit/fit.h"

/* Newtons in still air at a speed, in the air of the fit's place: drag, tyres and bearings, by the
 * setup's CdA and Crr. What one of these has too much the other has too little, so the force is
 * better known than either. Its interval is as wide, in standard errors, as that of the CdA. NaN
 * where the setup tells no CdA or is none of the fit's outing. */
struct cw_estimate cw_setup_force_n(const struct cw_fit *fit, const struct cw_setup_result *setup,
                                    double speed_ms);

#endif
