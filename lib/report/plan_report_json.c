#include <math.h>

#include "report/json.h"
#include "report/plan_facts.h"
#include "report/plan_report.h"

static json_t *runs_json(const struct cw_plan *plan, bool *failed) {
    static const char *const names[CW_PLAN_POWERS] = {"power_80", "power_90"};
    struct cw_json object = cw_json_object(failed);
    for (size_t k = 0; k < CW_PLAN_POWERS; k++)
        cw_json_set(object, names[k],
                    isnan(plan->needed[k].runs) ? json_null()
                                                : json_integer((json_int_t)plan->needed[k].runs));
    cw_json_set(object, "planned", json_integer((json_int_t)plan->runs));
    return object.value;
}

static json_t *promise_json(const struct cw_plan *plan, bool *failed) {
    const struct cw_plan_promise *promise = &plan->promise;
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "error_percent", cw_json_number(promise->error_percent));
    cw_json_set(object, "standard_error_percent", cw_json_number(promise->standard_error_percent));
    cw_json_set(object, "half_percent", cw_json_number(promise->half_percent));
    cw_json_set(object, "power_percent", cw_json_number(100 * promise->power));
    cw_json_set(object, "smallest_percent_power_80", cw_json_number(promise->smallest_percent[0]));
    cw_json_set(object, "smallest_percent_power_90", cw_json_number(promise->smallest_percent[1]));
    return object.value;
}

static json_t *order_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < plan->n_order; i++)
        cw_json_append(array, cw_json_string(cw_plan_setup(plan, plan->order[i].setup)));
    return array.value;
}

static json_t *starts_of_runs_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < plan->n_order; i++)
        cw_json_append(array, cw_json_number(plan->order[i].start_s));
    return array.value;
}

static json_t *one_run_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "alone", cw_json_number(plan->alone_percent));
    cw_json_set(object, "together", cw_json_number(plan->together_percent));
    return object.value;
}

static json_t *rolling_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "told", json_boolean(plan->crr_told));
    cw_json_set(object, "standard_error", cw_json_number(plan->crr_error));
    cw_json_set(object, "standard_error_alone", cw_json_number(plan->alone_crr_error));
    cw_json_set(object, "correlation_alone", cw_json_number(plan->correlation));
    return object.value;
}

static json_t *tyres_json(const struct cw_plan_tyres *tyres, bool *failed) {
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "half", cw_json_number(tyres->half_crr));
    cw_json_set(object, "half_same_drag", cw_json_number(tyres->half_crr_one_drag));
    return object.value;
}

static json_t *parts_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t k = 0; k < CW_PLAN_PARTS; k++) {
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "from_m", cw_json_number(plan->parts[k].from_m));
        cw_json_set(object, "to_m", cw_json_number(plan->parts[k].to_m));
        cw_json_set(object, "share_percent", cw_json_number(100 * plan->parts[k].share));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *starts_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t k = 0; k < CW_PLAN_STARTS; k++) {
        const struct cw_plan_start *start = &plan->starts[k];
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "start_speed_ms", cw_json_number(start->speed_ms));
        cw_json_set(object, "time_s", cw_json_number(start->time_s));
        cw_json_set(object, "top_speed_ms", cw_json_number(start->top_speed_ms));
        cw_json_set(object, "error_percent", cw_json_number(start->error_percent));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *winds_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json object = cw_json_object(failed), array = cw_json_array(failed);
    for (size_t k = 0; k < CW_PLAN_WINDS; k++) {
        struct cw_json one = cw_json_object(failed);
        cw_json_set(one, "differ_by_ms", cw_json_number(plan->winds[k].sd_ms));
        cw_json_set(one, "one_run_percent", cw_json_number(plan->winds[k].error_percent));
        cw_json_set(one, "runs", cw_json_number(plan->winds[k].runs));
        cw_json_append(array, one.value);
    }
    cw_json_set(object, "planned_ms", cw_json_number(plan->wind_planned_ms));
    cw_json_set(object, "percent_per_ms", cw_json_number(plan->wind_percent_per_ms));
    cw_json_set(object, "twice_the_runs_ms", cw_json_number(plan->wind_twice_ms));
    cw_json_set(object, "not_worth_going_ms", cw_json_number(plan->wind_limit_ms));
    cw_json_set(object, "by_wind", array.value);
    return object.value;
}

