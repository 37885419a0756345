#include "report/plan_facts.h"

#include <math.h>

#include "report/cautions.h"

const char *cw_plan_danger_text(enum cw_plan_danger danger) {
    switch (danger) {
    case CW_PLAN_FAST:
        return "fast";
    case CW_PLAN_STEEP:
        return "steep";
    case CW_PLAN_NO_BRAKES:
        break;
    }
    return "no brakes";
}

const char *cw_plan_setup(const struct cw_plan *plan, size_t setup) {
    return plan->options.day.setups[setup].name;
}

static bool level_road(const struct cw_plan *plan) {
    return fabs(plan->drop_m) < 0.005 * plan->length_m;
}

void cw_plan_cautions(const struct cw_plan *plan, struct cw_sentences *sentences) {
    struct cw_text text = {0};
    cw_caution_add_speed(&text, "Expected top speed:", plan->top_speed_ms,
                         plan->stopping_distance_m, level_road(plan) ? "road" : "slope");
    if (text.length) text.length--; /* the blank behind it */
    if (text.bytes) text.bytes[text.length] = '\0';
    cw_sentences_take(sentences, &text);
    if (plan->dangers & CW_PLAN_FAST)
        cw_sentences_add(sentences,
                         "TOO FAST: do not coast this road as planned. It passes %.0f km/h after "
                         "%.0f m: end the runs well before that, begin lower down, or take a "
                         "gentler road",
                         CW_KMH_PER_MS * CW_PLAN_FAST_MS, plan->safe_m);
    if (plan->dangers & CW_PLAN_STEEP)
        cw_sentences_add(
            sentences,
            "TOO STEEP: do not coast this road as planned. It falls by %.1f %%; beyond "
            "%.0f %% brakes have little left to stop with: take a gentler road",
            -100 * plan->steepest, 100 * CW_PLAN_STEEP_SLOPE);
    if (plan->dangers & CW_PLAN_NO_BRAKES)
        cw_sentences_add(sentences,
                         "NO STOPPING: the slope takes all that the brakes of an ordinary bicycle "
                         "have; nobody can stop there");
    cw_sentences_add(sentences, "%s", cw_caution_coasting);
    if (level_road(plan)) cw_sentences_add(sentences, "%s", cw_caution_level);
    cw_sentences_add(sentences, "%s", cw_caution_law);
}

/* The air that all of it is for: "In light air" and the like. Winds that differ by less are light.
 */
static const double light_ms = 0.05;

static void add_air(const struct cw_plan *plan, struct cw_text *text) {
    if (plan->options.like)
        cw_text_add(text, "In winds like those of %s", plan->options.like->outing.file);
    else if (plan->wind_planned_ms > light_ms)
        cw_text_add(text, "In winds that differ from run to run by %.1f km/h",
                    plan->wind_planned_ms * CW_KMH_PER_MS);
    else
        cw_text_add(text, "In light air, the winds alike in all runs,");
}

static void answer_needed(const struct cw_plan *plan, struct cw_sentences *sentences) {
    double difference = plan->options.difference_percent;
    const struct cw_plan_runs *eighty = &plan->needed[0], *ninety = &plan->needed[1];
    if (isnan(eighty->runs)) {
        cw_sentences_add(sentences,
                         "No number of runs finds a difference of %g %% of CdA in such air: it is "
                         "not worth going",
                         difference);
        return;
    }
    struct cw_text text = {0};
    add_air(plan, &text);
    cw_text_add(
        &text,
        " a difference of %g %% of CdA is found 8 times in 10 with %s%.0f runs of each setup",
        difference, eighty->asked ? "" : "about ", eighty->runs);
    if (!isnan(ninety->runs))
        cw_text_add(&text, ", 9 times in 10 with %s%.0f", ninety->asked ? "" : "about ",
                    ninety->runs);
    cw_sentences_take(sentences, &text);
    if (eighty->runs > CW_PLAN_RUNS_MOST)
        cw_sentences_add(sentences,
                         "That is more than anybody rides in a day: wait for stiller air, look for "
                         "a larger difference, or have the wind noted or a companion coast along");
}

