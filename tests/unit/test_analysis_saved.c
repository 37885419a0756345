#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/outings.h"
#include "analysis/results.h"
#include "analysis/saved.h"
#include "base/pack.h"
#include "base/version.h"
#include "fit/workings.h"

static struct cw_analysis compared;
static struct cw_text word;
static struct cw_error error;

/* An outing with a companion, notes, a log, a tape and a stopwatch. */
static void make(void) {
    static const char *const path = FIXTURES "/known/outing.ini";
    cw_analysis_begin(&compared, NULL);
    ck_assert_int_ge(cw_analysis_open_outings(&compared, &path, 1, &error), 0);
    ck_assert_int_ge(cw_analysis_find(&compared, &error), 0);
    ck_assert_int_ge(cw_analysis_fit(&compared, &error), 0);
    ck_assert_int_ge(cw_analysis_compare(&compared, NULL, &error), 0);
    ck_assert_int_ge(cw_analysis_time(&compared, &error), 0);
    ck_assert_int_ge(cw_analysis_explain(&compared, &error), 0);
    word = (struct cw_text){0};
    cw_analysed_save(&compared.outings[0], &word);
    ck_assert(!word.failed);
}

static void end(void) {
    cw_text_free(&word);
    cw_analysis_free(&compared);
}

static enum cw_status restore(const char *from, size_t length, struct cw_analysed *of) {
    memset(of, 0, sizeof *of);
    return cw_analysed_restore(from, length, "was.json", 7, of, &error);
}

START_TEST(the_same_outing_gives_the_same_word) {
    struct cw_analysed of;
    struct cw_text again = {0};
    ck_assert_int_eq(restore(word.bytes, word.length, &of), CW_OK);
    cw_analysed_save(&of, &again);
    ck_assert_str_eq(again.bytes, word.bytes);
    cw_text_free(&again);
    cw_analysed_free(&of);
}
END_TEST

/* No sample is in it: neither where it was nor how fast. */
START_TEST(no_place_is_saved) {
    struct cw_analysed of;
    ck_assert_int_eq(restore(word.bytes, word.length, &of), CW_OK);
    ck_assert_uint_eq(of.n_recordings, compared.outings[0].n_recordings);
    for (size_t r = 0; r < of.n_recordings; r++) {
        const struct cw_samples *samples = &of.recordings[r].samples,
                                *were = &compared.outings[0].recordings[r].samples;
        ck_assert_uint_eq(samples->n, 2);
        ck_assert_double_eq(samples->time_s[0], were->time_s[0]);
        ck_assert_double_eq(samples->time_s[1], were->time_s[were->n - 1]);
        ck_assert_ptr_null(samples->latitude_deg);
        ck_assert_ptr_null(samples->longitude_deg);
        ck_assert_ptr_null(samples->elevation_m);
        ck_assert_ptr_null(samples->speed_ms);
    }
    ck_assert(isfinite(compared.outings[0].fit.place.latitude_deg));
    ck_assert(isnan(of.fit.place.latitude_deg));
    ck_assert_ptr_null(of.fit.workings->roads);
    ck_assert_ptr_null(of.motions);
    cw_analysed_free(&of);
}
END_TEST

START_TEST(another_version_or_a_damaged_word_is_refused) {
    struct cw_analysed of;
    struct cw_text other = {0};
    cw_text_add(&other, "9.8.7%s", word.bytes + strlen(cw_version()));
    ck_assert_int_eq(restore(other.bytes, other.length, &of), CW_E_FORMAT);
    ck_assert_str_eq(error.file, "was.json");
    ck_assert_int_eq(error.line, 7);
    ck_assert_ptr_nonnull(strstr(error.message, "as coastwise 9.8.7 has it"));
    cw_analysed_free(&of);
    cw_text_free(&other);
    for (size_t length = 0; length < word.length; length += 97) {
        ck_assert_int_eq(restore(word.bytes, length, &of), CW_E_FORMAT);
        cw_analysed_free(&of);
    }
}
END_TEST

/* Bytes that carry a checksum and are not what was saved: refused or taken, and freed. */
START_TEST(wicked_bytes_are_taken_or_refused) {
    struct cw_pack pack;
    size_t head = strlen(cw_version()) + 1, refused = 0;
    ck_assert(cw_pack_open(&pack, word.bytes + head, word.length - head));
    for (size_t at = 0; at < pack.bytes.length; at += 31) {
        struct cw_analysed of;
        struct cw_text wicked = {0};
        char was = pack.bytes.bytes[at];
        pack.bytes.bytes[at] = (char)(was ^ 0x7f);
        cw_text_add(&wicked, "%s.", cw_version());
        cw_pack_add(&pack, &wicked);
        refused += restore(wicked.bytes, wicked.length, &of) < 0;
        cw_analysed_free(&of);
        cw_text_free(&wicked);
        pack.bytes.bytes[at] = was;
    }
    ck_assert_uint_gt(refused, 10);
    cw_pack_free(&pack);
}
END_TEST

/* The outings that are found in a text: -1 where it is refused. */
static long found(const char *text) {
    struct cw_source *source = NULL;
    struct cw_analysed *outings = NULL;
    size_t n = 0;
    ck_assert_int_ge(cw_source_open_memory(text, strlen(text), "r.json", &source, &error), 0);
    enum cw_status status = cw_result_read(source, &outings, &n, &error);
    cw_source_close(source);
    for (size_t i = 0; i < n; i++) cw_analysed_free(&outings[i]);
    free(outings);
    return status < 0 ? -1 : (long)n;
}

START_TEST(outings_are_found_in_json_however_it_is_laid) {
    struct cw_text text = {0};
    cw_text_add(&text,
                "{\"outings\": [\n {\"saved\"\n:\t\"%s\"}, {\"name\": \"\\\"saved\\\": \\\"x\", ",
                word.bytes);
    cw_text_add(
        &text, "\"saved\":\"%s\"}],\"saved \":\"x\",\"as\":\"saved\",\"n\":[]}\n{\"saved\":\"%s\"}",
        word.bytes, word.bytes);
    ck_assert_int_eq(found(text.bytes), 3);
    text.bytes[--text.length] = '\0'; /* its last bracket */
    ck_assert_int_eq(found(text.bytes), -1);
    ck_assert_int_eq(error.line, 4);
    cw_text_free(&text);
    ck_assert_int_eq(found("{}"), -1);
    ck_assert_int_eq(found("{\"saved\": null}"), -1);
    ck_assert_int_eq(found("{\"saved\": \"\"}"), -1);
    ck_assert_int_eq(error.line, 1);
    ck_assert_int_eq(found("{\n\"saved\": \"0.1"), -1);
    ck_assert_int_eq(error.line, 2);
    ck_assert_int_eq(found("{}]"), -1);
    ck_assert_int_eq(found("{\"\\"), -1);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("analysis/saved");
    TCase *tests = tcase_create("saved");
    tcase_add_unchecked_fixture(tests, make, end);
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, the_same_outing_gives_the_same_word);
    tcase_add_test(tests, no_place_is_saved);
    tcase_add_test(tests, another_version_or_a_damaged_word_is_refused);
    tcase_add_test(tests, wicked_bytes_are_taken_or_refused);
    tcase_add_test(tests, outings_are_found_in_json_however_it_is_laid);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
