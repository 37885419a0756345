/* Runs that ride like another setup than the one they are labelled with. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "compare/labels.h"
#include "dense.h"

/* Runs ridden as `ridden` says, b with 10 % more drag than a, c with 25 %, each off by so much, and
 * labelled as `labels` say. */
static struct cw_labels_doubt look(const char *ridden, const char *labels, double off,
                                   unsigned long seed) {
    static const double log_cda_of[] = {0, 0.0953, 0.2231};
    size_t setup[32], n = 0, n_setups = 0;
    double log_cda[32];
    for (; ridden[n]; n++) {
        setup[n] = (size_t)(labels[n] - 'a');
        if (setup[n] + 1 > n_setups) n_setups = setup[n] + 1;
        log_cda[n] = log(0.4) + log_cda_of[ridden[n] - 'a'] + off * made_normal(&seed);
    }
    struct cw_labels_doubt doubt;
    cw_labels_look(setup, log_cda, n, n_setups, &doubt);
    return doubt;
}

START_TEST(right_labels_are_not_doubted) {
    size_t doubted = 0;
    for (unsigned long seed = 1; seed <= 400; seed++) {
        doubted += look("abbaabba", "abbaabba", 0.01, seed).n > 0;
        doubted += look("aaaaaaaa", "abbaabba", 0.01, seed).n > 0; /* no difference at all */
        doubted += look("abccbaabc", "abccbaabc", 0.02, seed).n > 0;
    }
    ck_assert_uint_le(doubted, 12); /* one in a hundred */
}
END_TEST

START_TEST(a_wrong_label_is_found) {
    size_t found = 0;
    for (unsigned long seed = 1; seed <= 100; seed++) {
        struct cw_labels_doubt doubt = look("abbaabba", "abbaaaba", 0.01, seed);
        found += doubt.n == 1 && doubt.run[0] == 5 && doubt.like[0] == 1 && doubt.better > 6;
    }
    ck_assert_uint_ge(found, 90);
}
END_TEST

START_TEST(two_that_changed_places_are_found) {
    size_t found = 0;
    for (unsigned long seed = 1; seed <= 100; seed++) {
        struct cw_labels_doubt doubt = look("abbaabba", "abbababa", 0.01, seed);
        found += doubt.n == 2 && doubt.run[0] == 4 && doubt.like[0] == 0 && doubt.run[1] == 5 &&
                 doubt.like[1] == 1;
    }
    ck_assert_uint_ge(found, 95);
}
END_TEST

START_TEST(too_few_to_tell) {
    ck_assert_uint_eq(look("abba", "abab", 0.001, 1).n, 0);
    ck_assert_uint_eq(look("ab", "ba", 0.001, 1).n, 0);
    /* a setup's last two runs are not taken from it */
    ck_assert_uint_eq(look("aaaab", "aaabb", 0.0001, 1).n, 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("compare/labels");
    TCase *tests = tcase_create("labels");
    tcase_add_test(tests, right_labels_are_not_doubted);
    tcase_add_test(tests, a_wrong_label_is_found);
    tcase_add_test(tests, two_that_changed_places_are_found);
    tcase_add_test(tests, too_few_to_tell);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
