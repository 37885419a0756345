#include <check.h>
#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "made.h"
#include "picture/picture.h"

static struct made made;
static struct cw_error error;

static struct cw_simulate_options small(void) {
    struct cw_simulate_options options = cw_simulate_options_default();
    snprintf(options.name, sizeof options.name, "Teasel lane");
    return options;
}

static void make(const struct cw_simulate_options *options, const long *turned_down, size_t n) {
    ck_assert_msg(made_begin(&made, options, &error) >= 0, "%s", error.message);
    made.of->outing.skip = malloc((n ? n : 1) * sizeof *turned_down);
    if (n) memcpy(made.of->outing.skip, turned_down, n * sizeof *turned_down);
    made.of->outing.n_skip = n;
    ck_assert_msg(made_find(&made, NULL, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_fit(&made.analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_compare(&made.analysis, NULL, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_time(&made.analysis, &error) >= 0, "%s", error.message);
}

static enum cw_status draw(enum cw_picture picture, struct cw_text *text) {
    return cw_picture_add(picture, &made.analysis, 0, "a1-", text, &error);
}

static char *attribute(xmlNode *node, const char *name) {
    return (char *)xmlGetProp(node, (const xmlChar *)name);
}

static xmlNode *child(xmlNode *node, const char *name) {
    for (xmlNode *c = node->children; c; c = c->next)
        if (c->type == XML_ELEMENT_NODE && !strcmp((const char *)c->name, name)) return c;
    return NULL;
}

/* Every element with that class whose attribute `name` is `value` (any, where NULL). */
static size_t count(xmlNode *node, const char *class_, const char *name, const char *value) {
    size_t n = 0;
    for (xmlNode *c = node->children; c; c = c->next) {
        if (c->type != XML_ELEMENT_NODE) continue;
        char *its_class = attribute(c, "class"), *its_value = attribute(c, name);
        n += its_class && !strcmp(its_class, class_) && its_value &&
             (!value || !strcmp(its_value, value));
        xmlFree(its_class);
        xmlFree(its_value);
        n += count(c, class_, name, value);
    }
    return n;
}

/* No element but those of plain pictures, and no attribute that could run anything. */
static void check_elements(xmlNode *node) {
    static const char *const known[] = {"svg",  "title", "desc", "style", "g",
                                        "path", "rect",  "text", "circle"};
    bool is_known = false;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        is_known |= !strcmp((const char *)node->name, known[i]);
    ck_assert_msg(is_known, "<%s>", (const char *)node->name);
    for (xmlAttr *a = node->properties; a; a = a->next) {
        ck_assert(strncmp((const char *)a->name, "on", 2) != 0);
        ck_assert(strcmp((const char *)a->name, "style") != 0);
        char *value = attribute(node, (const char *)a->name);
        if (strncmp((const char *)a->name, "data-", 5) && strcmp((const char *)a->name, "id"))
            ck_assert_msg(!strstr(value, "nan") && !strstr(value, "inf"), "%s=\"%s\"",
                          (const char *)a->name, value);
        xmlFree(value);
    }
    for (xmlNode *c = node->children; c; c = c->next)
        if (c->type == XML_ELEMENT_NODE) check_elements(c);
}

/* Well formed, named, described and scalable; returns the document. */
static xmlDoc *check(enum cw_picture picture, const struct cw_text *text) {
    xmlDoc *doc = xmlReadMemory(text->bytes, (int)text->length, "picture.svg", NULL,
                                XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
    ck_assert_msg(doc != NULL, "%s is not well formed", cw_picture_name(picture));
    xmlNode *svg = xmlDocGetRootElement(doc);
    ck_assert_str_eq((const char *)svg->name, "svg");
    ck_assert_str_eq((const char *)svg->ns->href, "http://www.w3.org/2000/svg");
    char *box = attribute(svg, "viewBox"), *role = attribute(svg, "role"),
         *labelled = attribute(svg, "aria-labelledby");
    double numbers[4];
    ck_assert_int_eq(
        sscanf(box, "%lf %lf %lf %lf", &numbers[0], &numbers[1], &numbers[2], &numbers[3]), 4);
    ck_assert(numbers[2] == 480 && numbers[3] > 100 && numbers[3] < 5000);
    ck_assert_str_eq(role, "img");
    char *title_id = attribute(child(svg, "title"), "id");
    char *desc_id = attribute(child(svg, "desc"), "id"), both[200];
    snprintf(both, sizeof both, "%s %s", title_id, desc_id);
    ck_assert_str_eq(labelled, both);
    char *title = (char *)xmlNodeGetContent(child(svg, "title"));
    char *desc = (char *)xmlNodeGetContent(child(svg, "desc"));
    const char *named = cw_picture_title(picture);
    ck_assert_int_eq(strncmp(title, named, strlen(named)), 0);
    ck_assert_uint_gt(strlen(desc), 30);
    check_elements(svg);
    xmlFree(box);
    xmlFree(role);
    xmlFree(labelled);
    xmlFree(title_id);
    xmlFree(desc_id);
    xmlFree(title);
    xmlFree(desc);
    return doc;
}

/* Draws all pictures; those in `without` (bits) must say why not. Returns their bytes. */
static size_t draw_all(unsigned without) {
    size_t bytes = 0;
    for (int p = 0; p < CW_PICTURES; p++) {
        struct cw_text text = {0};
        cw_text_add(&text, "before");
        enum cw_status status = draw((enum cw_picture)p, &text);
        if (without & 1U << p) {
            ck_assert_msg(status == CW_E_DATA, "%s", cw_picture_name((enum cw_picture)p));
            ck_assert_uint_gt(strlen(error.message), 10);
            ck_assert_str_eq(text.bytes, "before");
        } else {
            ck_assert_msg(status == CW_OK, "%s: %s", cw_picture_name((enum cw_picture)p),
                          error.message);
            struct cw_text picture = {.bytes = text.bytes + 6, .length = text.length - 6};
            xmlFreeDoc(check((enum cw_picture)p, &picture));
        }
        bytes += text.length;
        cw_text_free(&text);
    }
    return bytes;
}

START_TEST(pictures_hold_their_runs_and_labels) {
    static const long turned_down[] = {3};
    struct cw_simulate_options options = small();
    make(&options, turned_down, 1);
    static const bool by_run[CW_PICTURES] = {
        [CW_PICTURE_SETUPS] = true, [CW_PICTURE_ROAD] = true,   [CW_PICTURE_SPEED] = true,
        [CW_PICTURE_GAINED] = true, [CW_PICTURE_GROUND] = true, [CW_PICTURE_TIMED] = true};
    static const char *const labels[CW_PICTURES] = {"CdA, m\xc2\xb2",
                                                    "height, m",
                                                    "speed, m/s",
                                                    "gained (+) or lost, s",
                                                    ">N</text>",
                                                    "time between the gates, s",
                                                    "effect of one standard uncertainty, % of CdA"};
    size_t all = 0;
    for (int p = 0; p < CW_PICTURES; p++) {
        struct cw_text text = {0}, again = {0};
        ck_assert_int_eq(draw((enum cw_picture)p, &text), CW_OK);
        ck_assert_int_eq(draw((enum cw_picture)p, &again), CW_OK);
        ck_assert_str_eq(text.bytes, again.bytes); /* the same bytes each time */
        xmlDoc *doc = check((enum cw_picture)p, &text);
        xmlNode *svg = xmlDocGetRootElement(doc);
        ck_assert_ptr_nonnull(strstr(text.bytes, labels[p]));
        ck_assert_ptr_nonnull(strstr(text.bytes, "Teasel lane"));
        ck_assert_ptr_nonnull(strstr(text.bytes, made.of->outing.setups[1].name));
        for (size_t i = 0; by_run[p] && i < made.of->runs.n; i++) {
            char id[32];
            snprintf(id, sizeof id, "1.%ld", made.of->runs.at[i].number);
            size_t n = count(svg, "run", "data-run", id);
            bool turned = p == CW_PICTURE_ROAD || p == CW_PICTURE_GROUND;
            ck_assert_msg(made.of->runs.at[i].kept || turned ? n > 0 : n == 0, "run %s in %s", id,
                          cw_picture_name((enum cw_picture)p));
        }
        if (by_run[p])
            ck_assert_uint_gt(count(svg, "run", "data-setup", made.of->outing.setups[0].name), 0);
        ck_assert_uint_gt(count(svg, "plot", "data-x", NULL), 0);
        all += text.length;
        xmlFreeDoc(doc);
        cw_text_free(&text);
        cw_text_free(&again);
    }
    ck_assert_uint_lt(all, 150000);
    struct cw_text road = {0};
    ck_assert_int_eq(draw(CW_PICTURE_ROAD, &road), CW_OK);
    ck_assert_ptr_nonnull(strstr(road.bytes, "run 3, skipped"));
    cw_text_free(&road);
    made_free(&made);
}
END_TEST

/* What the road picture calls the worst run is what the energy balance says of it: the run that
 * was braked in the middle of the road stands out by the height that the brake took. */
START_TEST(a_run_that_departs_is_named) {
    struct cw_simulate_options options = small();
    options.gust_sd_ms = 0.02;
    make(&options, NULL, 0);
    struct cw_run_data *data = &made.of->fit.joint.data[5];
    for (size_t i = 0; i < data->n; i++)
        if (data->s_m[i] > 500) data->speed_ms[i] = sqrt(fmax(1, pow(data->speed_ms[i], 2) - 20));
    struct cw_text text = {0};
    char name[32];
    ck_assert_int_eq(draw(CW_PICTURE_ROAD, &text), CW_OK);
    snprintf(name, sizeof name, "Farthest off is run %ld: ", made.of->runs.at[data->run].number);
    ck_assert_ptr_nonnull(strstr(text.bytes, name));
    cw_text_free(&text);
    made_free(&made);
}
END_TEST

START_TEST(hostile_names_are_only_ever_text) {
    static char hostile[] = "</text></svg><script>alert(1)</script>\"' onload=\"x\" "
                            "]]>&amp;\x01\x1b\xc2\x9b\xe2\x80\xae\xff\xed\xa0\x80\n\t--><!-- %s%n";
    static char longest[600];
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    memset(longest, 'W', sizeof longest - 1);
    char *kept[3] = {made.of->outing.name, made.of->outing.setups[0].name,
                     made.of->outing.setups[1].name};
    made.of->outing.name = hostile;
    made.of->outing.setups[0].name = hostile;
    made.of->outing.setups[1].name = longest;
    ck_assert_uint_eq(made.analysis.compare.n_setups, 2);
    made.analysis.compare.setups[0].name = hostile;
    made.analysis.compare.setups[1].name = longest;
    draw_all(0);
    struct cw_text text = {0};
    ck_assert_int_eq(draw(CW_PICTURE_SETUPS, &text), CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "WWW\xe2\x80\xa6")); /* shortened where it is shown */
    ck_assert_ptr_nonnull(strstr(text.bytes, longest));           /* whole where it is told */
    ck_assert_ptr_null(strstr(text.bytes, "<script"));
    cw_text_free(&text);
    made.of->outing.name = kept[0];
    made.of->outing.setups[0].name = kept[1];
    made.of->outing.setups[1].name = kept[2];
    made_free(&made);
}
END_TEST

START_TEST(one_run_of_one_setup) {
    struct cw_simulate_options options = small();
    options.n_order = options.n_setups = 1;
    make(&options, NULL, 0);
    draw_all(1U << CW_PICTURE_GAINED);
    made.analysis.compared = false;
    draw_all(1U << CW_PICTURE_GAINED);
    made_free(&made);
}
END_TEST

START_TEST(without_positions) {
    struct cw_simulate_options options = small();
    options.positions = false;
    make(&options, NULL, 0);
    draw_all(1U << CW_PICTURE_GROUND);
    made_free(&made);
}
END_TEST

START_TEST(nothing_fitted_is_nothing_to_draw) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    size_t n = made.of->fit.n_runs;
    made.of->fit.n_runs = 0;
    draw_all((1U << CW_PICTURES) - 1);
    made.of->fit.n_runs = n;
    struct cw_text text = {0};
    ck_assert_int_eq(cw_picture_add(CW_PICTURE_ROAD, &made.analysis, 1, "a1-", &text, &error),
                     CW_E_ARGUMENT);
    made_free(&made);
}
END_TEST

START_TEST(missing_numbers_leave_gaps) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_run_data *data = made.of->fit.joint.data;
    for (size_t i = 20; i < 30; i++) data[0].speed_ms[i] = NAN;
    data[1].s_m[12] = NAN;
    made.of->fit.joint.cda_m2[2] = NAN;
    for (size_t i = 0; i < made.of->fit.n_runs; i += 3)
        made.of->fit.runs[i].together_cda_m2 = (struct cw_estimate){NAN, NAN, NAN, NAN};
    made.of->fit.runs[1].together_identifiable = false;
    made.analysis.compare.setups[0].cda_m2 = (struct cw_estimate){NAN, NAN, NAN, NAN};
    made.analysis.compare.comparisons[0].percent = (struct cw_estimate){NAN, NAN, NAN, NAN};
    made.of->fit.budget.causes[0].effect[made.of->fit.n_tyres] = NAN;
    draw_all(0);
    for (size_t i = 0; i < made.of->fit.n_runs; i++)
        made.of->fit.runs[i].together_identifiable = false;
    made.analysis.compare.setups[1].cda_m2 = made.analysis.compare.setups[0].cda_m2;
    draw_all(1U << CW_PICTURE_SETUPS);
    made_free(&made);
}
END_TEST

START_TEST(runs_that_are_all_the_same) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_run_data *data = made.of->fit.joint.data;
    for (size_t k = 0; k < made.of->fit.n_runs; k++) {
        for (size_t i = 0; i < data[k].n; i++) {
            data[k].time_s[i] = (double)i;
            data[k].speed_ms[i] = 8;
            data[k].s_m[i] = 8.0 * (double)i;
        }
        made.of->fit.runs[k].together_cda_m2 = (struct cw_estimate){0.4, 0, 0.4, 0.4};
    }
    draw_all(0);
    made_free(&made);
}
END_TEST

