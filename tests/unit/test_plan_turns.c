/* In which order setups take turns. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "plan/turns.h"

enum { MOST = 60 };

static void take(size_t n_setups, size_t runs, unsigned long seed, size_t order[MOST],
                 bool *drawn) {
    struct cw_error error;
    ck_assert_int_eq(cw_plan_turns(n_setups, runs, seed, order, drawn, &error), CW_OK);
}

START_TEST(two_take_turns_as_abba) {
    static const size_t expected[] = {0, 1, 1, 0, 0, 1, 1, 0, 0, 1};
    size_t order[MOST], other[MOST];
    bool drawn;
    take(2, 5, 1, order, &drawn);
    ck_assert(!drawn);
    ck_assert_mem_eq(order, expected, sizeof expected);
    take(2, 5, 99, other, &drawn);
    ck_assert_mem_eq(other, expected, sizeof expected);
}
END_TEST

/* Each block holds all once, and the next is it backwards: places of all setups then have one
 * mean, so that a drift is the same for all. */
START_TEST(blocks_hold_all_and_turn_back) {
    enum { SETUPS = 5, RUNS = 6 };
    size_t order[MOST];
    bool drawn;
    take(SETUPS, RUNS, 7, order, &drawn);
    ck_assert(drawn);
    size_t places[SETUPS] = {0};
    for (size_t block = 0; block < RUNS; block++) {
        unsigned seen = 0;
        for (size_t k = 0; k < SETUPS; k++) {
            size_t at = block * SETUPS + k;
            seen |= 1u << order[at];
            places[order[at]] += at;
            if (block % 2) ck_assert_uint_eq(order[at], order[block * SETUPS - 1 - k]);
        }
        ck_assert_uint_eq(seen, (1u << SETUPS) - 1);
    }
    for (size_t s = 1; s < SETUPS; s++) ck_assert_uint_eq(places[s], places[0]);
}
END_TEST

START_TEST(the_seed_makes_the_order) {
    size_t one[MOST], again[MOST], other[MOST];
    bool drawn;
    take(6, 4, 3, one, &drawn);
    take(6, 4, 3, again, &drawn);
    take(6, 4, 4, other, &drawn);
    ck_assert_mem_eq(one, again, 24 * sizeof *one);
    ck_assert(memcmp(one, other, 24 * sizeof *one) != 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("plan/turns");
    TCase *tests = tcase_create("turns");
    tcase_add_test(tests, two_take_turns_as_abba);
    tcase_add_test(tests, blocks_hold_all_and_turn_back);
    tcase_add_test(tests, the_seed_makes_the_order);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
