#include "analysis/results.h"
#include "analysis/saved.h"
#include "report/compare_facts.h"
#include "report/compare_report.h"
#include "report/heights.h"
#include "report/history.h"
#include "report/json.h"
#include "report/timed_json.h"
#include "report/winds.h"

static json_t *setups_json(const struct cw_compare *compare, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t s = 0; s < compare->n_setups; s++) {
        const struct cw_setup_result *setup = &compare->setups[s];
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "name", cw_json_string(setup->name));
        cw_json_set(object, "rider", *setup->rider ? cw_json_string(setup->rider) : json_null());
        cw_json_set(object, "runs", json_integer((json_int_t)setup->runs));
        cw_json_set(object, "outings", json_integer((json_int_t)setup->outings));
        cw_json_set(object, "load_kg", cw_json_number(setup->load_kg));
        cw_json_set(object, "pressure_kpa", cw_json_number(setup->pressure_kpa));
        cw_json_set(object, "cda_m2", cw_json_estimate(setup->cda_m2));
        cw_json_set(object, "tyres", cw_json_string(setup->tyres));
        cw_json_set(object, "crr", cw_json_estimate(setup->crr));
        cw_json_set(object, "drag_as", cw_json_string(compare->setups[setup->drag].name));
        cw_json_set(object, "level_told", json_boolean(setup->level_told));
        cw_json_set(object, "usual_part", cw_json_number(setup->usual_part));
        cw_json_append(array, object.value);
    }
    return array.value;
}

/* How the tyres differ: null where they are the same. */
static void set_rolling(struct cw_json object, const struct cw_rolling_difference *d) {
    cw_json_set(object, "crr_difference", cw_json_estimate(d->crr));
    cw_json_set(object, "crr_percent", cw_json_estimate(d->percent));
    cw_json_set(object, "crr_df", cw_json_number(d->df));
    cw_json_set(object, "crr_p_value", cw_json_number(d->p_value));
    cw_json_set(object, "crr_p_adjusted", cw_json_number(d->p_adjusted));
    cw_json_set(object, "crr_verdict",
                d->compared ? cw_json_string(cw_verdict_text(d->verdict)) : json_null());
    cw_json_set(object, "smallest_detectable_crr", cw_json_number(d->smallest_detectable));
    cw_json_set(object, "crr_standard_error_if_same_drag",
                cw_json_number(d->standard_error_if_same_drag));
    cw_json_set(object, "correlation", cw_json_number(d->correlation));
    cw_json_set(object, "force_p_adjusted", cw_json_number(d->sum_p_adjusted));
    cw_json_set(object, "told",
                d->compared ? cw_json_string(cw_told_of_text(d->told)) : json_null());
}

static json_t *forces_json(const struct cw_comparison *c, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t k = 0; k < CW_FORCES; k++) {
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "speed_kmh", cw_json_number(c->force[k].speed_kmh));
        cw_json_set(object, "force_n", cw_json_estimate(c->force[k].force_n));
        cw_json_set(object, "power_w", cw_json_estimate(c->force[k].power_w));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *comparison_json(const struct cw_compare *compare, const struct cw_comparison *c,
                               bool *failed) {
    struct cw_json object = cw_json_object(failed), runs = cw_json_array(failed);
    cw_json_append(runs, json_integer((json_int_t)compare->setups[c->setup].runs));
    cw_json_append(runs, json_integer((json_int_t)compare->setups[c->reference].runs));
    cw_json_set(object, "setup", cw_json_string(compare->setups[c->setup].name));
    cw_json_set(object, "reference", cw_json_string(compare->setups[c->reference].name));
    cw_json_set(object, "runs", runs.value);
    cw_json_set(object, "difference_m2", cw_json_estimate(c->difference_m2));
    cw_json_set(object, "percent", cw_json_estimate(c->percent));
    cw_json_set(object, "df", cw_json_number(c->df));
    cw_json_set(object, "p_value", cw_json_number(c->p_value));
    cw_json_set(object, "p_adjusted", cw_json_number(c->p_adjusted));
    cw_json_set(object, "verdict", cw_json_string(cw_verdict_text(c->verdict)));
    cw_json_set(object, "drag_said_same", json_boolean(c->drag_said));
    set_rolling(object, &c->rolling);
    cw_json_set(object, "hours_later", cw_json_number(c->hours_later));
    cw_json_set(object, "smallest_detectable_percent",
                cw_json_number(c->smallest_detectable_percent));
    cw_json_set(object, "runs_to_show_seen", cw_json_number(c->runs_to_show_seen));
    cw_json_set(object, "runs_to_show_2_percent", cw_json_number(c->runs_to_show_2_percent));
    cw_json_set(object, "time_over_road_s", cw_json_estimate(c->time_over_road_s));
    cw_json_set(object, "time_by_clock_s", cw_json_estimate(c->time_by_clock_s));
    cw_json_set(object, "time_watched_s", cw_json_estimate(c->time_watched_s));
    cw_json_set(object, "runout_taped_m", cw_json_estimate(c->runout_taped_m));
    cw_json_set(object, "runout_m", cw_json_estimate(c->runout_m));
    cw_json_set(object, "watts_at_40kmh", cw_json_estimate(c->watts_at_40kmh));
    cw_json_set(object, "force_at_kmh", forces_json(c, failed));
    cw_json_set(object, "wind_to_explain_ms", cw_json_number(c->wind_to_explain_ms));
    return object.value;
}

