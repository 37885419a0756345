/* What to ride next time: plans for the page, from guesses or like the outing that was analysed
 * before. */
#include "plan/plan.h"

#include <math.h>

#include "module.h"
#include "page/elsewhere.h"
#include "page/sheet.h"
#include "plan/loose.h"
#include "report/plan_report.h"

/* What is asked, and what came of it. */
static struct cw_plan_options options;
static struct cw_analysis of_road;
static struct cw_plan plan;

/* The numbers that a plan may be given, for fields. */
SHOWN("plan_keys") enum cw_status cw_browser_plan_keys(void) {
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
#define ASKED(field, key, argument, low, high, meaning)                                            \
    cw_browser_add_asked("plan", key, low, high, meaning);
    CW_PLAN_GUESSES(ASKED)
    CW_PLAN_DAY(ASKED)
#undef ASKED
    cw_browser_add_asked("plan", "start-speed-ms", 0, 15,
                         "when pedalling stops; 0 is a held start");
    cw_text_add(&cw_browser.text, "]");
    return cw_browser_whole();
}

/* The kinds of recorders: [["wheel", "speed from a wheel ..."], ...]. */
SHOWN("plan_recorders") enum cw_status cw_browser_plan_recorders(void) {
    const char *name, *meaning;
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
    for (size_t i = 0; cw_plan_recorder_word(i, &name, &meaning); i++) {
        cw_text_add(&cw_browser.text, i ? ",[" : "[");
        cw_browser_add_string(name);
        cw_text_add(&cw_browser.text, ",");
        cw_browser_add_string(meaning);
        cw_text_add(&cw_browser.text, "]");
    }
    cw_text_add(&cw_browser.text, "]");
    return cw_browser_whole();
}

/* Where `like` is set what is not given is as the outing has it. */
SHOWN("plan_begin") void cw_browser_plan_begin(int like) {
    cw_plan_free(&plan);
    cw_analysis_free(&of_road);
    options = cw_plan_options_default();
    if (like) options.like = options.road = &cw_browser.analysis.outings[0];
}

SHOWN("plan_set") enum cw_status cw_browser_plan_set(const char *key, const char *value) {
    return cw_plan_set(&options, key, value, &cw_browser.error);
}

/* On segments, in place of the outing's road. */
SHOWN("plan_on_slopes") enum cw_status cw_browser_plan_on_slopes(const char *slopes) {
    options.road = NULL;
    return cw_plan_set(&options, "road", slopes, &cw_browser.error);
}

/* On the outing's road, whether or not all else is like it. */
SHOWN("plan_on_outing") void cw_browser_plan_on_outing(void) {
    options.road = &cw_browser.analysis.outings[0];
}

/* On the road of a recording, with a mass that was set or is the outing's. */
SHOWN("plan_on_recording") enum cw_status cw_browser_plan_on_recording(const char *path) {
    struct cw_error *error = &cw_browser.error;
    double mass_kg = options.mass_kg;
    if (isnan(mass_kg) && options.like)
        mass_kg = options.like->outing.rider.mass_kg + options.like->outing.rider.bike_mass_kg;
    cw_browser_begin(&of_road);
    enum cw_status status = cw_analysis_open_files(&of_road, &path, 1, error);
    if (status < 0) return status;
    if (of_road.outings[0].has_file)
        return cw_error_set(error, CW_E_ARGUMENT, path, 0,
                            "is an outing file: give a recording of the road");
    cw_plan_loose_outing(&of_road.outings[0], mass_kg);
    status = cw_analysis_find(&of_road, error);
    if (status >= 0) status = cw_analysis_fit(&of_road, error);
    if (status >= 0) options.road = &of_road.outings[0];
    return status;
}

/* Makes the plan: a part of a page, in words and tables. */
SHOWN("plan") enum cw_status cw_browser_plan(void) {
    cw_text_free(&cw_browser.text);
    enum cw_status status = cw_plan_make(&options, &plan, &cw_browser.error);
    if (status < 0) return status;
    return cw_browser_made(
        cw_page_plan_add(&plan, cw_browser.units, &cw_browser.text, &cw_browser.error));
}

SHOWN("plan_json") enum cw_status cw_browser_plan_json(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(cw_report_plan_json(&plan, &cw_browser.text, &cw_browser.error));
}

SHOWN("plan_csv") enum cw_status cw_browser_plan_csv(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(cw_report_plan_csv(&plan, &cw_browser.text, &cw_browser.error));
}

/* The sheet to print and take along, a page. */
SHOWN("plan_sheet") enum cw_status cw_browser_plan_sheet(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_page_sheet_add(&plan, cw_browser.units, &cw_browser.text, &cw_browser.error));
}

/* The outing file to fill in. */
SHOWN("plan_outing") enum cw_status cw_browser_plan_outing(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(cw_report_plan_outing(&plan, &cw_browser.text, &cw_browser.error));
}
