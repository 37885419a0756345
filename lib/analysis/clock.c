#include "analysis/clock.h"

#include <math.h>

void cw_clock_judge(const struct cw_timed_comparison *measured, double part,
                    struct cw_comparison *comparison) {
    const struct cw_timed_difference *time = &measured->of[CW_TIMED_TIME];
    const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};
    /* The model starts both at one speed, and in the same air. What their own entry speeds made of
     * the measured times is something between nothing and this. */
    double entry = measured->time_by_entry_s.value,
           model = part * (comparison->time_over_road_s.value + comparison->time_by_air_s);
    if (!isfinite(entry)) entry = 0;
    comparison->time_by_clock_s = none;
    if (time->test == CW_TIMED_NO_TEST || !isfinite(time->difference.low)) return;
    if (model < time->difference.low - fmax(entry, 0) ||
        model > time->difference.high - fmin(entry, 0))
        comparison->time_by_clock_s = time->difference;
}
