#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "compared.h"
#include "page/page.h"
#include "picture/picture.h"
#include "report/markup.h"

static const char *const arguments[] = {"coastwise", "report", "it's mine.ini", "-o", "page.html"};
static const struct cw_analysis_input inputs[] = {{"it's mine.ini", "0123abcd"}, {"-", ""}};
static const struct cw_page_origin origin = {"1.2.3", 5, arguments, 2, inputs};

static struct compared compared;

static void make(void) {
    struct cw_simulate_options options = compared_options(11);
    compared_order(&options, "ABBA");
    compared_make(&compared, &options);
    ck_assert_int_ge(cw_analysis_time(&compared.analysis, NULL), 0);
    ck_assert_int_ge(cw_analysis_explain(&compared.analysis, NULL), 0);
}

static void end(void) {
    compared_free(&compared);
}

/* The page of a report; to be freed. */
static char *page_of(const struct cw_analysis *analysis) {
    struct cw_text text = {0};
    struct cw_error error;
    ck_assert_msg(cw_page_add(analysis, CW_UNITS_METRIC, &origin, &text, &error) >= 0, "%s",
                  error.message);
    ck_assert_uint_eq(strlen(text.bytes), text.length);
    return text.bytes;
}

static size_t count(const char *page, const char *what) {
    size_t n = 0;
    for (const char *at = page; (at = strstr(at, what)); at += strlen(what)) n++;
    return n;
}

/* Whether the parts stand on the page in this order. */
static void expect_in_order(const char *page, const char *const *parts, size_t n) {
    for (size_t i = 0; i < n; i++) {
        const char *found = strstr(page, parts[i]);
        ck_assert_msg(found, "missing, or too early: %s", parts[i]);
        page = found + 1;
    }
}

START_TEST(the_answer_comes_first_and_the_origin_last) {
    static const char *const parts[] = {
        "<!DOCTYPE html>",
        "Content-Security-Policy",
        "<title>",
        "<h1>",
        "id=\"answer\"",
        "<li class=\"lower\"><bdi>jacket</bdi>: ",
        "\u00a0% less drag than <bdi>cape</bdi> (",
        "<a href=\"#next\">What next</a>",
        "<h2 id=\"pictures\">Pictures</h2>",
        "id=\"see-setups-1\"",
        "id=\"see-explained-1\"",
        "id=\"see-road-1\"",
        "id=\"see-speed-1\"",
        "id=\"see-gained-1\"",
        "id=\"see-ground-1\"",
        "id=\"see-timed-1\"",
        "id=\"see-budget-1\"",
        "<caption id=\"table-budget-1-caption\">",
        "<th scope=\"col\" class=\"number\">Crr</th>",
        "<th scope=\"row\" dir=\"auto\">all of them</th>",
        "id=\"untold\"",
        "<caption id=\"table-noise-1-caption\">",
        "<caption id=\"table-comparisons-1-caption\">",
        "id=\"ridden\"",
        "<dt>Rolling, Crr</dt>",
        "<dt>Air</dt>",
        "<tr data-run=\"1.1\"><th scope=\"row\"",
        "<tr data-run=\"1.4\">",
        "<caption id=\"table-explained-1-1-caption\">",
        "<th scope=\"row\" dir=\"auto\">unexplained</th>",
        "id=\"method\"",
        "id=\"next\"",
        "coastwise predict --road 750:-10 --from ",
        "id=\"care\"",
        "By coastwise 1.2.3.",
        "report &#39;it&#39;\\&#39;&#39;s mine.ini&#39; -o page.html",
        "it&#39;s mine.ini</bdi></dt>",
        "SHA-256 0123abcd",
        "standard input</bdi></dt>",
        "no file to take a checksum of",
        "</html>"};
    char *page = page_of(&compared.analysis);
    expect_in_order(page, parts, sizeof parts / sizeof *parts);
    free(page);
}
END_TEST

START_TEST(the_same_inputs_give_the_same_bytes) {
    char *one = page_of(&compared.analysis), *other = page_of(&compared.analysis);
    ck_assert_str_eq(one, other);
    free(one);
    free(other);
}
END_TEST

START_TEST(nothing_is_loaded_from_anywhere) {
    char *page = page_of(&compared.analysis);
    static const char *const never[] = {"src=", "<link", "@import", "url(", "<img", "<iframe"};
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        ck_assert_msg(!strstr(page, never[i]), "%s", never[i]);
    /* The one address there may be is SVG's name, which is no place to load from. */
    ck_assert_uint_eq(count(page, "http"), count(page, "http://www.w3.org/2000/svg") + 1);
    ck_assert_uint_eq(count(page, "http-equiv"), 1);
    free(page);
}
END_TEST

