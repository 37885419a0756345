#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "recording/tags.h"

/* What comes out of text fed in pieces of that many bytes. */
static struct cw_tags feed(const char *text, size_t piece, char *out) {
    struct cw_tags tags = {0};
    size_t length = strlen(text), written = 0;
    char to[512];
    for (size_t at = 0; at < length; at += piece) {
        size_t size = length - at < piece ? length - at : piece;
        size_t n = cw_tags_feed(&tags, text + at, size, to);
        ck_assert_uint_le(n, size + 1);
        memcpy(out + written, to, n);
        written += n;
    }
    out[written] = '\0';
    return tags;
}

/* As XML has them (XML 1.0, fifth edition: 2.5 comments, 2.6 processing instructions, 2.7 CDATA
 * sections, 2.8 document type declaration), whatever the pieces they come in. */
START_TEST(tags_and_text_are_left) {
    static const char *const cases[][2] = {
        {"<?xml version='1.0'?>\n<a b=\"<>\" c='>'>1</a>", "\n<a b=\"<>\" c='>'>1</a>"},
        {"<a>1<!-- <b>\n ->--->2</a>", "<a>1\n2</a>"},
        {"<a><![CDATA[1<2&]]]>]]</a>", "<a>1_2_]]</a>"},
        {"<!DOCTYPE a PUBLIC \"[>\" '>'>\n<a/>", "\n<a/>"},
        {"<a><?b ?? > ?>c</a>", "<a>c</a>"},
        {"<>", "<>"},
        {"<a><!-- never closed", "<a>"},
        {"<", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        for (size_t piece = 1; piece <= 64; piece++) {
            char out[512];
            struct cw_tags tags = feed(cases[i][0], piece, out);
            ck_assert_str_eq(out, cases[i][1]);
            ck_assert(!tags.fault && !tags.declares);
        }
    }
}
END_TEST

START_TEST(declarations_end_it) {
    for (size_t piece = 1; piece <= 64; piece++) {
        char out[512];
        struct cw_tags tags = feed("<?xml?>\n\n<!DOCTYPE a [<!ENTITY b 'c'>]><a>", piece, out);
        ck_assert(tags.declares);
        ck_assert_int_eq(tags.lines, 2);
        ck_assert_str_eq(out, "\n\n");
        ck_assert_ptr_nonnull(feed("<a><!b><c>", piece, out).fault);
        ck_assert_str_eq(out, "<a>");
    }
}
END_TEST

START_TEST(a_tag_has_an_end) {
    static char text[CW_TAG_MAX + 100], out[sizeof text + 1];
    struct cw_tags tags = {0};
    const char fillers[] = {'a', '"'};
    for (size_t i = 0; i < sizeof fillers; i++) {
        memset(text, fillers[i], sizeof text);
        text[0] = '<';
        tags = (struct cw_tags){0};
        ck_assert_uint_le(cw_tags_feed(&tags, text, sizeof text, out), sizeof out);
        ck_assert_ptr_nonnull(tags.fault);
        tags = (struct cw_tags){0};
        text[CW_TAG_MAX - 1] = '>';
        text[1] = 'a';
        cw_tags_feed(&tags, text, CW_TAG_MAX, out);
        ck_assert_ptr_null(tags.fault);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_tags");
    TCase *tests = tcase_create("tags");
    tcase_add_test(tests, tags_and_text_are_left);
    tcase_add_test(tests, declarations_end_it);
    tcase_add_test(tests, a_tag_has_an_end);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
