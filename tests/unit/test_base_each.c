#include <check.h>
#include <stdlib.h>

#include "base/each.h"

enum { THINGS = 500 };

struct count {
    size_t told, begun[THINGS], fails_at, ends_at;
    double came_to[THINGS];
};

/* Things late in the row are done sooner. */
static enum cw_status work(void *context, size_t i, struct cw_error *error) {
    struct count *count = context;
    double sum = 0;
    for (size_t k = 0; k < 20 * (THINGS - i); k++) sum += 1.0 / (double)(k + 1);
    count->begun[i]++;
    count->came_to[i] = sum;
    if (i >= count->fails_at)
        return cw_error_set(error, CW_E_DATA, NULL, (long)i, "thing %zu fails", i);
    return CW_OK;
}

static enum cw_status told(void *context, size_t i, enum cw_status came_to,
                           struct cw_error *error) {
    struct count *count = context;
    ck_assert_uint_eq(count->told, i);
    ck_assert_uint_eq(count->begun[i], 1);
    count->told++;
    if (i >= count->fails_at) ck_assert_int_eq(error->line, (long)i);
    ck_assert_int_eq(came_to, i >= count->fails_at ? CW_E_DATA : CW_OK);
    if (i == count->ends_at) return cw_error_set(error, CW_E_WRITE, NULL, 0, "full");
    return CW_OK;
}

static const size_t threads[] = {0, 1, 2, 3, 8, 100};
#define THREADS (int)(sizeof threads / sizeof *threads)

static struct cw_each each_of(struct count *count, int i) {
    *count = (struct count){.fails_at = THINGS, .ends_at = THINGS};
    return (struct cw_each){
        .n = THINGS, .threads = threads[i], .context = count, .work = work, .told = told};
}

START_TEST(all_is_done_once_and_told_in_order) {
    struct count count;
    struct cw_error error;
    struct cw_each each = each_of(&count, _i);
    count.fails_at = 400; /* which the caller takes as it is */
    ck_assert_int_eq(cw_each(&each, &error), CW_OK);
    ck_assert_uint_eq(count.told, THINGS);
    each.n = 0;
    ck_assert_int_eq(cw_each(&each, &error), CW_OK);
}
END_TEST

START_TEST(the_caller_ends_it) {
    struct count count;
    struct cw_error error;
    struct cw_each each = each_of(&count, _i);
    count.ends_at = 100;
    ck_assert_int_eq(cw_each(&each, &error), CW_E_WRITE);
    ck_assert_str_eq(error.message, "full");
    ck_assert_uint_eq(count.told, 101);
    size_t begun = 0;
    for (size_t i = 0; i < THINGS; i++) begun += count.begun[i];
    size_t ahead = threads[_i] > 1 ? CW_EACH_AHEAD * threads[_i] : 0;
    ck_assert_uint_le(begun, 101 + ahead);
}
END_TEST

/* Whichever thread comes to a fault first. */
START_TEST(the_first_fault_ends_it) {
    struct count count;
    struct cw_error error;
    struct cw_each each = each_of(&count, _i);
    each.told = NULL;
    count.fails_at = 57;
    ck_assert_int_eq(cw_each(&each, &error), CW_E_DATA);
    ck_assert_str_eq(error.message, "thing 57 fails");
    ck_assert_int_eq(cw_each(&each, NULL), CW_E_DATA);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base each");
    TCase *tests = tcase_create("each");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, all_is_done_once_and_told_in_order, 0, THREADS);
    tcase_add_loop_test(tests, the_caller_ends_it, 0, THREADS);
    tcase_add_loop_test(tests, the_first_fault_ends_it, 0, THREADS);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