START_TEST(names_stay_text) {
    struct cw_outing outing = compared.analysis.outings[0].outing;
    struct cw_setup setups[2] = {outing.setups[0], outing.setups[1]};
    struct cw_setup_result results[2] = {compared.analysis.compare.setups[0],
                                         compared.analysis.compare.setups[1]};
    struct cw_compare compare = compared.analysis.compare;
    struct cw_recording recording = compared.analysis.outings[0].recordings[0];
    struct cw_analysed of = compared.analysis.outings[0];
    char evil[] = "\"'><script>evil()</script></style>]]>\x01\x1b\xff\xe2\x80\xae<!--";
    char warning[] = "<b>evil</b>";
    outing.name = setups[0].name = setups[1].description = setups[0].tyres = recording.file = evil;
    results[0].name = results[1].name = evil;
    outing.setups = setups;
    compare.setups = results;
    cw_warning_add(&recording.warnings, 1, 1, "%s", warning);
    of.outing = outing;
    of.recordings = &recording;
    struct cw_analysis analysis = {.n = 1, .outings = &of, .compared = true, .compare = compare};
    char *page = page_of(&analysis);
    ck_assert_uint_eq(count(page, "<script"), 1);
    ck_assert_uint_eq(count(page, "</script>"), 1);
    ck_assert_uint_eq(count(page, "<style>"), count(page, "</style>"));
    ck_assert_uint_eq(count(page, "]]>"), 0);
    ck_assert_uint_eq(count(page, "<!--"), 0);
    ck_assert_uint_eq(count(page, "<b>"), 0);
    for (const char *c = page; *c; c++)
        ck_assert_msg((unsigned char)*c >= 0x20 || *c == '\n', "control character %d", *c);
    ck_assert(!strchr(page, '\xff'));
    ck_assert(strstr(page, "&quot;&#39;&gt;&lt;script&gt;evil()&lt;/script&gt;&lt;/style&gt;"));
    free(page);
}
END_TEST

START_TEST(without_setups_it_says_what_is_missing) {
    struct cw_analysed of = compared.analysis.outings[0];
    struct cw_analysis analysis = {.n = 1, .outings = &of};
    for (size_t i = 0; i < of.runs.n; i++) of.runs.at[i].setup = CW_NO_SETUP;
    char *page = page_of(&analysis);
    ck_assert(strstr(page, "No run has a setup, so nothing is compared"));
    ck_assert(!strstr(page, "less drag"));
    free(page);
}
END_TEST

/* Each heading below the answer is in the contents, in its own words. */
START_TEST(the_contents_say_what_the_headings_say) {
    char *page = page_of(&compared.analysis), id[32], heading[64], text[128];
    size_t n = 0;
    for (const char *at = strstr(page, "</nav>"); (at = strstr(at, "<h2 id=\"")); n++) {
        ck_assert_int_eq(sscanf(at, "<h2 id=\"%31[a-z]\">%63[^<]", id, heading), 2);
        snprintf(text, sizeof text, "<li><a href=\"#%s\">%s</a></li>", id, heading);
        ck_assert_msg(count(page, text) == 1, "%s", text);
        at += strlen("<h2 id=");
    }
    ck_assert_uint_eq(count(page, "<li><a href=\"#"), n);
    free(page);
}
END_TEST

/* The outing's name stands in the margin on paper, where it can end no string and no style. */
START_TEST(the_margin_has_the_name_as_text) {
    struct cw_analysed of = compared.analysis.outings[0];
    char name[] = "a\"} *{color:red}</style>\xe2\x80\xaegnp";
    of.outing.name = name;
    struct cw_analysis analysis = {.n = 1, .outings = &of};
    char *page = page_of(&analysis);
    ck_assert(strstr(page, "@page{@top-left{content:\"a\\22 \\7d  \\2a \\7b color\\3a red"
                           "\\7d \\3c \\2f style\\3e \\3f gnp\"}}</style>"));
    free(page);
}
END_TEST

START_TEST(several_outings_stand_side_by_side) {
    struct cw_analysed of[2] = {compared.analysis.outings[0], compared.analysis.outings[0]};
    struct cw_analysis analysis = {
        .n = 2, .outings = of, .compared = true, .compare = compared.analysis.compare};
    char *page = page_of(&analysis);
    ck_assert_uint_eq(count(page, "<tr data-run=\"1."), 4);
    ck_assert_uint_eq(count(page, "<tr data-run=\"2."), 4);
    ck_assert(strstr(page, "id=\"table-runs-2\""));
    /* What of each is not on paper is marked, and said there. */
    static const char *const paper[] = {"<body class=\"several\">", "on-paper\">On paper each",
                                        "<figure class=\"of-speed\">", "<section class=\"noise\""};
    for (size_t i = 0; i < sizeof paper / sizeof *paper; i++)
        ck_assert_msg(strstr(page, paper[i]), "%s", paper[i]);
    free(page);
    page = page_of(&compared.analysis);
    ck_assert(!strstr(page, paper[0]) && !strstr(page, paper[1]));
    free(page);
}
END_TEST

