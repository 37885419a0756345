#include "report/cautions.h"

#include <math.h>

#include "report/table.h"

const char cw_caution_coasting[] =
    "Coast only where it is legal to ride and to stop, clear of traffic or on a closed road. "
    "Check brakes, tyres, headset and the fixing of any load first; keep loads low, tight and "
    "clear of wheels and steering. Wear a helmet and post a marshal where runs end. Do not "
    "test in wind, wet or dusk, and stop at the first speed wobble.";

const char cw_caution_level[] =
    "On the level a run ends at walking pace in the middle of the road, where nobody "
    "looks for it: know what comes from behind and leave it room to pass. So slow a "
    "bicycle wavers; put a foot down in time. Leave room to stop where the road, or the "
    "hall, ends.";

const char cw_caution_law[] =
    "Local traffic law and a qualified mechanic's judgement come before anything printed here. "
    "Results are estimates, not advice to ride faster.";

void cw_caution_add_speed(struct cw_text *text, const char *speed_is, double speed_ms,
                          double stopping_m, const char *road) {
    cw_text_add(text, "%s %.0f km/h. ", speed_is, CW_KMH_PER_MS * speed_ms);
    if (isfinite(stopping_m))
        cw_text_add(text,
                    "From there a sound bicycle needs some %.0f m to stop on this %s in the "
                    "dry, and far more in the wet. ",
                    5 * ceil(stopping_m / 5), road);
    else
        cw_text_add(text, "On a slope like this one brakes may not stop it at all. ");
}