void cw_plan_answers(const struct cw_plan *plan, struct cw_sentences *sentences) {
    const struct cw_plan_promise *promise = &plan->promise;
    struct cw_text text = {0};
    bool asked = !isnan(plan->options.difference_percent);
    if (asked) answer_needed(plan, sentences);
    cw_text_add(&text, "%zu runs of each setup take %.0f min on the hill. ", plan->runs,
                ceil(plan->minutes));
    if (!asked) add_air(plan, &text);
    cw_text_add(&text,
                "%s difference will be "
                "known to \xc2\xb1%.1f %% of CdA (half of its 95 %% interval, as it is printed), "
                "and %.1f %% is the least that is found 8 times in 10",
                asked ? "Their" : " their", promise->half_percent, promise->smallest_percent[0]);
    cw_sentences_take(sentences, &text);
}

/* ---- advice ---- */

static void advise_crr(const struct cw_plan *plan, struct cw_sentences *sentences) {
    if (plan->crr_told)
        cw_sentences_add(sentences, "Crr is told from CdA here: to about %.5f by all runs together",
                         plan->crr_error);
    else
        cw_sentences_add(
            sentences,
            "Crr is hardly told from CdA here (to about %.4f by all runs together): the level of "
            "CdA stays unsure, differences between setups do not. A road that flattens or rises "
            "at its end tells more",
            plan->crr_error);
}

/* What tests of tyres need, which is another thing than what tests of drag do. */
static void advise_tyres(const struct cw_plan *plan, struct cw_sentences *sentences) {
    struct cw_text text = {0};
    cw_text_add(
        &text,
        "Were the setups on different tyres, these runs would tell their Crr apart to "
        "\xc2\xb1%.5f (half of its 95 %% interval), and to \xc2\xb1%.5f where they are said "
        "to have the same drag (drag = NAME)",
        plan->tyres.half_crr, plan->tyres.half_crr_one_drag);
    if (isfinite(plan->tyres_on.half_crr))
        cw_text_add(&text,
                    ": rolling shows where it is slow. If the road went on at +%.1f %% to a "
                    "standstill it would be to \xc2\xb1%.5f, and to \xc2\xb1%.5f",
                    100 * CW_PLAN_ROLLOUT_SLOPE, plan->tyres_on.half_crr,
                    plan->tyres_on.half_crr_one_drag);
    cw_sentences_take(sentences, &text);
}

static void advise_parts(const struct cw_plan *plan, struct cw_sentences *sentences) {
    size_t best = 0;
    for (size_t k = 1; k < CW_PLAN_PARTS; k++)
        if (plan->parts[k].share > plan->parts[best].share) best = k;
    if (plan->parts[best].share > 0)
        cw_sentences_add(
            sentences,
            "The part from %.0f to %.0f m teaches most of a difference, %.0f %% of what "
            "a run tells; shorter runs should keep it",
            plan->parts[best].from_m, plan->parts[best].to_m, 100 * plan->parts[best].share);
}

static void advise_start(const struct cw_plan *plan, struct cw_sentences *sentences) {
    const struct cw_plan_start *slow = NULL, *fast = NULL;
    for (size_t k = 0; k < CW_PLAN_STARTS; k++) {
        if (!plan->starts[k].rolls) continue;
        if (!slow) slow = &plan->starts[k];
        fast = &plan->starts[k];
    }
    if (!slow || slow == fast) return;
    double gain = slow->error_percent / fast->error_percent - 1;
    if (gain < 0.05)
        cw_sentences_add(sentences,
                         "Starting slow costs next to nothing (a run's error is %.2f %% from %.0f "
                         "km/h and %.2f %% from %.0f km/h): start slow, and alike each time",
                         slow->error_percent, CW_KMH_PER_MS * slow->speed_ms, fast->error_percent,
                         CW_KMH_PER_MS * fast->speed_ms);
    else
        cw_sentences_add(sentences,
                         "A faster start tells more (a run's error is %.2f %% from %.0f km/h and "
                         "%.2f %% from %.0f km/h), as far as it is safe; start alike each time",
                         slow->error_percent, CW_KMH_PER_MS * slow->speed_ms, fast->error_percent,
                         CW_KMH_PER_MS * fast->speed_ms);
}

