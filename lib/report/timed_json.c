#include "report/timed_json.h"

#include <math.h>

/* One list of the quantities for setups and comparisons. */
static const char *const keys[CW_TIMED_QUANTITIES] = {[CW_TIMED_TIME_WATCHED] = "time_watched_s",
                                                      [CW_TIMED_TIME] = "time_s",
                                                      [CW_TIMED_RUNOUT_TAPED] = "runout_taped_m",
                                                      [CW_TIMED_RUNOUT] = "runout_m",
                                                      [CW_TIMED_ENTRY_SPEED] = "entry_speed_ms"};

static json_t *run_json(const struct cw_analysed *of, const struct cw_timed_run *run,
                        bool *failed) {
    struct cw_json object = cw_json_object(failed), gates = cw_json_array(failed);
    cw_json_set(object, "number", json_integer(of->runs.at[run->run].number));
    cw_json_set(object, "setup", cw_json_string(cw_analysed_setup(of, run->setup)));
    for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
        cw_json_set(object, keys[q],
                    cw_json_estimate(*cw_timed_of(run, (enum cw_timed_quantity)q)));
    cw_json_set(object, "exit_speed_ms", cw_json_estimate(run->exit_speed_ms));
    for (size_t g = 0; g < of->timed.n_gates; g++) {
        const struct cw_crossing *at = &run->at[g];
        struct cw_json gate = cw_json_object(failed);
        cw_json_set(gate, "gate_m", cw_json_number(of->timed.gates_m[g]));
        cw_json_set(gate, "time", cw_json_time(at->time_s));
        cw_json_set(gate, "after_first_s", cw_json_number(at->time_s - run->at[0].time_s));
        cw_json_set(gate, "speed_ms", cw_json_number(at->speed_ms));
        cw_json_set(gate, "standard_error_s", cw_json_number(at->standard_error_s));
        cw_json_set(gate, "shift_s", cw_json_number(at->shift_s));
        cw_json_append(gates, gate.value);
    }
    cw_json_set(object, "gates", gates.value);
    return object.value;
}

static json_t *group_json(const struct cw_timed_group *group, bool *failed) {
    if (group->n == 0) return json_null();
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "runs", json_integer((json_int_t)group->n));
    cw_json_set(object, "mean", cw_json_number(group->mean));
    cw_json_set(object, "sd", cw_json_number(group->sd));
    cw_json_set(object, "timing_error", cw_json_number(group->timing_error));
    cw_json_set(object, "precision", cw_json_number(group->precision));
    return object.value;
}

static json_t *difference_json(const struct cw_timed_difference *difference, bool *failed) {
    if (isnan(difference->difference.value)) return json_null();
    struct cw_json object = cw_json_object(failed), runs = cw_json_array(failed);
    for (int i = 0; i < 2; i++) cw_json_append(runs, json_integer((json_int_t)difference->n[i]));
    cw_json_set(object, "runs", runs.value);
    cw_json_set(object, "test", cw_json_string(cw_timed_test_text(difference->test)));
    cw_json_set(object, "difference", cw_json_estimate(difference->difference));
    cw_json_set(object, "percent", cw_json_number(difference->percent));
    cw_json_set(object, "p_value", cw_json_number(difference->p_value));
    cw_json_set(object, "inside_scatter",
                difference->test == CW_TIMED_NO_TEST ? json_null()
                                                     : json_boolean(difference->inside_scatter));
    return object.value;
}

