/* The place of an outing: its height, air and gravity. */
#ifndef CW_FIT_PLACE_H
#define CW_FIT_PLACE_H

#include <stdbool.h>

#include "base/public.h"
#include "physics/air.h"

CW_PUBLIC_BEGIN

/* What is known, or not, of the air. */
enum cw_air_part {
    CW_AIR_TEMPERATURE,
    CW_AIR_PRESSURE,
    CW_AIR_HUMIDITY,
    CW_AIR_LAPSE, /* by how much it cools with height */
    CW_AIR_PARTS
};

/* Who tells a recording's temperature: nobody, [air] of the outing file, [air RECORDING], the
 * device's thermometer, or the air log. */
enum cw_air_source { CW_AIR_STANDARD, CW_AIR_OUTING, CW_AIR_RECORDING, CW_AIR_DEVICE, CW_AIR_LOG };

/* The air and gravity of the place. */
struct cw_place {
    double height_m; /* mean recorded height of the runs kept; where none was recorded on a level
                      * road, the standard atmosphere's at the pressure given, else 0 */
    double latitude_deg;
    double temperature_c, pressure_pa, humidity; /* at that height; humidity 0..1 */
    double lapse_1m;                             /* by how much it cools a metre up, K */
    double density_kgm3, gravity_ms2;
    struct cw_air_column
        column;                /* the air above and below; {0} where the road is said to be level */
    double barometric_scale;   /* true over indicated height differences there; 1 if not
                                * barometric */
    double barometric_bend_1m; /* and by what part of it more, a metre up; 0 if not barometric */
    bool logged[CW_AIR_PARTS]; /* an air log says it */
};

CW_PUBLIC_END

#endif