static json_t *dangers_json(const struct cw_plan *plan, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (unsigned bit = 1; bit <= CW_PLAN_NO_BRAKES; bit <<= 1)
        if (plan->dangers & bit)
            cw_json_append(array, cw_json_string(cw_plan_danger_text((enum cw_plan_danger)bit)));
    return array.value;
}

static json_t *said_json(const struct cw_plan *plan,
                         void (*say)(const struct cw_plan *, struct cw_sentences *), bool *failed) {
    struct cw_sentences sentences = {0};
    say(plan, &sentences);
    return cw_json_sentences(&sentences, failed);
}

enum cw_status cw_report_plan_json(const struct cw_plan *plan, struct cw_text *out,
                                   struct cw_error *error) {
    bool failed = false;
    struct cw_json document = cw_json_document("plan", &failed);
    cw_json_set(document, "top_speed_ms", cw_json_number(plan->top_speed_ms));
    cw_json_set(document, "top_at_m", cw_json_number(plan->top_at_m));
    cw_json_set(document, "stopping_distance_m", cw_json_number(plan->stopping_distance_m));
    cw_json_set(document, "dangers", dangers_json(plan, &failed));
    cw_json_set(document, "cautions", said_json(plan, cw_plan_cautions, &failed));
    cw_json_set(document, "answers", said_json(plan, cw_plan_answers, &failed));
    cw_json_set(document, "difference_percent", cw_json_number(plan->options.difference_percent));
    cw_json_set(document, "runs_per_setup", runs_json(plan, &failed));
    cw_json_set(document, "promise", promise_json(plan, &failed));
    cw_json_set(document, "order", order_json(plan, &failed));
    cw_json_set(document, "starts_s", starts_of_runs_json(plan, &failed));
    cw_json_set(document, "seed", json_integer((json_int_t)plan->options.seed));
    cw_json_set(document, "drawn", json_boolean(plan->by_seed));
    cw_json_set(document, "minutes", cw_json_number(plan->minutes));
    cw_json_set(document, "one_run_percent", one_run_json(plan, &failed));
    cw_json_set(document, "crr", rolling_json(plan, &failed));
    cw_json_set(document, "crr_difference", tyres_json(&plan->tyres, &failed));
    cw_json_set(document, "crr_difference_if_rolled_out", tyres_json(&plan->tyres_on, &failed));
    cw_json_set(document, "length_m", cw_json_number(plan->length_m));
    cw_json_set(document, "drop_m", cw_json_number(plan->drop_m));
    cw_json_set(document, "steepest", cw_json_number(plan->steepest));
    cw_json_set(document, "time_s", cw_json_number(plan->time_s));
    cw_json_set(document, "end_speed_ms", cw_json_number(plan->end_speed_ms));
    cw_json_set(document, "runout_m", cw_json_number(plan->runout_m));
    cw_json_set(document, "cda_m2", cw_json_number(plan->options.cda_m2));
    cw_json_set(document, "crr_guess", cw_json_number(plan->options.crr));
    cw_json_set(document, "mass_kg", cw_json_number(plan->options.mass_kg));
    cw_json_set(document, "parts", parts_json(plan, &failed));
    cw_json_set(document, "starts", starts_json(plan, &failed));
    cw_json_set(document, "winds", winds_json(plan, &failed));
    cw_json_set(document, "advice", said_json(plan, cw_plan_advice, &failed));
    cw_json_set(document, "defaults", said_json(plan, cw_plan_defaults, &failed));
    return cw_json_finish(document, out, error);
}
