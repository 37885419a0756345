/* A recording without an outing file, of which only the road is wanted. */
#ifndef CW_PLAN_LOOSE_H
#define CW_PLAN_LOOSE_H

#include "analysis/analysis.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

/* Gives an opened outing without a file (cw_analysis_open_files) what a fit asks for: a mass, usual
 * wheels, and air of which nothing is known. To be called before its runs are found. */
void cw_plan_loose_outing(struct cw_analysed *of, double mass_kg);

CW_PUBLIC_END

#endif
