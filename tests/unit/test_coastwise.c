/* The public face stands on its own: it needs nothing included before it, and a program that has
 * nothing else reads an outing through it. */
#include "coastwise.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

START_TEST(the_public_header_is_enough) {
    static const char text[] =
        "[outing]\nrecordings = " FIXTURES "/recordings/empty.gpx\n[rider]\nmass_kg = 70\n"
        "[bike]\nmass_kg = 9.5\n";
    struct cw_outing outing;
    struct cw_error error;
    ck_assert_int_eq(cw_outing_read_memory(text, strlen(text), "a.ini", &outing, &error), CW_OK);
    ck_assert_double_eq(outing.rider.bike_mass_kg, 9.5);
    cw_outing_free(&outing);
}
END_TEST

/* The library that runs is the one compiled against, and the numbers are the text's. */
START_TEST(the_version_is_one) {
    char text[64];
    snprintf(text, sizeof text, "%d.%d.%d", CW_VERSION_MAJOR, CW_VERSION_MINOR, CW_VERSION_PATCH);
    ck_assert_str_eq(cw_version(), text);
    ck_assert_str_eq(CW_VERSION_STRING, text);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("coastwise");
    TCase *tests = tcase_create("public face");
    tcase_add_test(tests, the_public_header_is_enough);
    tcase_add_test(tests, the_version_is_one);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