/* What stands between two texts after `at`, up to 63 bytes. */
static const char *between(const char *at, const char *before, const char *after, char found[64]) {
    const char *from = at ? strstr(at, before) : NULL, *to = NULL;
    if (from) to = strstr(from += strlen(before), after);
    ck_assert_msg(to && to - from < 64, "no %s ... %s", before, after);
    memcpy(found, from, (size_t)(to - from));
    found[to - from] = '\0';
    return to;
}

/* A row's figures, as the budget's picture and its table have them; the table's columns are cause,
 * what it is off by, CdA, Crr and the difference. */
static void expect_one_figure(const char *page, const char *row) {
    const char *const parts[] = {"CdA", "the difference"};
    char text[160], bar[64], cell[64];
    const char *at = strstr(page, "<table id=\"table-budget-1\">");
    snprintf(text, sizeof text, "<th scope=\"row\" dir=\"auto\">%s", row); /* and its unit */
    ck_assert_msg(at && (at = strstr(at, text)), "%s is not in the table", row);
    for (size_t column = 1, part = 0; column <= 4; column++) {
        at = between(at, "<td", "</td>", cell);
        if (column != 2 && column != 4) continue;
        snprintf(text, sizeof text, "data-value=\"%s: ", row);
        const char *value = page;
        do {
            value = between(value, text, "\"", bar);
        } while (!strstr(bar, parts[part]));
        bar[strcspn(bar, "%") - 1] = '\0';
        ck_assert_str_eq(strchr(cell, '>') + 1, bar);
        part++;
    }
}

/* What a cause does stands in the comparison once; picture and table show that. Two outings, of
 * which the later alone has a load. */
START_TEST(the_budget_is_one_in_picture_and_table) {
    struct compared two = {0};
    struct cw_simulate_options options = compared_options(12);
    compared_add(&two, &options, SIZE_MAX, 0);
    options.seed = 13;
    options.start_s += 86400;
    options.setups[1].load_kg = 3;
    compared_add(&two, &options, SIZE_MAX, 0);
    compared_compare(&two, NULL);
    ck_assert_int_ge(cw_analysis_time(&two.analysis, NULL), 0);
    char *page = page_of(&two.analysis);
    const struct cw_compare *compare = &two.analysis.compare;
    bool load = false;
    for (size_t i = 0; i < compare->n_causes; i++) {
        expect_one_figure(page, compare->causes[i].name);
        load |= compare->causes[i].kind == CW_CAUSE_LOAD;
    }
    ck_assert(load);
    expect_one_figure(page, "all of them");
    expect_one_figure(page, "noise: gusts, recorder, scatter");
    /* One picture, of both outings. */
    ck_assert_uint_eq(count(page, "id=\"picture-budget-"), 1);
    ck_assert_uint_eq(count(page, "id=\"picture-setups-"), 2);
    free(page);
    compared_free(&two);
}
END_TEST

/* Each picture's link leads to its numbers. */
START_TEST(every_picture_has_its_place) {
    /* As if the winds had been noted: else there is no picture of them. */
    for (size_t i = 0; i < compared.analysis.compare.n_runs; i++)
        compared.analysis.compare.runs[i].wind_noted_ms = 0.2;
    /* And as if the setups were on different tyres. */
    struct cw_rolling_difference *rolling = &compared.analysis.compare.comparisons[0].rolling;
    rolling->compared = true;
    rolling->crr = (struct cw_estimate){0.0005, 0.0003, -0.0001, 0.0011, 0};
    rolling->correlation = -0.6;
    char *page = page_of(&compared.analysis), text[80];
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    for (size_t i = 0; i < n; i++) {
        /* nobody noted a pressure, and there is one outing */
        bool noted = !(pictures[i].needs & (CW_PICTURE_NEEDS_PRESSURES | CW_PICTURE_NEEDS_HISTORY));
        snprintf(text, sizeof text, "id=\"picture-%s-1\"", pictures[i].name);
        ck_assert_uint_eq(count(page, text), noted ? 1 : 0);
        if (!noted) continue;
        snprintf(text, sizeof text, "id=\"%s\"", pictures[i].numbers);
        ck_assert_msg(count(page, text) == 1, "%s", text);
        snprintf(text, sizeof text, "\">%s</h3>", pictures[i].heading);
        ck_assert_msg(count(page, text) == 1, "%s", text);
    }
    free(page);
}
END_TEST