static void advise_wind(const struct cw_plan *plan, struct cw_sentences *sentences) {
    cw_sentences_add(sentences,
                     "A wind along the road of 1 km/h that only one run has makes %.1f %% of its "
                     "CdA. Wind that all runs share cancels between setups; wind that differs from "
                     "run to run does not",
                     plan->wind_percent_per_ms / CW_KMH_PER_MS);
    if (isfinite(plan->wind_twice_ms) && plan->needed[0].runs < CW_PLAN_RUNS_MOST)
        cw_sentences_add(sentences,
                         "Where winds differ from run to run by %.1f km/h (a standard deviation), "
                         "twice as many runs are needed",
                         plan->wind_twice_ms * CW_KMH_PER_MS);
    if (isfinite(plan->wind_limit_ms))
        cw_sentences_add(
            sentences,
            "Where they differ by more than %.1f km/h it is not worth going: more than "
            "%d runs of each setup. On an ordinary day they differ by 1 to 2.5 km/h: "
            "choose still air, early or late, or have the wind noted, logged, or met "
            "by a companion who coasts along",
            plan->wind_limit_ms * CW_KMH_PER_MS, CW_PLAN_RUNS_MOST);
    else if (!isnan(plan->options.difference_percent))
        cw_sentences_add(sentences,
                         "Even in still air it takes more than %d runs of each setup: it is not "
                         "worth going for so small a difference",
                         CW_PLAN_RUNS_MOST);
}

void cw_plan_advice(const struct cw_plan *plan, struct cw_sentences *sentences) {
    if (plan->stands_still)
        cw_sentences_add(sentences, "The run is expected to stand still after %.0f m of %.0f",
                         plan->runout_m, plan->length_m);
    advise_crr(plan, sentences);
    advise_tyres(plan, sentences);
    advise_parts(plan, sentences);
    advise_start(plan, sentences);
    advise_wind(plan, sentences);
}

/* ---- what was taken for granted ---- */

void cw_plan_defaults(const struct cw_plan *plan, struct cw_sentences *sentences) {
    const struct cw_plan_options *options = &plan->options;
    const struct cw_simulate_options *day = &options->day;
    if (options->like) {
        cw_sentences_add(
            sentences,
            "Air, recorder and its errors, gusts, and how winds differ from run to run "
            "(by about %.1f km/h) are as %s was found to have them",
            plan->wind_planned_ms * CW_KMH_PER_MS, options->like->outing.file);
    } else {
        const char *name, *meaning;
        cw_plan_recorder_word(options->recorder, &name, &meaning);
        cw_sentences_add(
            sentences,
            "The recorder is taken to be of the kind \"%s\" (%s), with the errors that "
            "such have in made-up outings",
            name, meaning);
        cw_sentences_add(
            sentences,
            "Gusts of %.1f km/h within a run, and winds that differ from run to run by "
            "%.1f km/h",
            day->gust_sd_ms * CW_KMH_PER_MS, plan->wind_planned_ms * CW_KMH_PER_MS);
        cw_sentences_add(sentences,
                         "Air of %.0f \xc2\xb0"
                         "C, %.0f hPa, %.0f %% humidity",
                         day->temperature_c, day->pressure_hpa, day->humidity_percent);
    }
    cw_sentences_add(
        sentences,
        "Start at %.1f km/h; back up at %.1f km/h, %.0f s of waiting at the top and %.0f "
        "s at the bottom",
        day->start_speed_ms * CW_KMH_PER_MS, day->climb_speed_ms * CW_KMH_PER_MS, day->top_wait_s,
        day->bottom_wait_s);
}
