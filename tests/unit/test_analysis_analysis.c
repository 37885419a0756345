/* The way from paths to answers: what it says on the way, and what it must not hang on. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "compared.h"
#include "picture/picture.h"

static struct cw_error error;

static void all_steps(struct cw_analysis *analysis,
                      const struct cw_analysis_compare_options *options) {
    ck_assert_msg(cw_analysis_find(analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_fit(analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_compare(analysis, options, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_time(analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_explain(analysis, &error) >= 0, "%s", error.message);
}

/* ---- the order of outings ---- */

/* The second outing is ridden a month after the first, names its setups the other way round, and
 * jacket carries a load in it alone. */
static void add_outing(struct compared *c, bool second) {
    struct cw_simulate_options options = compared_options(second ? 52 : 51);
    snprintf(options.name, sizeof options.name, "%s", second ? "later" : "earlier");
    if (second) {
        struct cw_simulate_setup cape = options.setups[0];
        options.start_s += 30 * 86400.0;
        options.setups[0] = options.setups[1];
        options.setups[1] = cape;
        options.setups[0].load_kg = 3;
    }
    compared_add(c, &options, SIZE_MAX, 0);
}

static void same(double one, double other) {
    ck_assert_msg((isnan(one) && isnan(other)) || fabs(one - other) <= 1e-9, "%.12g, not %.12g",
                  other, one);
}

static void same_estimate(const struct cw_estimate *one, const struct cw_estimate *other) {
    same(one->value, other->value);
    same(one->standard_error, other->standard_error);
    same(one->low, other->low);
    same(one->high, other->high);
}

static const char *setup_of(const struct cw_analysed *of, size_t setup) {
    return of->outing.setups[setup].name;
}

static void same_comparison(const struct cw_compare *one, const struct cw_compare *other) {
    ck_assert_uint_eq(one->n_setups, other->n_setups);
    for (size_t s = 0; s < one->n_setups; s++) {
        ck_assert_str_eq(one->setups[s].name, other->setups[s].name);
        same(one->setups[s].load_kg, other->setups[s].load_kg);
        same_estimate(&one->setups[s].cda_m2, &other->setups[s].cda_m2);
        same_estimate(&one->setups[s].crr, &other->setups[s].crr);
        same(one->setups[s].correlation, other->setups[s].correlation);
    }
    ck_assert_uint_eq(one->n_comparisons, 1);
    ck_assert_uint_eq(other->n_comparisons, 1);
    const struct cw_comparison *a = one->comparisons, *b = other->comparisons;
    ck_assert_uint_eq(a->setup, b->setup);
    ck_assert_uint_eq(a->reference, b->reference);
    same_estimate(&a->difference_m2, &b->difference_m2);
    same_estimate(&a->percent, &b->percent);
    same(a->df, b->df);
    same(a->p_value, b->p_value);
    same(a->p_adjusted, b->p_adjusted);
    ck_assert_int_eq(a->verdict, b->verdict);
    same(a->smallest_detectable_percent, b->smallest_detectable_percent);
    same_estimate(&a->time_over_road_s, &b->time_over_road_s);
    same_estimate(&a->runout_m, &b->runout_m);
    same_estimate(&a->watts_at_40kmh, &b->watts_at_40kmh);
    same(a->wind_to_explain_ms, b->wind_to_explain_ms);
    same(one->scatter_percent, other->scatter_percent);
    ck_assert_int_eq(one->has_drift, other->has_drift);
    same_estimate(&one->drift_percent_per_hour, &other->drift_percent_per_hour);
    same(one->wind_percent_per_ms, other->wind_percent_per_ms);
    ck_assert_uint_eq(one->n_causes, other->n_causes);
    for (size_t i = 0; i < one->n_causes; i++) {
        ck_assert_str_eq(one->causes[i].name, other->causes[i].name);
        same(one->causes[i].uncertainty, other->causes[i].uncertainty);
        same(one->causes[i].cda_percent, other->causes[i].cda_percent);
        same(one->causes[i].crr, other->causes[i].crr);
        same(one->causes[i].difference_percent, other->causes[i].difference_percent);
    }
    same(one->systematic_percent, other->systematic_percent);
    same(one->systematic_difference_percent, other->systematic_difference_percent);
    same(one->noise_percent, other->noise_percent);
}

