#include <math.h>

#include "report/json.h"
#include "report/predict_facts.h"
#include "report/predict_report.h"

static const char *const keys[] = {
#define KEY(name, key, unit, words) key,
    CW_PREDICT_TOLD(KEY)
#undef KEY
};

static json_t *road_json(const struct cw_predict_road *road, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "name", cw_json_string(road->name));
    cw_json_set(object, "kind", cw_json_string(cw_predict_road_kind_text(road->kind)));
    cw_json_set(object, "run", road->run ? json_integer(road->run) : json_null());
    cw_json_set(object, "length_m", cw_json_number(road->length_m));
    cw_json_set(object, "known_m", cw_json_number(road->known_m));
    cw_json_set(object, "drop_m", cw_json_number(cw_predict_road_drop(road)));
    cw_json_set(object, "lowest_m", cw_json_number(road->lowest_m));
    cw_json_set(object, "steepest_slope", cw_json_number(cw_predict_slope(road->steepest_sine)));
    return object.value;
}

static json_t *quantities(const struct cw_estimate of[CW_PREDICT_QUANTITIES], bool *failed,
                          struct cw_json object) {
    for (size_t q = 0; q < CW_PREDICT_QUANTITIES; q++)
        if (keys[q]) cw_json_set(object, keys[q], cw_json_estimate(of[q]));
    (void)failed;
    return object.value;
}

static void add_ride(const struct cw_predicted *ride, bool *failed, struct cw_json object) {
    cw_json_set(object, "setup", cw_json_string(*ride->setup ? ride->setup : NULL));
    cw_json_set(object, "ends", cw_json_string(cw_predict_end_text(ride->end)));
    quantities(ride->of, failed, object);
    cw_json_set(object, "correlation", cw_json_number(ride->correlation));
    cw_json_set(object, "wind_along_ms", cw_json_number(ride->number[CW_PREDICT_WIND].value));
    cw_json_set(object, "start_speed_ms",
                cw_json_number(ride->number[CW_PREDICT_START_SPEED].value));
    cw_json_set(object, "power_w", cw_json_number(ride->number[CW_PREDICT_POWER].value));
}

enum cw_status cw_report_predict_json(const struct cw_prediction *prediction, struct cw_text *out,
                                      struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_document("predict", &failed);
    struct cw_json with = cw_json_array(&failed);
    struct cw_sentences said = {0};
    cw_json_set(document, "road", road_json(prediction->road, &failed));
    cw_json_set(document, "from",
                cw_json_string(prediction->from ? prediction->from->outing.file : NULL));
    add_ride(&prediction->at[0], &failed, document);
    cw_json_set(document, "worth_kg",
                prediction->worth_kg > 0 ? cw_json_number(prediction->worth_kg) : json_null());
    cw_json_set(document, "wanted_time_s",
                prediction->wanted_time_s > 0 ? cw_json_number(prediction->wanted_time_s)
                                              : json_null());
    for (size_t i = 1; i < prediction->n; i++) {
        const struct cw_predicted *ride = &prediction->at[i];
        struct cw_json object = cw_json_object(&failed);
        cw_json_set(object, "with", cw_json_string(ride->label));
        add_ride(ride, &failed, object);
        cw_json_set(object, "difference",
                    quantities(ride->difference, &failed, cw_json_object(&failed)));
        cw_json_append(with, object.value);
    }
    cw_json_set(document, "with", with.value);
    cw_predict_taken(prediction, &said);
    cw_json_set(document, "defaults", cw_json_sentences(&said, &failed));
    cw_predict_doubts(prediction, &said);
    cw_json_set(document, "warnings", cw_json_sentences(&said, &failed));
    cw_predict_cautions(prediction, &said);
    cw_json_set(document, "cautions", cw_json_sentences(&said, &failed));
    return cw_json_finish(document, out, error);
}
