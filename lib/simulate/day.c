#include "simulate/day.h"

#include "physics/gravity.h"
#include "simulate/random.h"

static struct cw_day day_of(const struct cw_simulate_options *options, double height_m,
                            double warmer_c, double more_hpa) {
    struct cw_day day = {.temperature_c = options->temperature_c + warmer_c,
                         .humidity_percent = options->humidity_percent,
                         .pressure_pa = (options->pressure_hpa + more_hpa) * 100,
                         .gravity_ms2 = cw_gravity(options->latitude_deg, height_m),
                         .height_m = height_m};
    double humidity = options->humidity_percent / 100;
    day.density_kgm3 = cw_air_density(day.temperature_c, day.pressure_pa, humidity);
    day.column = cw_air_column_make(height_m, day.temperature_c, day.pressure_pa, humidity,
                                    options->lapse_k_km / 1000, day.gravity_ms2);
    return day;
}

struct cw_day cw_day_stated(const struct cw_simulate_options *options, double height_m) {
    return day_of(options, height_m, 0, 0);
}

enum cw_status cw_days_fill(const struct cw_simulate_options *options, double height_m,
                            struct cw_day *days, struct cw_error *error) {
    struct cw_random random = cw_random_make(options->seed, CW_STREAM_DAY);
    if (!random.state) return cw_error_memory(error);
    size_t n = cw_simulate_recordings(options);
    for (size_t i = 0; i < n; i++) {
        double part = n > 1 ? (double)i / (double)(n - 1) - 0.5 : 0; /* of the warming */
        double warmer_c =
            options->temperature_sd_c * cw_random_normal(&random) + options->warming_k * part;
        double more_hpa = options->pressure_sd_hpa * cw_random_normal(&random);
        days[i] = day_of(options, height_m, warmer_c, more_hpa);
    }
    cw_random_free(&random);
    return CW_OK;
}