/* Runs stand as their outings were given: half of them are the one outing's, half the other's. */
static void same_runs(const struct cw_compare *one, const struct cw_compare *other) {
    size_t half = one->n_runs / 2;
    ck_assert_uint_eq(one->n_runs, 16);
    ck_assert_uint_eq(other->n_runs, 16);
    for (size_t i = 0; i < one->n_runs; i++) {
        const struct cw_run_among *a = &one->runs[i], *b = &other->runs[(i + half) % (2 * half)];
        ck_assert_uint_eq(a->outing, i / half);
        ck_assert_uint_eq(b->outing, 1 - i / half);
        ck_assert_uint_eq(a->index, b->index);
        ck_assert_uint_eq(a->setup, b->setup);
        same(a->percent, b->percent);
        same(a->t, b->t);
        same(a->p_adjusted, b->p_adjusted);
    }
}

static void same_times(const struct cw_analysed *one, const struct cw_analysed *other) {
    ck_assert_str_eq(one->outing.name, other->outing.name);
    ck_assert_uint_eq(one->timed.n_comparisons, 1);
    ck_assert_uint_eq(other->timed.n_comparisons, 1);
    const struct cw_timed_comparison *a = one->timed.comparisons, *b = other->timed.comparisons;
    ck_assert_str_eq(setup_of(one, a->setup), "jacket");
    ck_assert_str_eq(setup_of(one, a->reference), "cape");
    ck_assert_str_eq(setup_of(other, b->setup), "jacket");
    ck_assert_str_eq(setup_of(other, b->reference), "cape");
    for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
        same_estimate(&a->of[q].difference, &b->of[q].difference);
    ck_assert_double_lt(a->of[CW_TIMED_TIME].difference.value, 0); /* the jacket is faster */
}

/* Which outing is named first on a command line turns no sign and moves no number: neither the
 * reference, nor whose road the seconds are of, whose drift is told, whose budget is shown. */
START_TEST(nothing_hangs_on_the_order_of_outings) {
    struct compared one = {0}, other = {0};
    add_outing(&one, false);
    add_outing(&one, true);
    add_outing(&other, true);
    add_outing(&other, false);
    all_steps(&one.analysis, NULL);
    all_steps(&other.analysis, NULL);
    ck_assert_str_eq(one.analysis.compare.setups[0].name, "cape");
    same_comparison(&one.analysis.compare, &other.analysis.compare);
    same_runs(&one.analysis.compare, &other.analysis.compare);
    same_times(&one.analysis.outings[0], &other.analysis.outings[1]);
    same_times(&one.analysis.outings[1], &other.analysis.outings[0]);
    compared_free(&one);
    compared_free(&other);
}
END_TEST

/* ---- two roads ---- */

/* Two recordings of four runs each, of which the second is on a road of its own, 5 km north; each
 * road is ridden in the order given as four letters. */
static void two_roads(struct compared *c, const char *order, size_t stray, size_t said_to_be,
                      void (*change)(struct cw_simulated *truth)) {
    struct cw_simulate_options options = compared_options(54);
    options.n_recordings = 2;
    options.n_setups = 3;
    options.setups[2] = options.setups[0];
    strcpy(options.setups[2].name, "sitting-up");
    options.setups[2].cda_m2 *= 1.3;
    compared_order(&options, order);
    struct cw_simulated *truth = compared_simulate(c, &options);
    if (stray < truth->outing.order.n) truth->outing.order.setup[stray] = said_to_be;
    for (size_t i = 0; i < truth->recordings[1].samples.n; i++)
        truth->recordings[1].samples.latitude_deg[i] += 0.05;
    if (change) change(truth);
    compared_hand_over(c);
}

/* Leaves out the first recording's runs; the order is that of the others then. */
static void skip_first_road(struct cw_simulated *truth) {
    struct cw_outing *outing = &truth->outing;
    outing->skip.number = malloc(4 * sizeof *outing->skip.number);
    ck_assert_ptr_nonnull(outing->skip.number);
    outing->skip.n = 4;
    for (long i = 0; i < 4; i++) outing->skip.number[i] = i + 1;
    memmove(outing->order.setup, outing->order.setup + 4, 4 * sizeof *outing->order.setup);
    outing->order.n = 4;
}

/* Roads are numbered after runs are chosen: that no run is left on the first that was ridden is
 * nothing special. */
