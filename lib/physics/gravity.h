/* Gravity: normal (WGS84) and standard. */
#ifndef CW_PHYSICS_GRAVITY_H
#define CW_PHYSICS_GRAVITY_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* m/s2 at a latitude and height above the ellipsoid: Somigliana's formula with the second-order
 * height term (NGA.STND.0036, eq. 4-1, 4-3). |latitude| <= 90, height -500..9000 m. Within 3e-7
 * of exact normal gravity up to 3 km; real gravity differs by up to some 1e-3. */
double cw_gravity(double latitude_deg, double height_m);

/* Standard acceleration of free fall (3rd CGPM, 1901), where the place does not matter. */
#define CW_STANDARD_GRAVITY_MS2 9.80665

CW_PUBLIC_END

#endif
