/* Another road, another day: predictions for the page, from numbers that are given or from the
 * outing that was analysed before. */
#include "predict/predict.h"

#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "module.h"
#include "page/elsewhere.h"
#include "predict/road.h"
#include "report/predict_report.h"

enum { WITH_MOST = 16 };

/* What is asked, and what came of it. */
static struct cw_predict_options options;
static struct cw_predict_case with[WITH_MOST];
static struct cw_analysis of_road;
static struct cw_predict_road road;
static struct cw_prediction prediction;

/* The numbers that a prediction may be given, for fields. */
SHOWN("predict_keys") enum cw_status cw_browser_predict_keys(void) {
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
#define ASKED(name, key, low, high, meaning)                                                       \
    cw_browser_add_asked("predict", key, low, high, meaning);
    CW_PREDICT_NUMBERS(ASKED)
#undef ASKED
#define ASKED(field, key, argument, low, high, meaning)                                            \
    cw_browser_add_asked("predict", key, low, high, meaning);
    CW_PREDICT_ASKED(ASKED)
#undef ASKED
    cw_text_add(&cw_browser.text, "]");
    return cw_browser_whole();
}

SHOWN("predict_begin") void cw_browser_predict_begin(void) {
    cw_prediction_free(&prediction);
    cw_predict_road_free(&road);
    cw_analysis_free(&of_road);
    options = cw_predict_options_default();
    options.road = &road;
    options.with = with;
    options.trace = true;
    for (size_t i = 0; i < WITH_MOST; i++) with[i] = cw_predict_case_none();
}

static enum cw_status set_asked(const char *key, double low, double high, const char *value,
                                double *field) {
    if (cw_number_read(value, strlen(value), field) && *field >= low && *field <= high)
        return CW_OK;
    return cw_error_set(&cw_browser.error, CW_E_ARGUMENT, NULL, 0,
                        "%s is \"%s\": give a number from %.10g to %.10g", key, value, low, high);
}

/* Of the base, 0, or of what is changed beside it, from 1. */
SHOWN("predict_set")
enum cw_status cw_browser_predict_set(size_t number, const char *key, const char *value) {
#define ASKED(field, name, argument, low, high, meaning)                                           \
    if (!strcmp(key, name)) return set_asked(name, low, high, value, &options.field);
    CW_PREDICT_ASKED(ASKED)
#undef ASKED
    if (number > WITH_MOST)
        return cw_error_set(&cw_browser.error, CW_E_ARGUMENT, NULL, 0,
                            "no more than %d changed rides are told at once", WITH_MOST);
    if (number > options.n_with) options.n_with = number;
    return cw_predict_set(number ? &with[number - 1] : &options.base, key, value,
                          &cw_browser.error);
}

/* What such a changed ride is called. */
SHOWN("predict_name") void cw_browser_predict_name(size_t number, const char *label) {
    if (number && number <= WITH_MOST)
        cw_print(with[number - 1].label, sizeof with->label, "%s", label);
}

SHOWN("predict_on_slopes") enum cw_status cw_browser_predict_on_slopes(const char *slopes) {
    return cw_predict_road_of_slopes(slopes, &road, &cw_browser.error);
}

/* The road of the outing that was analysed. */
SHOWN("predict_on_outing") enum cw_status cw_browser_predict_on_outing(void) {
    return cw_predict_road_of_outing(&cw_browser.analysis.outings[0], &road, &cw_browser.error);
}

/* Of a recording: all its way, or along a run by its number; 0: the longest. */
SHOWN("predict_on_recording")
enum cw_status cw_browser_predict_on_recording(const char *path, int whole_way, long run) {
    struct cw_error *error = &cw_browser.error;
    cw_browser_begin(&of_road);
    enum cw_status status = cw_analysis_open_files(&of_road, &path, 1, error);
    if (status < 0) return status;
    struct cw_analysed *of = &of_road.outings[0];
    if (of->has_file)
        return cw_error_set(error, CW_E_ARGUMENT, path, 0,
                            "is an outing file: give a recording of the road");
    if (!whole_way) {
        status = cw_analysis_find(&of_road, error);
        return status < 0 ? status : cw_predict_road_of_run(of, run, &road, error);
    }
    struct cw_motion motion;
    status = cw_motion_make(&of->recordings[0], &motion, error);
    if (status >= 0) status = cw_predict_road_of_way(&of->recordings[0], &motion, &road, error);
    cw_motion_free(&motion);
    return status;
}

/* Predicts; where `like` is set what is not given is the outing's, and its other setups stand
 * beside where nothing is changed. A part of a page, in words, tables and a picture. */
SHOWN("predict") enum cw_status cw_browser_predict(int like) {
    if (like && cw_browser_averaged()) options.from = &cw_browser.analysis.outings[0];
    if (options.from && !options.n_with)
        options.n_with = cw_predict_with_setups(&options, with, WITH_MOST);
    cw_text_free(&cw_browser.text);
    enum cw_status status = cw_predict(&options, &prediction, &cw_browser.error);
    if (status < 0) return status;
    return cw_browser_made(
        cw_page_prediction_add(&prediction, cw_browser.units, &cw_browser.text, &cw_browser.error));
}

SHOWN("predict_json") enum cw_status cw_browser_predict_json(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_predict_json(&prediction, &cw_browser.text, &cw_browser.error));
}

SHOWN("predict_csv") enum cw_status cw_browser_predict_csv(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(cw_report_predict_csv(&prediction, &cw_browser.text, &cw_browser.error));
}