START_TEST(the_first_road_may_be_skipped_whole) {
    struct compared c = {0};
    two_roads(&c, "ABBAABBA", SIZE_MAX, 0, skip_first_road);
    all_steps(&c.analysis, NULL);
    const struct cw_analysed *of = &c.analysis.outings[0];
    ck_assert_uint_eq(of->runs.n, 8);
    ck_assert_uint_eq(of->runs.n_roads, 1);
    for (size_t i = 0; i < 8; i++) {
        ck_assert_int_eq(of->runs.at[i].kept, i >= 4);
        ck_assert_uint_eq(of->runs.at[i].road, i >= 4 ? CW_ROAD_MAIN : CW_ROAD_NONE);
    }
    ck_assert_uint_eq(of->fit.n_runs, 4);
    ck_assert_uint_eq(c.analysis.compare.n_comparisons, 1);
    ck_assert_uint_eq(of->timed.n, 4);
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    for (size_t p = 0; p < n; p++) {
        struct cw_text text = {0};
        /* Nobody saw the winds or noted pressures, all rode on the same tyres, once. */
        if (pictures[p].needs & (CW_PICTURE_NEEDS_WINDS | CW_PICTURE_NEEDS_TYRES |
                                 CW_PICTURE_NEEDS_PRESSURES | CW_PICTURE_NEEDS_HISTORY))
            continue;
        ck_assert_msg(cw_picture_add(&pictures[p], &c.analysis, 0, true, CW_UNITS_METRIC, "a-",
                                     &text, &error) == CW_OK,
                      "%s: %s", pictures[p].name, error.message);
        cw_text_free(&text);
    }
    compared_free(&c);
}
END_TEST

/* Four runs on each of two roads; without the outlier among the first four, the other road carries
 * most runs. */
START_TEST(dropping_a_run_numbers_the_roads_anew) {
    struct cw_analysis_compare_options options = {.drop_outliers = false};
    struct compared c = {0};
    two_roads(&c, "ABCBBAAB", 2, 0, NULL);
    all_steps(&c.analysis, &options);
    const struct cw_runs *runs = &c.analysis.outings[0].runs;
    ck_assert_uint_eq(runs->n_roads, 2);
    for (size_t i = 0; i < 8; i++) ck_assert_uint_eq(runs->at[i].road, i / 4);
    options.drop_outliers = true;
    ck_assert_msg(cw_analysis_compare(&c.analysis, &options, &error) >= 0, "%s", error.message);
    ck_assert(!runs->at[2].kept && runs->at[2].reasons == CW_REASON_OUTLIER);
    ck_assert_uint_eq(runs->n_roads, 2);
    for (size_t i = 0; i < 8; i++) ck_assert_uint_eq(runs->at[i].road, 1 - i / 4);
    ck_assert_uint_eq(c.analysis.outings[0].fit.n_runs, 7);
    ck_assert_int_ge(cw_analysis_time(&c.analysis, &error), 0);
    ck_assert_uint_eq(c.analysis.outings[0].timed.n, 4);
    compared_free(&c);
}
END_TEST

/* ---- what is said on the way ---- */

#define RIDE FIXTURES "/demo/ride.tcx.gz"
#define OUTING FIXTURES "/demo/outing.ini"
#define DOUBLED FIXTURES "/recordings/time-duplicate.gpx"
#define FLAT FIXTURES "/recordings/ele-none.gpx"
#define EMPTY FIXTURES "/recordings/empty.gpx"
#define NOWHERE FIXTURES "/recordings/nowhere.gpx"

/* What was said, a line each. */
struct said {
    struct cw_text notices, progress;
};

static const char *tail_of(const char *file) {
    const char *slash = file ? strrchr(file, '/') : NULL;
    return slash ? slash + 1 : file ? file : "-";
}

static void take_notice(void *caller, const struct cw_notice *notice) {
    static const char *const kinds[] = {[CW_NOTICE_WARNING] = "warning",
                                        [CW_NOTICE_LEFT_OUT] = "left out",
                                        [CW_NOTICE_UNTIMED] = "untimed"};
    struct said *said = caller;
    ck_assert_ptr_nonnull(notice->message);
    ck_assert_uint_gt(strlen(notice->message), 5);
    cw_text_add(&said->notices, "%s %s:%ld\n", kinds[notice->kind], tail_of(notice->file),
                notice->line);
}

static void take_progress(void *caller, const char *doing, size_t i, size_t n, const char *file) {
    struct said *said = caller;
    cw_text_add(&said->progress, "%s %zu/%zu %s\n", doing, i, n, tail_of(file));
}

