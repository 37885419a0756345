#include "physics/air.h"

#include <math.h>

#include "physics/gravity.h"

#define ZERO_CELSIUS_K 273.15

/* CIPM-2007, appendix A of Picard et al. 2008. */
double cw_air_saturation_pa(double temperature_c) {
    double t = temperature_c + ZERO_CELSIUS_K;
    return exp(1.2378847e-5 * t * t - 1.9121316e-2 * t + 33.93711047 - 6.3431645e3 / t);
}

/* How far moist air departs from an ideal gas (eq. A1.4). */
static double compressibility(double temperature_c, double pressure_pa, double vapour_fraction) {
    double t = temperature_c, x = vapour_fraction;
    double p_over_t = pressure_pa / (t + ZERO_CELSIUS_K);
    double dry = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t;
    double mixed = (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x * x;
    return 1 - p_over_t * (dry + mixed) + p_over_t * p_over_t * (1.83e-11 - 0.765e-8 * x * x);
}

double cw_air_density(double temperature_c, double pressure_pa, double humidity) {
    static const double gas_constant = 8.314472;         /* J/(mol K), as CIPM-2007 has it */
    static const double molar_mass_dry = 28.96546e-3;    /* kg/mol, 400 ppm CO2 */
    static const double molar_mass_vapour = 18.01528e-3; /* kg/mol */
    double enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c * temperature_c;
    double vapour_fraction =
        humidity * enhancement * cw_air_saturation_pa(temperature_c) / pressure_pa;
    return pressure_pa * molar_mass_dry /
           (compressibility(temperature_c, pressure_pa, vapour_fraction) * gas_constant *
            (temperature_c + ZERO_CELSIUS_K)) *
           (1 - vapour_fraction * (1 - molar_mass_vapour / molar_mass_dry));
}

/* ISO 2533, table 1 and clause 2. */
#define ISA_T0_K 288.15
#define ISA_P0_PA 101325.0
#define ISA_R (8.31432e3 / 28.964420)                                   /* J/(kg K) */
#define ISA_POWER (CW_STANDARD_GRAVITY_MS2 / (ISA_R * CW_ISA_LAPSE_1M)) /* of T, that p goes by */

double cw_isa_temperature_k(double height_m) {
    return ISA_T0_K - CW_ISA_LAPSE_1M * height_m;
}

double cw_isa_pressure_pa(double height_m) {
    return ISA_P0_PA * pow(cw_isa_temperature_k(height_m) / ISA_T0_K, ISA_POWER);
}

double cw_isa_density(double height_m) {
    return cw_isa_pressure_pa(height_m) / (ISA_R * cw_isa_temperature_k(height_m));
}

double cw_isa_pressure_altitude_m(double pressure_pa) {
    return ISA_T0_K / CW_ISA_LAPSE_1M * (1 - pow(pressure_pa / ISA_P0_PA, 1 / ISA_POWER));
}

double cw_barometric_scale(double density_kgm3, double pressure_pa, double gravity_ms2) {
    double standard_density = cw_isa_density(cw_isa_pressure_altitude_m(pressure_pa));
    return standard_density * CW_STANDARD_GRAVITY_MS2 / (density_kgm3 * gravity_ms2);
}

struct cw_air_column cw_air_column_make(double height_m, double temperature_c, double pressure_pa,
                                        double humidity, double lapse_1m, double gravity_ms2) {
    static const double least_1m = 1e-6;
    if (fabs(lapse_1m) < least_1m) lapse_1m = least_1m;
    double kelvin = temperature_c + ZERO_CELSIUS_K,
           density = cw_air_density(temperature_c, pressure_pa, humidity),
           gas_constant = pressure_pa / (density * kelvin);
    return (struct cw_air_column){.height_m = height_m,
                                  .cooling_1m = lapse_1m / kelvin,
                                  .power = gravity_ms2 / (gas_constant * lapse_1m)};
}

double cw_barometric_bend_1m(double temperature_c, double lapse_1m) {
    return (CW_ISA_LAPSE_1M - lapse_1m) / (temperature_c + ZERO_CELSIUS_K);
}

/* The logarithm of T(h) / T. What is not a number stays that. */
static double log_temperature(const struct cw_air_column *column, double height_m) {
    static const double far_m = 10000;
    double up_m = height_m - column->height_m;
    up_m = up_m > far_m ? far_m : up_m < -far_m ? -far_m : up_m;
    return log1p(-column->cooling_1m * up_m);
}

double cw_air_column_pressure(const struct cw_air_column *column, double height_m) {
    return exp(column->power * log_temperature(column, height_m));
}

double cw_air_column_density(const struct cw_air_column *column, double height_m) {
    return exp((column->power - 1) * log_temperature(column, height_m));
}

double cw_air_pressure_from_sea_level(double sea_level_pa, double height_m, double temperature_c) {
    double there_k = temperature_c + ZERO_CELSIUS_K;
    return sea_level_pa * pow(there_k / (there_k + CW_ISA_LAPSE_1M * height_m), ISA_POWER);
}
