/* Setups and tyres along time, outing by outing: rows and JSON against the numbers that they tell.
 */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compared.h"
#include "report/history.h"

static struct compared compared;

/* Two outings of cape and jacket on tyres a and b, the later first and in warmer air. */
static void make(void) {
    struct cw_simulate_options options = compared_options(21);
    static const char *const tyres[] = {"a", "b"};
    compared = (struct compared){0};
    compared_order(&options, "ABBA");
    options.start_s = 1717200000; /* 2024-06-01T00:00:00Z (date -u) */
    options.temperature_c = 24;
    for (size_t outing = 0; outing < 2; outing++) {
        struct cw_simulated *truth = compared_simulate(&compared, &options);
        for (size_t s = 0; s < 2; s++) {
            free(truth->outing.setups[s].tyres);
            truth->outing.setups[s].tyres = strdup(tyres[s]);
            ck_assert_ptr_nonnull(truth->outing.setups[s].tyres);
        }
        compared_hand_over(&compared);
        options.start_s -= 20 * 86400; /* 12 May */
        options.temperature_c = 7;
        options.seed++;
    }
    compared_compare(&compared, NULL);
}

static void end(void) {
    compared_free(&compared);
}

static void row_is(const struct cw_table *table, size_t row, size_t column, const char *cell) {
    const char *at = table->cells.bytes; /* each ends in 0 */
    for (size_t before = row * table->n_columns + column; before; before--) at += strlen(at) + 1;
    ck_assert_str_eq(at, cell);
}

START_TEST(rows_are_by_setup_and_then_by_date) {
    struct cw_column columns[] = {CW_HISTORY_COLUMNS("C", "m2", "+-")};
    struct cw_table table = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    cw_history_rows_add(&compared.analysis, &table);
    ck_assert_uint_eq(table.n_cells, 6 * table.n_columns);
    for (size_t s = 0; s < 2; s++) {
        const char *name = compared.analysis.compare.setups[s].name;
        for (size_t k = 0; k < 3; k++) row_is(&table, 3 * s + k, 0, name);
        row_is(&table, 3 * s, 1, "2024-05-12");
        row_is(&table, 3 * s + 1, 1, "2024-06-01");
        row_is(&table, 3 * s + 2, 1, "all");
        row_is(&table, 3 * s, 4, "7.0");
        row_is(&table, 3 * s + 1, 4, "24.0");
        row_is(&table, 3 * s + 1, 5, "2");
        row_is(&table, 3 * s + 2, 5, "4");
        row_is(&table, 3 * s + 2, 2, "");
    }
    cw_table_free(&table);
}
END_TEST

START_TEST(rows_of_tyres) {
    struct cw_column columns[] = {CW_TYRES_HISTORY_COLUMNS("C", "+-")};
    struct cw_table table = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    cw_tyres_history_rows_add(&compared.analysis, &table);
    ck_assert_uint_eq(table.n_cells, 6 * table.n_columns);
    for (size_t t = 0; t < 2; t++) {
        for (size_t k = 0; k < 3; k++) row_is(&table, 3 * t + k, 0, t ? "b" : "a");
        row_is(&table, 3 * t, 1, "2024-05-12");
        row_is(&table, 3 * t + 1, 1, "2024-06-01");
        row_is(&table, 3 * t + 2, 1, "all");
        row_is(&table, 3 * t + 1, 3, "2");
        row_is(&table, 3 * t + 2, 3, "4"); /* and from none again for the next */
    }
    cw_table_free(&table);
}
END_TEST

static double number_of(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    ck_assert_msg(json_is_number(value), "%s", key);
    return json_number_value(value);
}

static const char *text_of(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    ck_assert_msg(value != NULL, "%s", key);
    return value;
}

START_TEST(json_has_the_numbers_as_they_are) {
    const struct cw_history *history = &compared.analysis.compare.history;
    bool failed = false;
    json_t *cda = cw_history_json(&compared.analysis, &failed),
           *crr = cw_tyres_history_json(&compared.analysis, &failed);
    ck_assert(!failed);
    ck_assert_uint_eq(json_array_size(cda), 4);
    ck_assert_uint_eq(json_array_size(crr), 4);
    for (size_t i = 0; i < 4; i++) {
        const json_t *mark = json_array_get(cda, i), *tyres = json_array_get(crr, i);
        const struct cw_estimate *all = &history->tyres[i / 2].crr;
        ck_assert_str_eq(text_of(mark, "setup"), compared.analysis.compare.setups[i / 2].name);
        ck_assert_str_eq(text_of(tyres, "tyres"), i / 2 ? "b" : "a");
        ck_assert_int_eq(strncmp(text_of(mark, "start"), i % 2 ? "2024-06-01T" : "2024-05-12T", 11),
                         0);
        ck_assert_double_eq(number_of(mark, "runs"), 2);
        ck_assert_double_eq_tol(number_of(tyres, "temperature_c"), i % 2 ? 24 : 7, 1e-9);
        ck_assert_double_eq(number_of(json_object_get(mark, "cda_m2"), "value"),
                            history->cda[i].estimate.value);
        ck_assert_double_eq(number_of(json_object_get(tyres, "crr_at_20c"), "high"),
                            history->crr[i].estimate.high);
        ck_assert_double_eq(number_of(json_object_get(tyres, "crr_at_20c_of_all"), "value"),
                            all->value);
        /* the road as it was made: downhill, and not longer than it is */
        double length_m = 0;
        struct cw_simulate_options options = compared_options(21);
        for (size_t s = 0; s < options.n_segments; s++) length_m += options.segments[s].length_m;
        ck_assert_double_gt(number_of(mark, "road_m"), 0.5 * length_m);
        ck_assert_double_le(number_of(mark, "road_m"), 1.05 * length_m);
        ck_assert_double_lt(number_of(mark, "slope"), -0.01);
        ck_assert_double_eq(number_of(mark, "slope"), number_of(tyres, "slope"));
    }
    json_decref(cda);
    json_decref(crr);
}
END_TEST

START_TEST(both_tables_stand_under_their_headings) {
    const struct cw_look look = {.columns = 100, .utf8 = true};
    struct cw_text text = {0};
    cw_history_tables(&compared.analysis, &look, &text);
    const char *first = strstr(text.bytes, "\nAlong time: each outing by itself"),
               *second = strstr(text.bytes, "\nTyres along time, Crr as it would be at 20 \u00b0C");
    ck_assert(first && second && first < second);
    cw_text_free(&text);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report/history");
    TCase *tests = tcase_create("history");
    tcase_add_unchecked_fixture(tests, make, end);
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, rows_are_by_setup_and_then_by_date);
    tcase_add_test(tests, rows_of_tyres);
    tcase_add_test(tests, json_has_the_numbers_as_they_are);
    tcase_add_test(tests, both_tables_stand_under_their_headings);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
