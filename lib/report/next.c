#include "report/next.h"

#include <math.h>

#include "analysis/ride_kind.h"
#include "report/answer.h"

/* More open pairs are not gone into one by one. */
enum { PAIRS_MOST = 3 };

/* The outing to plan like: the first that has a file. */
static void add_file(const struct cw_analysis *analysis, struct cw_text *text) {
    size_t o = 0;
    while (o + 1 < analysis->n && !analysis->outings[o].has_file) o++;
    const char *file = analysis->outings[o].outing.file;
    cw_text_add_word(text, file && *file ? file : "OUTING.ini");
}

static void say_pair(const struct cw_analysis *analysis, const struct cw_comparison *c,
                     struct cw_sentences *sentences) {
    const struct cw_setup_result *setups = analysis->compare.setups;
    double seen = fabs(c->percent.value);
    bool by_seen = seen >= 0.5 && isfinite(c->runs_to_show_seen);
    struct cw_text text = {0};
    cw_text_add(&text, "to decide between %s and %s: ", setups[c->setup].name,
                setups[c->reference].name);
    cw_answer_runs_add(by_seen ? c->runs_to_show_seen : c->runs_to_show_2_percent, &text);
    cw_text_add(&text,
                " show %.1f %%, if they scatter as these did. Their order, and a sheet to "
                "take along: coastwise plan --like ",
                by_seen ? seen : 2);
    add_file(analysis, &text);
    cw_text_add(&text, " --difference-percent %.1f --sheet sheet.html", by_seen ? seen : 2);
    cw_sentences_take(sentences, &text);
}

static void say_decided(const struct cw_analysis *analysis, const struct cw_comparison *c,
                        struct cw_sentences *sentences) {
    const struct cw_setup_result *setups = analysis->compare.setups;
    struct cw_text text = {0};
    cw_text_add(&text,
                "what %s and %s do on another road, here one of 750 m at -10 %%: coastwise "
                "predict --road 750:-10 --from ",
                setups[c->setup].name, setups[c->reference].name);
    add_file(analysis, &text);
    cw_sentences_take(sentences, &text);
    cw_text_add(&text, "the next change, on this road: ");
    cw_answer_runs_add(c->runs_to_show_2_percent, &text);
    cw_text_add(&text, " show 2 %%, if they scatter as these did; coastwise plan --like ");
    add_file(analysis, &text);
    cw_text_add(&text, " --difference-percent 2 gives their order");
    cw_sentences_take(sentences, &text);
}

static void say_order(const struct cw_comparison *c, struct cw_sentences *sentences) {
    if (fabs(c->hours_later) >= 0.05)
        cw_sentences_add(sentences, "take turns, A B B A, so that what drifts over a day is no "
                                    "difference between setups");
}

/* What of CdA itself a scale, a thermometer or somebody beside the road would mend. */
static void say_cause(const struct cw_compare *compare, struct cw_sentences *sentences) {
    static const char *const mend[] = {
        [CW_CAUSE_MASS] = "weigh rider and bicycle as they ride, with all that is worn",
        [CW_CAUSE_LOAD] = "weigh the load",
        [CW_CAUSE_TEMPERATURE] = "read a thermometer in the shade beside the road",
        [CW_CAUSE_PRESSURE] = "read a barometer at the hill",
        [CW_CAUSE_LAPSE] = "read a thermometer at the top and at the bottom",
        [CW_CAUSE_WIND] = "note the wind along the road at each run, log it with a sensor, or ride "
                          "the road both ways",
        [CW_CAUSE_HEIGHT_SCALE] = "have the road's two ends surveyed",
        [CW_CAUSE_YAW] = "ride where there is no crosswind",
        [CW_CAUSE_OWN_AIR] = "give each recording's own temperature",
        [CW_CAUSE_WARM] = "ride on days alike in temperature",
        [CW_CAUSE_BENDS] = "ride a straighter road"};
    const struct cw_cause_effect *most = NULL;
    for (size_t i = 0; i < compare->n_causes; i++)
        if (!most || fabs(compare->causes[i].cda_percent) > fabs(most->cda_percent))
            most = &compare->causes[i];
    if (!most || !(fabs(most->cda_percent) >= 1)) return;
    size_t kind = (size_t)most->kind;
    if (kind >= sizeof mend / sizeof *mend || !mend[kind]) return;
    cw_sentences_add(sentences,
                     "to know CdA itself better, and not the difference alone: %s (%s counts for "
                     "%.1f %% of it, the most of what is the same in all runs)",
                     mend[kind], most->name, fabs(most->cda_percent));
}

static void say_pairs(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_comparison *decided = NULL, *turned = NULL;
    size_t open = 0;
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        if (!turned && fabs(c->hours_later) >= 0.05) turned = c;
        if (cw_answer_verdict(c) != CW_VERDICT_UNDECIDED) {
            if (!decided) decided = c;
        } else if (!c->drag_said && open++ < PAIRS_MOST) {
            say_pair(analysis, c, sentences);
        }
    }
    if (turned) say_order(turned, sentences);
    if (decided && !open) say_decided(analysis, decided, sentences);
    say_cause(compare, sentences);
}

static void say_test(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    struct cw_ride_kind ride = {0};
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_ride_kind of = cw_ride_kind_of(&analysis->outings[o]);
        if (of.on_road > ride.on_road) ride = of;
    }
    if (!ride.tests)
        cw_sentences_add(
            sentences, "for a test, coast one road again and again, 500 m or more at -3 to -8 %%, "
                       "without pedalling or braking: eight times, changing one thing, in turns "
                       "(A B B A A B B A)");
    cw_sentences_add(sentences, "what a road can show, in how many runs: coastwise plan --road "
                                "1000:-5 --cda 0.4 --crr 0.005 --mass-kg 80 --difference-percent 3 "
                                "--sheet sheet.html, with numbers of your own");
}

void cw_next_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    if (analysis->compared && analysis->compare.n_comparisons)
        say_pairs(analysis, sentences);
    else
        say_test(analysis, sentences);
}
