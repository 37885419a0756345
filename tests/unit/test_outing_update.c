#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "outing/update.h"

static struct cw_text text;
static struct cw_error error;

static void end(void) {
    cw_text_free(&text);
}

static enum cw_status update(const char *file, const struct cw_outing_addition *additions,
                             size_t n) {
    cw_text_free(&text);
    return cw_outing_update(file, strlen(file), "test.ini", additions, n, &text, &error);
}

static void ck_becomes(const char *file, const struct cw_outing_addition *additions, size_t n,
                       const char *wanted) {
    ck_assert_msg(update(file, additions, n) == CW_OK, "%ld: %s", error.line, error.message);
    ck_assert_str_eq(text.bytes, wanted);
}

static const struct cw_outing_addition mass = {.section = "rider",
                                               .name = "",
                                               .key = "mass_kg",
                                               .lines = "mass_kg = 70\n",
                                               .instead = "; mass_kg ="};

START_TEST(a_key_goes_where_it_belongs) {
    /* behind the section's keys, in the place of a line to fill in, or into a section of its own */
    ck_becomes("[rider]\nmass_uncertainty_kg = 1\n\n[bike]\n", &mass, 1,
               "[rider]\nmass_uncertainty_kg = 1\nmass_kg = 70\n\n[bike]\n");
    ck_becomes("[rider]\n; first\n; mass_kg = \n; last\n[bike]\n; mass_kg =\n", &mass, 1,
               "[rider]\n; first\nmass_kg = 70\n; last\n[bike]\n; mass_kg =\n");
    ck_becomes("[bike]\nmass_kg = 9\n", &mass, 1, "[bike]\nmass_kg = 9\n\n[rider]\nmass_kg = 70\n");
    ck_becomes("", &mass, 1, "\n[rider]\nmass_kg = 70\n");
}
END_TEST

START_TEST(what_is_given_stays) {
    ck_assert_int_eq(update("\n[rider]\nmass_kg = 71 ; weighed\n", &mass, 1), CW_E_FORMAT);
    ck_assert_int_eq(error.line, 3);
    ck_assert_ptr_nonnull(strstr(error.message, "mass_kg stands here already"));
    ck_assert_int_eq(update("[rider\n", &mass, 1), CW_E_FORMAT);
    ck_becomes("[rider]", NULL, 0, "[rider]\n");
    ck_becomes("[rider]\r\n \t\r\n;x\r\n", NULL, 0, "[rider]\r\n \t\r\n;x\r\n");
}
END_TEST

START_TEST(line_ends_are_kept_to) {
    ck_becomes("\xef\xbb\xbf[rider]\r\n[bike]", &mass, 1,
               "\xef\xbb\xbf[rider]\r\nmass_kg = 70\r\n[bike]\r\n");
    ck_becomes("[rider]\r[bike]\r", &mass, 1, "[rider]\rmass_kg = 70\r[bike]\r");
}
END_TEST

/* The last entry of a list may lie below comments and blank lines. */
START_TEST(lists_go_on) {
    static const struct cw_outing_addition more[] = {
        {.section = "runs", .name = "", .key = "order", .goes_on = true, .lines = "    c\n"},
        {.section = "runs", .name = "", .lines = "; run  9\n", .after = "; run "},
        {.section = "setup", .name = "c", .key = "load_kg", .lines = "load_kg = 1\n"},
        {.section = "setup", .name = "c", .lines = ""},
        {.section = "setup", .name = "d", .lines = ""}};
    ck_becomes("[runs]\norder = a\n\n  ; then\n  b ; mine\n; run  1\n; so it was\n[setup a]\n",
               more, 5,
               "[runs]\norder = a\n\n  ; then\n  b ; mine\n    c\n; run  1\n; run  9\n; so it was\n"
               "[setup a]\n\n[setup c]\nload_kg = 1\n\n[setup d]\n");
}
END_TEST

START_TEST(paths_are_as_the_file_finds_them) {
    static const struct {
        const char *outing, *path, *stands;
    } rows[] = {{"x.ini", "a.gpx", "a.gpx"},
                {"tests/x.ini", "tests/a.gpx", "a.gpx"},
                {"x.ini", "/rides/a.gpx", "/rides/a.gpx"},
                {"x.ini", "#a.gpx", "./#a.gpx"},
                {"x.ini", "[a].gpx", "./[a].gpx"},
                {"./x.ini", "a.gpx", "a.gpx"},
                {"/tmp/x.ini", "/tmp/ a.gpx", "./ a.gpx"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cw_text_free(&text);
        cw_outing_path_add(&text, rows[i].outing, rows[i].path, true);
        ck_assert_str_eq(text.bytes, rows[i].stands);
    }
}
END_TEST

START_TEST(an_unfinished_file_is_read) {
    struct cw_outing outing;
    const char *file = "[outing]\nrecordings = /dev/null\n[rider]\nmass_kg = 70\n";
    /* a device is no recording */
    ck_assert_int_lt(cw_outing_read_unfinished(file, strlen(file), "x.ini", &outing, &error), 0);
    cw_outing_free(&outing);
    file = "[outing]\nrecordings = /proc/self/status\n[rider]\nmass_kg = 70\n";
    ck_assert_msg(cw_outing_read_unfinished(file, strlen(file), "x.ini", &outing, &error) == CW_OK,
                  "%s", error.message);
    ck_assert_double_eq(outing.rider.mass_kg, 70);
    ck_assert(isnan(outing.rider.bike_mass_kg));
    cw_outing_free(&outing);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("outing_update");
    TCase *cases = tcase_create("outing_update");
    tcase_add_checked_fixture(cases, NULL, end);
    tcase_add_test(cases, a_key_goes_where_it_belongs);
    tcase_add_test(cases, what_is_given_stays);
    tcase_add_test(cases, line_ends_are_kept_to);
    tcase_add_test(cases, lists_go_on);
    tcase_add_test(cases, paths_are_as_the_file_finds_them);
    tcase_add_test(cases, an_unfinished_file_is_read);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
