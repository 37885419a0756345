/* The air at the hill, as far as recordings and weather reports tell it. */
#include <math.h>

#include "fit/prepare.h"
#include "physics/air.h"
#include "start/start.h"

/* A level road may have been recorded without heights. */
static bool has_heights(const struct cw_analysed *of) {
    if (of->outing.elevation != CW_ELEVATION_LEVEL) return true;
    for (size_t i = 0; i < of->n_recordings; i++)
        if (of->recordings[i].has_elevation) return true;
    return false;
}

double cw_start_height_m(const struct cw_starting *start) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    struct cw_ridden ridden = cw_analysed_ridden(of);
    struct cw_place place;
    if (!has_heights(of) || cw_place_make(&ridden, &place, NULL) < 0) return NAN;
    return place.height_m;
}

struct cw_device_air cw_start_device_air(const struct cw_starting *start) {
    struct cw_ridden ridden = cw_analysed_ridden(&start->analysis->outings[0]);
    return cw_device_air(&ridden);
}

bool cw_start_is_weather(double pressure_hpa, double height_m) {
    double standard_hpa = cw_isa_pressure_pa(isnan(height_m) ? 0 : height_m) / 100;
    return pressure_hpa >= standard_hpa - 70 && pressure_hpa <= standard_hpa + 40;
}

double cw_start_pressure_hpa(const struct cw_starting *start, double sea_level_hpa) {
    const struct cw_outing *outing = &start->analysis->outings[0].outing;
    double height_m = cw_start_height_m(start), temperature_c = start->said.temperature_c;
    if (isnan(temperature_c)) temperature_c = outing->air.temperature_c;
    if (isnan(temperature_c)) {
        struct cw_device_air device = cw_start_device_air(start);
        temperature_c = device.n ? device.temperature_c : cw_isa_temperature_k(height_m) - 273.15;
    }
    double hill_pa = cw_air_pressure_from_sea_level(100 * sea_level_hpa, height_m, temperature_c);
    return round(hill_pa / 10) / 10; /* to 0.1 hPa: a report gives no more */
}