START_TEST(a_hundred_runs_and_thousands) {
    static const size_t factors[] = {13, 600};
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_fit kept = made.of->fit, *fit = &made.of->fit;
    for (size_t f = 0; f < 2; f++) {
        size_t few = kept.n_runs, n = few * factors[f];
        fit->n_runs = n;
        fit->runs = malloc(n * sizeof *fit->runs);
        fit->joint.data = malloc(n * sizeof *fit->joint.data);
        fit->joint.cda_m2 = malloc(n * sizeof *fit->joint.cda_m2);
        ck_assert(fit->runs && fit->joint.data && fit->joint.cda_m2);
        fit->budget.n = 0; /* its effects are for few */
        for (size_t i = 0; i < n; i++) {
            fit->runs[i] = kept.runs[i % few];
            fit->joint.data[i] = kept.joint.data[i % few];
            fit->joint.cda_m2[i] = kept.joint.cda_m2[i % few];
            fit->runs[i].together_cda_m2.value *= 1 + 0.01 * (double)(i % 17);
        }
        ck_assert_uint_lt(draw_all(1U << CW_PICTURE_BUDGET), 1500000);
        struct cw_text text = {0};
        ck_assert_int_eq(draw(CW_PICTURE_SPEED, &text), CW_OK);
        ck_assert_ptr_nonnull(strstr(text.bytes, "Too many runs to draw each"));
        cw_text_free(&text);
        free(fit->runs);
        free(fit->joint.data);
        free(fit->joint.cda_m2);
    }
    *fit = kept;
    made_free(&made);
}
END_TEST

START_TEST(names_are_those_of_the_option) {
    static const char *const names[CW_PICTURES] = {"setups", "road",  "speed", "gained",
                                                   "ground", "timed", "budget"};
    for (int p = 0; p < CW_PICTURES; p++)
        ck_assert_str_eq(cw_picture_name((enum cw_picture)p), names[p]);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("report_picture");
    TCase *tests = tcase_create("picture");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, pictures_hold_their_runs_and_labels);
    tcase_add_test(tests, a_run_that_departs_is_named);
    tcase_add_test(tests, hostile_names_are_only_ever_text);
    tcase_add_test(tests, one_run_of_one_setup);
    tcase_add_test(tests, without_positions);
    tcase_add_test(tests, nothing_fitted_is_nothing_to_draw);
    tcase_add_test(tests, missing_numbers_leave_gaps);
    tcase_add_test(tests, runs_that_are_all_the_same);
    tcase_add_test(tests, a_hundred_runs_and_thousands);
    tcase_add_test(tests, names_are_those_of_the_option);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
