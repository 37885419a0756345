/* Air: density, the standard atmosphere, and what a barometric altimeter makes of them. */
#ifndef CW_PHYSICS_AIR_H
#define CW_PHYSICS_AIR_H

#include "base/public.h"

CW_PUBLIC_BEGIN

/* Density of moist air, kg/m3. CIPM-2007 (Picard et al. 2008, Metrologia 45:149, eq. 1 and
 * appendix A), 400 ppm CO2. temperature_c -40..50, pressure_pa 60e3..110e3, humidity 0..1.
 * Relative error 2.2e-5 within 15..27 C; outside the formula is used as it stands and agrees with
 * ideal moist air to 7e-4. */
double cw_air_density(double temperature_c, double pressure_pa, double humidity);

/* Saturation vapour pressure over water, Pa (the same source, eq. A1.1). */
double cw_air_saturation_pa(double temperature_c);

/* ISO 2533 standard atmosphere below 11 km: temperature (K), pressure (Pa), density (kg/m3) at a
 * geopotential height (m), and the pressure altitude (m) of a pressure. */
double cw_isa_temperature_k(double height_m);
double cw_isa_pressure_pa(double height_m);
double cw_isa_density(double height_m);
double cw_isa_pressure_altitude_m(double pressure_pa);

/* True over indicated height difference of a barometric altimeter.
 *
 * Going up by dh changes the pressure by -density g dh; the altimeter reads that as a step dH of
 * the standard atmosphere, -density_isa g0 dH at the same pressure. So dh/dH = density_isa g0 /
 * (density g): T/T_ISA in dry air at standard gravity, and up to 1 % more in warm damp air, which
 * is lighter. In the standard atmosphere's own terms: 1 in dry air of T_ISA where g = g0. */
double cw_barometric_scale(double density_kgm3, double pressure_pa, double gravity_ms2);

/* The standard atmosphere's lapse rate, kelvins a metre up (ISO 2533, clause 2; ICAO Doc 7488). */
#define CW_ISA_LAPSE_1M 0.0065

/* Air above and below the height where it is known. Going up it cools by the lapse rate L, and its
 * share of vapour stays; held relative humidity instead would make 0.1 % of the density over 500 m
 * of a damp day. With {0} it is the same at all heights. */
struct cw_air_column {
    double height_m;   /* where it is known */
    double cooling_1m; /* L / T there: by what part of that temperature it is colder, a metre up */
    double power;      /* g / (R L), R the gas constant of this air: its pressure goes by that power
                        * of the temperature */
};
/* Of air that has temperature_c, pressure_pa and humidity (as of cw_air_density) at height_m and
 * cools by lapse_1m (K/m, below 0 where it is warmer above). gravity_ms2 there is taken for that of
 * all heights: 500 m change it by 0.016 %. A lapse below 1e-6 K/m either way is taken for that. */
struct cw_air_column cw_air_column_make(double height_m, double temperature_c, double pressure_pa,
                                        double humidity, double lapse_1m, double gravity_ms2);
/* Pressure and density at height_m as parts of those where the air is known: by the hydrostatic
 * equation (T(h) / T)^power, and divided by T(h) / T. Further than 10 km away as 10 km away. */
double cw_air_column_pressure(const struct cw_air_column *column, double height_m);
double cw_air_column_density(const struct cw_air_column *column, double height_m);

/* How the true over the indicated height difference of a barometric altimeter (cw_barometric_scale)
 * changes with true height, as a part of it a metre up: it is T / T_ISA at each height, and that
 * stays the same only where the air cools as the standard atmosphere does. */
double cw_barometric_bend_1m(double temperature_c, double lapse_1m);

/* Pressure (Pa) at height_m (-500..3000 m) where the air has temperature_c and a weather report
 * gives sea_level_pa, which is reduced to sea level: p0 (T / (T + L h))^(g0 / (R L)), dry air whose
 * temperature rises by L = 6.5 K/km on the way down (ISO 2533, clause 2). Weather stations reduce
 * by much the same (WMO-No. 8, from memory), with the humidity and a mean temperature of the day.
 */
double cw_air_pressure_from_sea_level(double sea_level_pa, double height_m, double temperature_c);

CW_PUBLIC_END

#endif
