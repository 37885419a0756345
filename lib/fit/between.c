#include "fit/between.h"

#include <math.h>

static const double own_usual = 0.008, wind_usual_ms = 0.04, wind_time_s = 900;
static const double wandering = 0.5; /* the part of the winds' variance that wanders */
/* The noise's own size is known from so many degrees of freedom at the least and at the most. */
static const double least_noise_df = 3, most_noise_df = 200;

void cw_between_components(const struct cw_between_parts *parts, struct cw_components_data *data) {
    data->component[CW_BETWEEN_NOISE] =
        (struct cw_component){parts->noise, CW_COMPONENT_STATED,
                              fmin(fmax(parts->noise_df, least_noise_df), most_noise_df), 0};
    data->component[CW_BETWEEN_OWN] =
        (struct cw_component){parts->own, CW_COMPONENT_SCATTER, own_usual, 0};
    data->component[CW_BETWEEN_WIND] =
        (struct cw_component){parts->wind, CW_COMPONENT_SCATTER, wind_usual_ms, 0};
    data->n_components = data->n > data->p ? CW_BETWEEN_PARTS : 1;
}

double cw_between_by_wind(const struct cw_run_data *data) {
    double with_wind = 0, drag = 0;
    for (size_t j = 1; j < data->n; j++) {
        double v =
            0.5 * (data->speed_ms[j] + data->speed_ms[j - 1]) + data->surroundings.wind_along_ms;
        double ds = data->s_m[j] - data->s_m[j - 1];
        with_wind += 2 * v * ds;
        drag += v * v * ds;
    }
    return with_wind / drag;
}

double cw_between_alike(double apart_s) {
    return apart_s == 0 ? 1 : wandering * exp(-fabs(apart_s) / wind_time_s);
}

double cw_between_wind(const struct cw_run_data *a, const struct cw_run_data *b, double apart_s) {
    double alike = cw_between_by_wind(a) * cw_between_by_wind(b) * cw_between_alike(apart_s);
    return a->reversed == b->reversed ? alike : -alike;
}

enum cw_status cw_between_widen(const struct cw_components *components,
                                const struct cw_run_data *data, struct cw_estimate *estimate,
                                struct cw_error *error) {
    if (components->n_components <= CW_BETWEEN_WIND) return CW_OK;
    return cw_components_widen(components, CW_BETWEEN_WIND,
                               estimate->value * cw_between_by_wind(data), estimate, error);
}