/* Whether a word of the page, beside a number or over a column, is that unit. */
static bool has_unit(const char *page, const char *unit) {
    char text[64];
    snprintf(text, sizeof text, "<span class=\"unit\">%s</span>", unit);
    bool found = strstr(page, text) != NULL;
    for (const char *at = page; (at = strstr(at, unit)); at += strlen(unit)) {
        const char *before = at[-1] == ' ' ? at - 1 : at - strlen("\u00a0");
        const char *after = at + strlen(unit);
        bool number = (*before == ' ' || !strncmp(before, "\u00a0", strlen("\u00a0"))) &&
                      before[-1] >= '0' && before[-1] <= '9';
        bool whole = strchr(" ,.;:)<\"", *after) || !strncmp(after, "\u00a0", strlen("\u00a0"));
        found |= number && whole;
    }
    return found;
}

/* Tables, sentences and pictures; what it was made from and names stay as they are. */
START_TEST(it_is_in_the_reader_s_units_throughout) {
    static const char *const ours[] = {"km/h", "m", "km", "kg", "\u00b0C", "hPa"},
                             *const theirs[] = {"mph", "ft", "lb", "\u00b0F", "inHg"};
    struct cw_text text = {0};
    char *name = compared.analysis.outings[0].outing.name, with_unit[] = "Hill of 12 km";
    compared.analysis.outings[0].outing.name = with_unit;
    ck_assert_int_ge(cw_page_add(&compared.analysis, CW_UNITS_IMPERIAL, &origin, &text, NULL), 0);
    compared.analysis.outings[0].outing.name = name;
    char *page = page_of(&compared.analysis);
    for (size_t i = 0; i < sizeof theirs / sizeof *theirs; i++) {
        ck_assert_msg(has_unit(text.bytes, theirs[i]), "no %s", theirs[i]);
        ck_assert_msg(!has_unit(page, theirs[i]), "%s", theirs[i]);
    }
    ck_assert_ptr_nonnull(strstr(text.bytes, "<bdi>Hill of 12 km</bdi>"));
    ck_assert_ptr_nonnull(strstr(text.bytes, ">distance along the road, ft</text>"));
    for (char *at; (at = strstr(text.bytes, with_unit));) memset(at, '_', strlen(with_unit));
    for (size_t i = 0; i < sizeof ours / sizeof *ours; i++)
        ck_assert_msg(!has_unit(text.bytes, ours[i]), "%s", ours[i]);
    free(page);
    cw_text_free(&text);
}
END_TEST

/* By the clock of the place, which is named. */
START_TEST(clock_times_are_local) {
    struct cw_outing *outing = &compared.analysis.outings[0].outing;
    char *utc = page_of(&compared.analysis);
    outing->utc_offset_given = true;
    outing->utc_offset_s = -3.5 * 3600;
    char *local = page_of(&compared.analysis);
    outing->utc_offset_given = false;
    outing->utc_offset_s = 0;
    static const char unit[] = "start <span class=\"unit\">";
    char first[2][32];
    for (int k = 0; k < 2; k++) {
        const char *page = k ? local : utc;
        ck_assert(
            !strncmp(strstr(page, unit) + strlen(unit), k ? "UTC-03:30<" : "UTC<", k ? 10 : 4));
        const char *row = strstr(strstr(page, "<tr data-run=\"1.1\">"), "</tr>");
        snprintf(first[k], sizeof first[k], "%.19s", row - strlen("2024-05-19 08:00:00</td>"));
    }
    double utc_s, local_s;
    first[0][10] = first[1][10] = 'T';
    ck_assert(cw_time_read(first[0], 19, &utc_s) && cw_time_read(first[1], 19, &local_s));
    ck_assert_double_eq(local_s - utc_s, -12600);
    free(utc);
    free(local);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("page/page");
    TCase *tests = tcase_create("page");
    tcase_add_unchecked_fixture(tests, make, end);
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, the_answer_comes_first_and_the_origin_last);
    tcase_add_test(tests, the_same_inputs_give_the_same_bytes);
    tcase_add_test(tests, nothing_is_loaded_from_anywhere);
    tcase_add_test(tests, names_stay_text);
    tcase_add_test(tests, without_setups_it_says_what_is_missing);
    tcase_add_test(tests, the_contents_say_what_the_headings_say);
    tcase_add_test(tests, the_margin_has_the_name_as_text);
    tcase_add_test(tests, several_outings_stand_side_by_side);
    tcase_add_test(tests, the_budget_is_one_in_picture_and_table);
    tcase_add_test(tests, every_picture_has_its_place);
    tcase_add_test(tests, it_is_in_the_reader_s_units_throughout);
    tcase_add_test(tests, clock_times_are_local);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
