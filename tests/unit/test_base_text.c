#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

START_TEST(numbers_are_short_and_have_a_point) {
    static const struct {
        double value;
        int decimals;
        const char *text;
    } rows[] = {{12.6250, 3, "12.625"}, {12.6, 3, "12.6"},    {1200, 0, "1200"},
                {1200, 2, "1200"},      {-0.0004, 3, "0"},    {-7.5, 1, "-7.5"},
                {NAN, 2, "null"},       {INFINITY, 2, "null"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cw_text text = {0};
        cw_text_add_number(&text, rows[i].value, rows[i].decimals);
        ck_assert_str_eq(text.bytes, rows[i].text);
        cw_text_free(&text);
    }
}
END_TEST

/* The room for a text grows with what is added, whatever its length. */
START_TEST(all_lengths_fit) {
    static char longest[1000];
    memset(longest, 'x', sizeof longest - 1);
    for (int length = 0; length < 1000; length++) {
        struct cw_text text = {0};
        for (int i = 0; i < 3; i++) cw_text_add(&text, "%.*s;", length, longest);
        ck_assert(!text.failed);
        ck_assert_uint_eq(text.length, (size_t)(3 * (length + 1)));
        ck_assert_uint_eq(strlen(text.bytes), text.length);
        ck_assert_int_eq(text.bytes[2 * length + 1], ';');
        cw_text_free(&text);
    }
}
END_TEST

START_TEST(markup_is_escaped) {
    struct cw_text text = {0};
    cw_text_add_escaped(&text, "a<b & \"c\"\x01'");
    ck_assert_str_eq(text.bytes, "a&lt;b &amp; &quot;c&quot;&#39;");
    cw_text_free(&text);
}
END_TEST

/* POSIX.1-2017, 2.2: what stands between single quotes is itself. */
START_TEST(words_are_quoted_for_a_shell) {
    static const struct {
        const char *string, *word;
    } rows[] = {{"rides/a-1.gpx.gz", "rides/a-1.gpx.gz"},
                {"M\xc3\xbchle.gpx", "M\xc3\xbchle.gpx"},
                {"my ride.gpx", "'my ride.gpx'"},
                {"", "''"},
                {"it's $HOME;", "'it'\\''s $HOME;'"},
                {"~a", "'~a'"},
                {"*", "'*'"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct cw_text text = {0};
        cw_text_add_word(&text, rows[i].string);
        ck_assert_str_eq(text.bytes, rows[i].word);
        cw_text_free(&text);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_text");
    TCase *cases = tcase_create("base_text");
    tcase_add_test(cases, numbers_are_short_and_have_a_point);
    tcase_add_test(cases, all_lengths_fit);
    tcase_add_test(cases, markup_is_escaped);
    tcase_add_test(cases, words_are_quoted_for_a_shell);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