static void begin(struct cw_analysis *analysis, struct said *said) {
    struct cw_analysis_options options = {
        .notice = take_notice, .progress = take_progress, .caller = said};
    *said = (struct said){0};
    cw_analysis_begin(analysis, &options);
}

static void end(struct cw_analysis *analysis, struct said *said) {
    cw_analysis_free(analysis);
    cw_text_free(&said->notices);
    cw_text_free(&said->progress);
}

static void expect(const struct cw_text *said, const char *lines) {
    ck_assert_str_eq(said->bytes ? said->bytes : "", lines);
}

START_TEST(progress_is_told_before_each_item) {
    const char *const outings[] = {OUTING, OUTING};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_outings(&analysis, outings, 2, &error), 0);
    expect(&said.progress, "reading 1/2 outing.ini\nreading 2/2 outing.ini\n");
    cw_text_free(&said.progress);
    ck_assert_int_ge(cw_analysis_find(&analysis, &error), 0);
    ck_assert_int_ge(cw_analysis_fit(&analysis, &error), 0);
    expect(&said.progress, "finding runs in 1/2 outing.ini\nfinding runs in 2/2 outing.ini\n"
                           "fitting 1/2 outing.ini\nfitting 2/2 outing.ini\n");
    expect(&said.notices, "");
    /* The same ride twice counts as one. */
    ck_assert_int_eq(cw_analysis_compare(&analysis, NULL, &error), CW_E_FORMAT);
    ck_assert(!analysis.compared);
    ck_assert_ptr_null(cw_analysis_compared(&analysis));
    end(&analysis, &said);
}
END_TEST

/* One is not there, the other is no outing file. */
START_TEST(outings_that_cannot_be_used_are_left_out) {
    const char *const outings[] = {NOWHERE, OUTING, RIDE};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_outings(&analysis, outings, 3, &error), 0);
    ck_assert_uint_eq(analysis.n, 1);
    ck_assert_str_eq(analysis.outings[0].outing.file, OUTING);
    ck_assert_int_eq(analysis.left_out, CW_E_READ);
    ck_assert_ptr_nonnull(strstr(said.notices.bytes, "left out "));
    ck_assert_int_ge(cw_analysis_find(&analysis, &error), 0);
    ck_assert_int_ge(cw_analysis_fit(&analysis, &error), 0);
    ck_assert(analysis.outings[0].fitted);
    end(&analysis, &said);

    begin(&analysis, &said);
    const char *const none[] = {NOWHERE, RIDE};
    ck_assert_int_eq(cw_analysis_open_outings(&analysis, none, 2, &error), CW_E_READ);
    ck_assert_str_eq(error.message, "none of the 2 outings can be used");
    end(&analysis, &said);
}
END_TEST

/* It is known by its runs only, and leaves its place to the one behind it. */
START_TEST(outings_that_cannot_be_fitted_are_left_out) {
    const char *const outings[] = {OUTING, OUTING};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_outings(&analysis, outings, 2, &error), 0);
    ck_assert_int_ge(cw_analysis_find(&analysis, &error), 0);
    for (size_t i = 0; i < analysis.outings[0].runs.n; i++)
        analysis.outings[0].runs.at[i].kept = false;
    ck_assert_int_ge(cw_analysis_fit(&analysis, &error), 0);
    ck_assert_uint_eq(analysis.n, 1);
    ck_assert_ptr_eq(analysis.outings[0].fit.of.outing, &analysis.outings[0].outing);
    ck_assert_int_eq(analysis.left_out, CW_E_DATA);
    end(&analysis, &said);
}
END_TEST

START_TEST(what_cannot_be_timed_is_noticed) {
    const char *const outings[] = {OUTING};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_outings(&analysis, outings, 1, &error), 0);
    ck_assert_int_ge(cw_analysis_find(&analysis, &error), 0);
    for (size_t i = 0; i < analysis.outings[0].runs.n; i++)
        analysis.outings[0].runs.at[i].kept = false;
    ck_assert_int_eq(cw_analysis_time(&analysis, &error), CW_OK);
    ck_assert_uint_eq(analysis.outings[0].timed.n, 0);
    ck_assert_ptr_nonnull(strstr(analysis.outings[0].untimed, "nothing to time"));
    expect(&said.notices, "untimed outing.ini:0\n");
    end(&analysis, &said);
}
END_TEST

