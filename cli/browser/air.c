/* The pressure at the hill: told apart from a weather report's, and reduced from it. */
#include <math.h>

#include "module.h"
#include "outing/keys.h"
#include "start/start.h"

/* The outing as `start` looks at it, of which nothing more is said. */
static struct cw_starting asked(void) {
    return (struct cw_starting){.analysis = &cw_browser.analysis, .said = {.temperature_c = NAN}};
}

/* What a weather report's pressure is at the hill, once the runs are found: {"hpa",
 * "uncertainty_hpa", "height_m"}. */
SHOWN("hill_pressure") enum cw_status cw_browser_hill_pressure(double sea_level_hpa) {
    struct cw_starting start = asked();
    double height_m = cw_start_height_m(&start);
    cw_text_free(&cw_browser.text);
    if (!cw_start_is_weather(sea_level_hpa, 0))
        return cw_error_set(&cw_browser.error, CW_E_ARGUMENT, NULL, 0,
                            "no weather has %g hPa at sea level: is it a barometer's, at the hill?",
                            sea_level_hpa);
    if (isnan(height_m))
        return cw_error_set(&cw_browser.error, CW_E_ARGUMENT, NULL, 0,
                            "no heights are recorded to reduce it by: give the pressure at the "
                            "hill, or none");
    cw_text_add(&cw_browser.text, "{\"of\":\"sea level\"");
    cw_browser_add_number("hpa", cw_start_pressure_hpa(&start, sea_level_hpa));
    cw_browser_add_number("uncertainty_hpa", CW_REDUCED_ERROR_HPA);
    cw_browser_add_number("height_m", height_m);
    cw_text_add(&cw_browser.text, "}");
    return cw_browser_whole();
}

/* Says so where the outing's pressure is none that weather has at its height, and likely a
 * report's. */
SHOWN("doubt_pressure") enum cw_status cw_browser_doubt_pressure(void) {
    struct cw_starting start = asked();
    double height_m = cw_start_height_m(&start),
           hpa = cw_browser.analysis.outings[0].outing.air.pressure_hpa;
    cw_text_free(&cw_browser.text);
    if (!isnan(hpa) && !isnan(height_m) && !cw_start_is_weather(hpa, height_m))
        cw_text_add(&cw_browser.text, "no weather has %g hPa at the road's %.0f m%s", hpa, height_m,
                    cw_start_is_weather(hpa, 0) ? ": is it a weather report's, for sea level?"
                                                : "");
    return cw_browser_whole();
}
