/* The place of an outing: its height, air and gravity. */
#ifndef CW_FIT_PLACE_H
#define CW_FIT_PLACE_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* The air and gravity of the place. */
struct cw_place {
    double height_m; /* mean recorded height of the runs kept; where none was recorded on a level
                      * road, the standard atmosphere's at the pressure given, else 0 */
    double latitude_deg;
    double temperature_c, pressure_pa, humidity; /* at that height; humidity 0..1 */
    double density_kgm3, gravity_ms2;
    double barometric_scale; /* true over indicated height differences; 1 if not barometric */
};

CW_PUBLIC_END

#endif