static json_t *steps_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < of->timed.n_steps; i++) {
        const struct cw_timed_step *step = &of->timed.steps[i];
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "setup", cw_json_string(cw_analysed_setup(of, step->setup)));
        cw_json_set(object, "from_speed_ms", cw_json_number(step->from_ms));
        cw_json_set(object, "to_speed_ms", cw_json_number(step->to_ms));
        cw_json_set(object, step->pairs ? "pairs" : "runs",
                    json_integer((json_int_t)step->timing.n));
        cw_json_set(object, "mean_s", cw_json_number(step->timing.mean_s));
        cw_json_set(object, "sd_s", cw_json_number(step->timing.sd_s));
        cw_json_set(object, "precision", cw_json_number(step->timing.precision));
        cw_json_set(object, "force_precision", cw_json_number(step->force_precision));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *doubts_json(const struct cw_analysed *of, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < of->timed.n_doubts; i++) {
        const struct cw_timed_doubt *doubt = &of->timed.doubts[i];
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "number",
                    json_integer(of->runs.at[of->timed.runs[doubt->at].run].number));
        cw_json_set(object, "of", cw_json_string(keys[doubt->quantity]));
        cw_json_set(object, "noted", cw_json_number(doubt->noted));
        cw_json_set(object, "recorded", cw_json_number(doubt->recorded));
        cw_json_set(object, "all_turned", json_boolean(doubt->turned));
        cw_json_set(object, "others_noted_minus_recorded", cw_json_number(doubt->others_off));
        cw_json_set(object, "others_sd", cw_json_number(doubt->others_sd));
        cw_json_set(object, "digits_swapped", cw_json_number(doubt->swapped));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *entry_json(const struct cw_timed_entry *entry, bool *failed) {
    if (isnan(entry->correlation)) return json_null();
    struct cw_json object = cw_json_object(failed);
    cw_json_set(object, "runs", json_integer((json_int_t)entry->n));
    cw_json_set(object, "slope_sms", cw_json_estimate(entry->slope_sms));
    cw_json_set(object, "correlation", cw_json_number(entry->correlation));
    cw_json_set(object, "p_value", cw_json_number(entry->p_value));
    return object.value;
}

json_t *cw_timed_json(const struct cw_analysed *of, bool *failed) {
    const struct cw_timed *timed = &of->timed;
    struct cw_json object = cw_json_object(failed), gates = cw_json_array(failed);
    struct cw_json runs = cw_json_array(failed), setups = cw_json_array(failed);
    struct cw_json comparisons = cw_json_array(failed);
    for (size_t g = 0; g < timed->n_gates; g++)
        cw_json_append(gates, cw_json_number(timed->gates_m[g]));
    for (size_t k = 0; k < timed->n; k++)
        cw_json_append(runs, run_json(of, &timed->runs[k], failed));
    for (size_t i = 0; i < timed->n_setups; i++) {
        struct cw_json setup = cw_json_object(failed);
        cw_json_set(setup, "name", cw_json_string(cw_analysed_setup(of, timed->setups[i].setup)));
        cw_json_set(setup, "runs", json_integer((json_int_t)timed->setups[i].runs));
        for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
            cw_json_set(setup, keys[q], group_json(&timed->setups[i].of[q], failed));
        cw_json_append(setups, setup.value);
    }
    for (size_t i = 0; i < timed->n_comparisons; i++) {
        const struct cw_timed_comparison *c = &timed->comparisons[i];
        struct cw_json comparison = cw_json_object(failed);
        cw_json_set(comparison, "setup", cw_json_string(cw_analysed_setup(of, c->setup)));
        cw_json_set(comparison, "reference", cw_json_string(cw_analysed_setup(of, c->reference)));
        for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
            cw_json_set(comparison, keys[q], difference_json(&c->of[q], failed));
        cw_json_set(comparison, "time_by_entry_at_most_s", cw_json_estimate(c->time_by_entry_s));
        cw_json_append(comparisons, comparison.value);
    }
    cw_json_set(object, "outing", cw_json_string(of->outing.name));
    cw_json_set(object, "gates_m", gates.value);
    cw_json_set(object, "gates_chosen", json_boolean(timed->gates_chosen));
    cw_json_set(object, "road_length_m", cw_json_number(timed->length_m));
    cw_json_set(object, "shift_sd_m", cw_json_number(timed->shift_sd_m));
    cw_json_set(object, "places_from_mark", json_boolean(timed->from_mark));
    cw_json_set(object, "runs", runs.value);
    cw_json_set(object, "noted_doubted", doubts_json(of, failed));
    cw_json_set(object, "setups", setups.value);
    cw_json_set(object, "comparisons", comparisons.value);
    cw_json_set(object, "speed_steps", steps_json(of, failed));
    cw_json_set(object, "time_on_entry_speed", entry_json(&timed->entry, failed));
    cw_json_set(object, "warnings", cw_json_warnings(&timed->warnings));
    return object.value;
}