static json_t *runs_json(const struct cw_analysis *analysis, bool *failed) {
    const struct cw_compare *compare = &analysis->compare;
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        const struct cw_outing *outing = &analysis->outings[run->outing].outing;
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "outing", cw_json_string(outing->name));
        cw_json_set(object, "number", json_integer(cw_among_number(analysis, run)));
        cw_json_set(object, "setup", cw_json_string(compare->setups[run->setup].name));
        cw_json_set(object, "start", cw_json_time(run->time_s));
        cw_json_set(object, "cda_m2", cw_json_estimate(run->cda_m2));
        cw_json_set(object, "deviation_percent", cw_json_number(run->percent));
        cw_json_set(object, "t", cw_json_number(run->t));
        cw_json_set(object, "p_adjusted", cw_json_number(run->p_adjusted));
        cw_json_set(object, "outlier", json_boolean(run->outlier));
        cw_json_set(object, "wind_along_ms", cw_json_estimate(run->wind_along_ms));
        cw_json_set(object, "wind_noted_ms", cw_json_number(run->wind_noted_ms));
        cw_json_set(object, "wind_logged_ms", cw_json_number(run->wind_logged_ms));
        cw_json_set(object, "departs_most_m", cw_json_number(run->worst_m));
        cw_json_set(object, "departs_most_ms", cw_json_number(run->worst_ms));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *sentences_json(const struct cw_analysis *analysis,
                              void (*say)(const struct cw_analysis *, struct cw_sentences *),
                              bool *failed) {
    struct cw_sentences sentences = {0};
    say(analysis, &sentences);
    return cw_json_sentences(&sentences, failed);
}

static void answers_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    cw_compare_answers_said(analysis, CW_UNITS_METRIC, sentences);
}

/* What was known of the winds, and by what. */
static json_t *wind_json(const struct cw_analysis *analysis, bool *failed) {
    static const char *const names[CW_WIND_SEEN] = {"notes", "air_log"};
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_winds *wind = &compare->wind;
    struct cw_json object = cw_json_object(failed), by = cw_json_array(failed);
    for (size_t who = 0; who < CW_WIND_SEEN; who++) {
        const struct cw_winds_seen *seen = &wind->seen[who];
        if (!seen->n) continue;
        struct cw_json one = cw_json_object(failed);
        cw_json_set(one, "by", cw_json_string(names[who]));
        cw_json_set(one, "runs", json_integer((json_int_t)seen->n));
        bool used = seen->use == CW_WIND_USED;
        cw_json_set(one, "used", json_boolean(used));
        cw_json_set(one, "against", json_boolean(seen->use == CW_WIND_AGAINST));
        cw_json_set(one, "factor", used ? cw_json_number(seen->factor.median) : json_null());
        cw_json_set(one, "error_factor",
                    used ? cw_json_number(seen->error_factor.median) : json_null());
        cw_json_append(by, one.value);
    }
    if (wind->n_companion_runs) {
        struct cw_json one = cw_json_object(failed);
        cw_json_set(one, "by", cw_json_string("companion"));
        cw_json_set(one, "runs", json_integer((json_int_t)wind->n_companion_runs));
        cw_json_set(one, "used", json_boolean(true));
        cw_json_append(by, one.value);
    }
    cw_json_set(object, "differs_by_ms", cw_json_number(compare->wind_sd_ms));
    cw_json_set(object, "low_ms", cw_json_number(wind->low_ms));
    cw_json_set(object, "high_ms", cw_json_number(wind->high_ms));
    cw_json_set(object, "known_to_ms", cw_json_number(wind->known_ms));
    cw_json_set(object, "known_by", by.value);
    cw_json_set(object, "said", sentences_json(analysis, cw_winds_said, failed));
    cw_json_set(object, "cda_percent", cw_json_number(wind->cda_percent));
    cw_json_set(object, "difference_percent", cw_json_number(wind->difference_percent));
    cw_json_set(object, "half_percent_without", cw_json_number(wind->half_percent_without));
    cw_json_set(object, "half_percent_with_sensor", cw_json_number(wind->half_percent_with_sensor));
    cw_json_set(object, "half_percent_with_companion",
                cw_json_number(wind->half_percent_with_companion));
    return object.value;
}

