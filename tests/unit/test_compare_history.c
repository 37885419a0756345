#include <math.h>
#include <stdlib.h>

#include "compare/history.h"
#include "compared.h"

static struct compared compared;

/* Two outings of the same setups on tyres a and b, a day apart and given the later first. */
static void make(void) {
    struct cw_simulate_options options = compared_options(21);
    compared = (struct compared){0};
    compared_order(&options, "ABBA");
    options.start_s += 86400;
    for (size_t outing = 0; outing < 2; outing++) {
        struct cw_simulated *truth;
        options.seed += outing;
        truth = compared_simulate(&compared, &options);
        for (size_t s = 0; s < 2; s++) {
            free(truth->outing.setups[s].tyres);
            truth->outing.setups[s].tyres = malloc(2);
            ck_assert_ptr_nonnull(truth->outing.setups[s].tyres);
            truth->outing.setups[s].tyres[0] = s ? 'b' : 'a';
            truth->outing.setups[s].tyres[1] = '\0';
        }
        compared_hand_over(&compared);
        options.start_s -= 86400;
    }
    compared_compare(&compared, NULL);
}

static void end(void) {
    compared_free(&compared);
}

START_TEST(each_setup_has_a_mark_an_outing_in_time_order) {
    const struct cw_compare *compare = &compared.analysis.compare;
    const struct cw_history *history = &compare->history;
    ck_assert_uint_eq(history->n_cda, 4);
    for (size_t i = 0; i < 4; i++) {
        const struct cw_history_mark *mark = &history->cda[i];
        const struct cw_estimate *all = &compare->setups[mark->of].cda_m2;
        ck_assert_uint_eq(mark->of, i / 2);
        ck_assert_uint_eq(mark->outing, i % 2 ? 0 : 1); /* ridden the other way round */
        ck_assert_uint_eq(mark->runs, 2);
        /* what one outing has is less sure than what both have, and agrees with it */
        ck_assert_double_gt(mark->estimate.high - mark->estimate.low, all->high - all->low);
        ck_assert_double_lt(mark->estimate.low, all->value);
        ck_assert_double_gt(mark->estimate.high, all->value);
    }
    ck_assert_double_lt(history->cda[0].time_s, history->cda[1].time_s);
}
END_TEST

/* An outing's mark is what it says when it is compared alone. */
START_TEST(a_mark_is_the_outing_by_itself) {
    const struct cw_fit *fit = &compared.analysis.outings[1].fit;
    struct cw_compare alone;
    struct cw_error error;
    ck_assert_int_ge(cw_compare_setups(&fit, 1, NULL, &alone, &error), 0);
    ck_assert_double_eq(alone.setups[0].cda_m2.value,
                        compared.analysis.compare.history.cda[0].estimate.value);
    ck_assert_uint_eq(alone.history.n_cda, 0); /* one outing has no history */
    ck_assert_uint_eq(alone.history.n_crr, 0);
    cw_compare_free(&alone);
}
END_TEST

/* What is put together lies among the outings and is no less sure than either, but not as much
 * surer as if mass and air of both days were off in different ways. */
START_TEST(tyres_are_put_together) {
    const struct cw_history *history = &compared.analysis.compare.history;
    ck_assert_uint_eq(history->n_tyres, 2);
    ck_assert_uint_eq(history->n_crr, 4);
    for (size_t t = 0; t < 2; t++) {
        const struct cw_estimate *one = &history->crr[2 * t].estimate,
                                 *other = &history->crr[2 * t + 1].estimate,
                                 *both = &history->tyres[t].crr;
        ck_assert_uint_eq(history->tyres[t].outings, 2);
        ck_assert_double_ge(both->value, fmin(one->value, other->value));
        ck_assert_double_le(both->value, fmax(one->value, other->value));
        ck_assert_double_gt(both->standard_error,
                            1 / sqrt(1 / (one->standard_error * one->standard_error) +
                                     1 / (other->standard_error * other->standard_error)));
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/history");
    TCase *tests = tcase_create("history");
    tcase_add_unchecked_fixture(tests, make, end);
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, each_setup_has_a_mark_an_outing_in_time_order);
    tcase_add_test(tests, a_mark_is_the_outing_by_itself);
    tcase_add_test(tests, tyres_are_put_together);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
