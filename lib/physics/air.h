/* Air: density, the standard atmosphere, and what a barometric altimeter makes of them. */
#ifndef CW_PHYSICS_AIR_H
#define CW_PHYSICS_AIR_H

/* Density of moist air, kg/m3. CIPM-2007 (Picard et al. 2008, Metrologia 45:149, eq. 1 and
 * appendix A), 400 ppm CO2. temperature_c -40..50, pressure_pa 60e3..110e3, humidity 0..1. */
double cw_air_density(double temperature_c, double pressure_pa, double humidity);

/* ISO 2533 standard atmosphere below 11 km: temperature (K), pressure (Pa), density (kg/m3) at a
 * geopotential height (m), and the pressure altitude (m) of a pressure. */
double cw_isa_temperature_k(double height_m);
double cw_isa_pressure_pa(double height_m);
double cw_isa_density(double height_m);
double cw_isa_pressure_altitude_m(double pressure_pa);

/* True over indicated height difference of a barometric altimeter in air of temperature_c at
 * pressure altitude height_m: T / T_ISA. */
double cw_barometric_scale(double temperature_c, double height_m);

/* Pressure at height_m given a pressure known at reference_m, in air of temperature_c (constant).
 */
double cw_air_pressure_at(double pressure_pa, double reference_m, double height_m,
                          double temperature_c);

#endif