static json_t *left_out_json(const struct cw_analysis *analysis, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t o = 0; o < analysis->n; o++)
        for (size_t i = 0; i < analysis->outings[o].runs.n; i++) {
            const struct cw_run *run = &analysis->outings[o].runs.at[i];
            struct cw_json object;
            if (!(run->reasons & CW_REASON_OUTLIER)) continue;
            object = cw_json_object(failed);
            cw_json_set(object, "outing", cw_json_string(analysis->outings[o].outing.name));
            cw_json_set(object, "number", json_integer(run->number));
            cw_json_set(object, "reason", cw_json_string(cw_run_reason_text(CW_REASON_OUTLIER)));
            cw_json_append(array, object.value);
        }
    return array.value;
}

/* Without its recordings, for whoever compares it later. */
static json_t *saved_json(const struct cw_analysed *of) {
    struct cw_text word = {0};
    cw_analysed_save(of, &word);
    json_t *value = word.failed ? NULL : json_stringn(word.bytes, word.length);
    cw_text_free(&word);
    return value;
}

static json_t *outings_json(const struct cw_analysis *analysis, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "name", cw_json_string(analysis->outings[o].outing.name));
        cw_json_set(object, "file", cw_json_string(analysis->outings[o].outing.file));
        cw_json_set(object, CW_RESULT_KEY, saved_json(&analysis->outings[o]));
        cw_json_append(array, object.value);
    }
    return array.value;
}

static json_t *measured_json(const struct cw_analysis *analysis, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        if (of->timed.n) cw_json_append(array, cw_timed_json(of, failed));
    }
    return array.value;
}

enum cw_status cw_report_compare_json(const struct cw_analysis *analysis, struct cw_text *out,
                                      struct cw_error *error) {
    const struct cw_compare *compare = &analysis->compare;
    bool failed = false;
    struct cw_json document = cw_json_document("compare", &failed),
                   comparisons = cw_json_array(&failed);
    struct cw_json scatter = cw_json_array(&failed);
    for (size_t i = 0; i < compare->n_comparisons; i++)
        cw_json_append(comparisons, comparison_json(compare, &compare->comparisons[i], &failed));
    cw_json_append(scatter, cw_json_number(compare->scatter_low_percent));
    cw_json_append(scatter, cw_json_number(compare->scatter_high_percent));
    cw_json_set(document, "outings", outings_json(analysis, &failed));
    cw_json_set(document, "reference", cw_json_string(compare->setups[0].name));
    cw_json_set(document, "answers", sentences_json(analysis, answers_said, &failed));
    cw_json_set(document, "heights", sentences_json(analysis, cw_heights_said, &failed));
    cw_json_set(document, "setups", setups_json(compare, &failed));
    cw_json_set(document, "comparisons", comparisons.value);
    cw_json_set(document, "scatter_percent", cw_json_number(compare->scatter_percent));
    cw_json_set(document, "scatter_percent_interval", scatter.value);
    cw_json_set(document, "drift_percent_per_hour",
                compare->has_drift ? cw_json_estimate(compare->drift_percent_per_hour)
                                   : json_null());
    cw_json_set(document, "wind_percent_per_ms", cw_json_number(compare->wind_percent_per_ms));
    cw_json_set(document, "wind", wind_json(analysis, &failed));
    cw_json_set(document, "runs", runs_json(analysis, &failed));
    cw_json_set(document, "history", cw_history_json(analysis, &failed));
    cw_json_set(document, "tyres_history", cw_tyres_history_json(analysis, &failed));
    cw_json_set(document, "left_out", left_out_json(analysis, &failed));
    cw_json_set(document, "as_measured", measured_json(analysis, &failed));
    cw_json_set(document, "budget", cw_json_budget(compare, &failed));
    cw_json_set(document, "limits", sentences_json(analysis, cw_compare_limits, &failed));
    cw_json_set(document, "defaults", sentences_json(analysis, cw_compare_defaults, &failed));
    cw_json_set(document, "warnings", sentences_json(analysis, cw_compare_warnings, &failed));
    return cw_json_finish(document, out, error);
}