START_TEST(recordings_that_cannot_be_used_are_left_out) {
    /* The last two are of the same minute, which is noticed once all are read. */
    const char *const paths[] = {NOWHERE, RIDE, FLAT, DOUBLED};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_files(&analysis, paths, 4, &error), 0);
    ck_assert_uint_eq(analysis.n, 1);
    ck_assert(!analysis.outings[0].has_file);
    ck_assert_uint_eq(analysis.outings[0].n_recordings, 3);
    ck_assert_int_eq(analysis.left_out, CW_E_READ);
    expect(&said.progress, "reading 1/4 nowhere.gpx\nreading 2/4 ride.tcx.gz\n"
                           "reading 3/4 ele-none.gpx\nreading 4/4 time-duplicate.gpx\n");
    expect(&said.notices, "left out nowhere.gpx:0\nwarning ele-none.gpx:0\n"
                          "warning time-duplicate.gpx:7\nwarning time-duplicate.gpx:0\n"
                          "warning time-duplicate.gpx:0\n");
    cw_text_free(&said.progress);
    cw_text_free(&said.notices);
    /* One without heights has no motion and is left out then; the gravest fault stays. */
    ck_assert_int_ge(cw_analysis_find(&analysis, &error), 0);
    expect(&said.progress, "finding runs in 1/3 ride.tcx.gz\nfinding runs in 2/3 ele-none.gpx\n"
                           "finding runs in 3/3 time-duplicate.gpx\n");
    expect(&said.notices, "left out ele-none.gpx:0\n");
    ck_assert_int_eq(analysis.left_out, CW_E_READ);
    ck_assert_uint_eq(analysis.outings[0].runs.n > 0, 1);
    for (size_t i = 0; i < analysis.outings[0].runs.n; i++)
        ck_assert_uint_ne(analysis.outings[0].runs.at[i].recording, 1);
    end(&analysis, &said);
}
END_TEST

/* What cannot be read weighs more than what cannot answer. */
START_TEST(without_any_that_can_be_used_it_is_an_error) {
    const char *const none[] = {EMPTY, NOWHERE}, *const alone[] = {NOWHERE};
    const char *const flat[] = {FLAT, EMPTY}, *const mixed[] = {RIDE, OUTING};
    struct cw_analysis analysis;
    struct said said;
    begin(&analysis, &said);
    ck_assert_int_lt(cw_analysis_open_files(&analysis, none, 2, &error), 0);
    ck_assert_int_eq(error.code, analysis.left_out);
    ck_assert_str_eq(error.message, "none of the 2 recordings can be used");
    expect(&said.notices, "left out empty.gpx:0\nleft out nowhere.gpx:0\n");
    end(&analysis, &said);
    /* Alone, its fault is the error; a notice would say it twice. */
    begin(&analysis, &said);
    ck_assert_int_eq(cw_analysis_open_files(&analysis, alone, 1, &error), CW_E_READ);
    ck_assert_ptr_nonnull(strstr(error.file, "nowhere.gpx"));
    expect(&said.notices, "");
    expect(&said.progress, "");
    end(&analysis, &said);
    /* One that can be read has no heights: that shows when runs are looked for. */
    begin(&analysis, &said);
    ck_assert_int_ge(cw_analysis_open_files(&analysis, flat, 2, &error), 0);
    ck_assert_int_eq(cw_analysis_find(&analysis, &error), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "no elevation"));
    end(&analysis, &said);
    begin(&analysis, &said);
    ck_assert_int_eq(cw_analysis_open_files(&analysis, mixed, 2, &error), CW_E_ARGUMENT);
    ck_assert_ptr_nonnull(strstr(error.message, "stands alone"));
    end(&analysis, &said);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("analysis/analysis");
    TCase *tests = tcase_create("analysis");
    tcase_set_timeout(tests, 300);
    tcase_add_test(tests, the_first_road_may_be_skipped_whole);
    tcase_add_test(tests, dropping_a_run_numbers_the_roads_anew);
    tcase_add_test(tests, progress_is_told_before_each_item);
    tcase_add_test(tests, outings_that_cannot_be_used_are_left_out);
    tcase_add_test(tests, outings_that_cannot_be_fitted_are_left_out);
    tcase_add_test(tests, what_cannot_be_timed_is_noticed);
    tcase_add_test(tests, recordings_that_cannot_be_used_are_left_out);
    tcase_add_test(tests, without_any_that_can_be_used_it_is_an_error);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 300);
    tcase_add_test(numbers, nothing_hangs_on_the_order_of_outings);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
