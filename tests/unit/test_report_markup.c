#include <check.h>
#include <stdlib.h>

#include "report/markup.h"

static void expect(const char *given, const char *markup) {
    struct cw_text text = {0};
    cw_markup_add(&text, given);
    ck_assert_str_eq(text.bytes ? text.bytes : "", markup);
    cw_text_free(&text);
}

START_TEST(hostile_text_is_only_text) {
    expect("", "");
    expect("\"><script>x</script>", "&quot;&gt;&lt;script&gt;x&lt;/script&gt;");
    expect("]]></style>&amp;'", "]]&gt;&lt;/style&gt;&amp;amp;&#39;");
    expect("a\x01\x1b[1m\tb\x7f\xc2\x85", "a??[1m?b??");
    expect("\xf0\x9f\x9a\xb2 \xc3\xa9", "\xf0\x9f\x9a\xb2 \xc3\xa9"); /* 4 and 2 bytes: kept */
    expect("\xc3(\xff\xed\xa0\x80", "?(????");           /* cut short, no lead byte, a surrogate */
    expect("\xef\xbf\xbe\xef\xbf\xbd", "?\xef\xbf\xbd"); /* U+FFFE, which XML forbids; U+FFFD */
}
END_TEST

/* U+202E turned "gpx.exe" into "exe.xpg", U+2066 and U+2069 set a part aside. */
START_TEST(the_direction_of_writing_is_not_turned) {
    expect("a\xe2\x80\xae"
           "b\xe2\x80\xaa\xe2\x81\xa6\xe2\x81\xa9",
           "a?b???");
    expect("\xd7\xa9 \xe2\x80\x93", "\xd7\xa9 \xe2\x80\x93"); /* Hebrew, a dash: kept */
}
END_TEST

START_TEST(names_keep_their_direction_to_themselves) {
    struct cw_text text = {0};
    cw_markup_add_name(&text, "\xd7\xa9<b>");
    ck_assert_str_eq(text.bytes, "<bdi>\xd7\xa9&lt;b&gt;</bdi>");
    cw_text_free(&text);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_markup");
    TCase *tests = tcase_create("markup");
    tcase_add_test(tests, hostile_text_is_only_text);
    tcase_add_test(tests, the_direction_of_writing_is_not_turned);
    tcase_add_test(tests, names_keep_their_direction_to_themselves);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
