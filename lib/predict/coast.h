/* One ride along a road, and what comes of it. Inside the library only. */
#ifndef CW_PREDICT_COAST_H
#define CW_PREDICT_COAST_H

#include <stdbool.h>

#include "base/error.h"
#include "physics/forces.h"
#include "predict/predict.h"
#include "predict/road.h"

/* All numbers that a ride takes. */
struct cw_coast_state {
    struct cw_bicycle bicycle;
    struct cw_surroundings surroundings;
    double start_speed_ms, power_w;
    double height_scale, tilt_m; /* of the road's heights: a factor, and more drop where below 0 */
};

/* What is asked beside what every ride tells; 0 or NaN where it is not. */
struct cw_coast_asked {
    double worth_kg, wanted_time_s;
};

/* Sets the quantities that a ride gives (NaN where there is none: no arrival, no standing still)
 * and how it ends. trace may be NULL. CW_E_DATA where it neither arrives nor stands within a day.
 */
enum cw_status cw_coast_predict(const struct cw_predict_road *road,
                                const struct cw_coast_state *state,
                                const struct cw_coast_asked *asked,
                                double quantity[CW_PREDICT_QUANTITIES], enum cw_predict_end *end,
                                struct cw_predict_trace *trace, struct cw_error *error);
void cw_predict_trace_free(struct cw_predict_trace *trace);

#endif
