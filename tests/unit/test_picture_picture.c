#include <check.h>
#include <libxml/parser.h>
#include <libxml/tree.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fit/workings.h"
#include "made.h"
#include "outing/air_log.h"
#include "picture/names.h"
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
    made.of->outing.skip.number = malloc((n ? n : 1) * sizeof *turned_down);
    if (n) memcpy(made.of->outing.skip.number, turned_down, n * sizeof *turned_down);
    made.of->outing.skip.n = n;
    ck_assert_msg(made_find(&made, NULL, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_fit(&made.analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_compare(&made.analysis, NULL, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_time(&made.analysis, &error) >= 0, "%s", error.message);
    ck_assert_msg(cw_analysis_explain(&made.analysis, &error) >= 0, "%s", error.message);
    /* Somebody noted the winds. */
    for (size_t i = 0; i < made.analysis.compare.n_runs; i++)
        made.analysis.compare.runs[i].wind_noted_ms = 0.1 * (double)i - 0.3;
    /* And the setups were on different tyres. */
    for (size_t i = 0; i < made.analysis.compare.n_comparisons; i++) {
        struct cw_rolling_difference *rolling = &made.analysis.compare.comparisons[i].rolling;
        rolling->compared = true;
        rolling->crr = (struct cw_estimate){0.0005, 0.0003, -0.0001, 0.0011, 0};
        rolling->correlation = -0.6;
    }
}

static enum cw_status draw(const char *picture, struct cw_text *text) {
    return cw_picture_add(cw_picture_named(picture), &made.analysis, 0, true, CW_UNITS_METRIC,
                          "a1-", text, &error);
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
static xmlDoc *check(const struct cw_picture *picture, const struct cw_text *text) {
    xmlDoc *doc = xmlReadMemory(text->bytes, (int)text->length, "picture.svg", NULL,
                                XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
    ck_assert_msg(doc != NULL, "%s is not well formed", picture->name);
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
    ck_assert_int_eq(strncmp(title, picture->title, strlen(picture->title)), 0);
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

/* Whether the name is among words with blanks between them. */
static bool among(const char *name, const char *words) {
    size_t length = strlen(name);
    for (const char *at = words; (at = strstr(at, name)); at += length)
        if ((at == words || at[-1] == ' ') && (!at[length] || at[length] == ' ')) return true;
    return false;
}

/* Draws all pictures; those named in `without` must say why not. Returns their bytes. */
static size_t draw_all(const char *without) {
    size_t bytes = 0, n;
    const struct cw_picture *pictures = cw_pictures(&n);
    for (size_t p = 0; p < n; p++) {
        struct cw_text text = {0};
        cw_text_add(&text, "before");
        enum cw_status status = draw(pictures[p].name, &text);
        if (among(pictures[p].name, without)) {
            ck_assert_msg(status == CW_E_DATA, "%s", pictures[p].name);
            ck_assert_uint_gt(strlen(error.message), 10);
            ck_assert_str_eq(text.bytes, "before");
        } else {
            ck_assert_msg(status == CW_OK, "%s: %s", pictures[p].name, error.message);
            struct cw_text picture = {.bytes = text.bytes + 6, .length = text.length - 6};
            xmlFreeDoc(check(&pictures[p], &picture));
        }
        bytes += text.length;
        cw_text_free(&text);
    }
    return bytes;
}

/* The table holds together: names are words that an option, an id and a class can be, told apart,
 * and the list of names is the table's. */
START_TEST(every_picture_is_in_the_table_whole) {
    size_t n;
    const struct cw_picture *pictures = cw_pictures(&n);
    ck_assert_uint_gt(n, 0);
    for (size_t p = 0; p < n; p++) {
        const struct cw_picture *picture = &pictures[p];
        ck_assert_uint_gt(strlen(picture->name), 0);
        ck_assert_uint_eq(strspn(picture->name, "abcdefghijklmnopqrstuvwxyz"),
                          strlen(picture->name));
        ck_assert_ptr_eq(cw_picture_named(picture->name), picture);
        ck_assert_str_eq(cw_picture_names[p], picture->name);
        ck_assert(*picture->heading && *picture->title && *picture->numbers);
        ck_assert_int_eq(picture->caption[strlen(picture->caption) - 1], '.');
        ck_assert_ptr_nonnull(picture->draw);
    }
    ck_assert_ptr_null(cw_picture_names[n]);
    ck_assert_ptr_null(cw_picture_named("rode"));
    ck_assert_ptr_null(cw_picture_named(""));
}
END_TEST

/* What must be in each picture, by name. */
static const struct {
    const char *name, *label;
    bool by_run, with_turned_down;
} holds[] = {
    {"history", "Crr at 20 \xc2\xb0\x43", false, false},
    {"setups", "CdA, m\xc2\xb2", true, false},
    {"road", "height, m", true, true},
    {"speed", "speed, km/h", true, false},
    {"gained", "gained (+) or lost, s", true, false},
    {"ground", ">N</text>", true, true},
    {"explained", "mean time between the gates, s", false, false},
    {"timed", "time between the gates, s", true, false},
    {"winds", "wind along the road, km/h (+ headwind)", true, false},
    {"tyres", "difference in drag, % (+ is more)", false, false},
    {"pressures", "pressure as noted, kPa", false, false},
    {"budget", "effect of one standard uncertainty, % of CdA", false, false},
};

/* Three setups, each on tyres of its own, called as it is. */
static void three_tyres(struct cw_simulate_options *options) {
    cw_simulate_road(options, "dip", NULL);
    options->n_setups = 3;
    options->setups[2] = options->setups[1];
    snprintf(options->setups[2].name, sizeof options->setups[2].name, "bare");
    for (size_t s = 0; s < 3; s++)
        snprintf(options->setups[s].tyres, sizeof options->setups[s].tyres, "%s",
                 options->setups[s].name);
    cw_simulate_order(options, 2);
}

/* The first setup's tyres at so many kPa, each next 90 less. */
static void pump_up(double kpa) {
    for (size_t s = 0; s < made.of->outing.n_setups; s++)
        made.of->outing.setups[s].pressure_kpa = kpa - 90 * (double)s;
}

/* As if two outings, four weeks apart, had the second setup and its tyres. Not to be freed. */
static struct cw_history as_if_twice(void) {
    static struct cw_history_mark cda[2], crr[2];
    static struct cw_history_tyres tyres;
    const struct cw_setup_result *setup = &made.analysis.compare.setups[1];
    const struct cw_estimate rolls = {0.005, 0.0005, 0.004, 0.006, 0};
    tyres = (struct cw_history_tyres){setup->tyres, 2, rolls};
    for (size_t i = 0; i < 2; i++) {
        cda[i] = (struct cw_history_mark){1, 0, 1.7e9 + 28 * 86400.0 * (double)i, 2, setup->cda_m2};
        crr[i] = (struct cw_history_mark){0, 0, cda[i].time_s, 2, rolls};
    }
    return (struct cw_history){
        .n_cda = 2, .cda = cda, .n_crr = 2, .crr = crr, .n_tyres = 1, .tyres = &tyres};
}

START_TEST(pictures_hold_their_runs_and_labels) {
    static const long turned_down[] = {3};
    struct cw_simulate_options options = small();
    three_tyres(&options);
    make(&options, turned_down, 1);
    pump_up(480);
    struct cw_history once = made.analysis.compare.history;
    made.analysis.compare.history = as_if_twice();
    size_t all = 0, n_pictures;
    cw_pictures(&n_pictures);
    ck_assert_uint_eq(n_pictures, sizeof holds / sizeof *holds);
    for (size_t p = 0; p < n_pictures; p++) {
        struct cw_text text = {0}, again = {0};
        ck_assert_int_eq(draw(holds[p].name, &text), CW_OK);
        ck_assert_int_eq(draw(holds[p].name, &again), CW_OK);
        ck_assert_str_eq(text.bytes, again.bytes); /* the same bytes each time */
        xmlDoc *doc = check(cw_picture_named(holds[p].name), &text);
        xmlNode *svg = xmlDocGetRootElement(doc);
        ck_assert_ptr_nonnull(strstr(text.bytes, holds[p].label));
        ck_assert_ptr_nonnull(strstr(text.bytes, "Teasel lane"));
        ck_assert_ptr_nonnull(strstr(text.bytes, made.of->outing.setups[1].name));
        for (size_t i = 0; holds[p].by_run && i < made.of->runs.n; i++) {
            char id[32];
            snprintf(id, sizeof id, "1.%ld", made.of->runs.at[i].number);
            size_t n = count(svg, "run", "data-run", id);
            ck_assert_msg(made.of->runs.at[i].kept || holds[p].with_turned_down ? n > 0 : n == 0,
                          "run %s in %s", id, holds[p].name);
        }
        if (holds[p].by_run)
            ck_assert_uint_gt(count(svg, "run", "data-setup", made.of->outing.setups[0].name), 0);
        ck_assert_uint_gt(count(svg, "plot", "class", NULL), 0);
        all += text.length;
        xmlFreeDoc(doc);
        cw_text_free(&text);
        cw_text_free(&again);
    }
    ck_assert_uint_lt(all, 150000);
    struct cw_text road = {0};
    ck_assert_int_eq(draw("road", &road), CW_OK);
    ck_assert_ptr_nonnull(strstr(road.bytes, "run 3, skipped"));
    cw_text_free(&road);
    made.analysis.compare.history = once;
    made_free(&made);
}
END_TEST

/* A mark for each set of tyres, where its pressure is; none for one without, and no picture of
 * two. */
START_TEST(tyres_stand_at_their_pressures) {
    struct cw_simulate_options options = small();
    struct cw_text text = {0};
    three_tyres(&options);
    make(&options, NULL, 0);
    ck_assert_int_eq(draw("pressures", &text), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "fewer than three"));
    pump_up(480);
    ck_assert_int_eq(draw("pressures", &text), CW_OK);
    for (size_t s = 0; s < 3; s++) {
        char what[64];
        snprintf(what, sizeof what, "data-value=\"%s at %zu kPa: Crr 0.00",
                 made.of->outing.setups[s].name, 480 - 90 * s);
        ck_assert_msg(strstr(text.bytes, what) != NULL, "%s", what);
    }
    cw_text_free(&text);
    made.of->outing.setups[1].pressure_kpa = NAN;
    ck_assert_int_eq(draw("pressures", &text), CW_E_DATA);
    made_free(&made);
}
END_TEST

/* Where a line of a run's interval begins and ends. */
static void ends_of(const char *line, double *from, double *to) {
    double y;
    const char *d = strstr(line, " d=\"M");
    ck_assert_ptr_nonnull(d);
    ck_assert_int_eq(sscanf(d, " d=\"M%lf %lfL%lf", from, &y, to), 3);
}

START_TEST(noise_is_a_thick_line_within_a_thin_one) {
    struct cw_simulate_options options = small();
    size_t runs = 0;
    make(&options, NULL, 0);
    struct cw_text text = {0};
    ck_assert_int_eq(draw("setups", &text), CW_OK);
    for (const char *at = text.bytes; (at = strstr(at, "<g class=\"run\"")); at++, runs++) {
        double low, high, noise_low, noise_high;
        const char *end = strstr(at, "</g>"), *thin = strstr(at, "<path class=\"l k"),
                   *thick = strstr(at, "<path class=\"l noise k");
        ck_assert(end && thin && thick && thin < thick && thick < end);
        ends_of(thin, &low, &high);
        ends_of(thick, &noise_low, &noise_high);
        ck_assert_double_lt(low, noise_low);
        ck_assert_double_lt(noise_low, noise_high);
        ck_assert_double_lt(noise_high, high);
    }
    ck_assert_uint_eq(runs, made.of->fit.n_runs);
    ck_assert_ptr_nonnull(strstr(text.bytes, "Thick lines:"));
    cw_text_free(&text);
    made_free(&made);
}
END_TEST

/* By stopwatch and by tape, before the recorder's own; what is doubted is not drawn. */
START_TEST(what_was_noted_is_drawn_first) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_timed *timed = &made.of->timed;
    for (size_t k = 0; k < timed->n; k++)
        timed->runs[k].time_watched_s = (struct cw_estimate){50 + (double)k, 0.2, 0, 100, 0};
    timed->runs[1].time_watched_s.value = NAN;
    for (size_t s = 0; s < timed->n_setups; s++)
        timed->setups[s].of[CW_TIMED_TIME_WATCHED] =
            (struct cw_timed_group){.n = 2, .mean = 51, .sd = 1, .precision = 0.01};
    struct cw_text text = {0};
    ck_assert_int_eq(draw("timed", &text), CW_OK);
    const char *watched = strstr(text.bytes, "time by stopwatch, s");
    const char *recorded = strstr(text.bytes, "time between the gates, s");
    ck_assert(watched && recorded && watched < recorded);
    ck_assert_ptr_nonnull(strstr(text.bytes, "time by stopwatch 50.00 s"));
    ck_assert_ptr_null(strstr(text.bytes, "time by stopwatch 51.00 s"));
    ck_assert_ptr_null(strstr(text.bytes, "run-out by tape"));
    cw_text_free(&text);
    made_free(&made);
}
END_TEST

/* A log and a companion saw the winds too; who noted them noted the rider's. */
static void make_seen(void) {
    struct cw_simulate_options options = small();
    options.air_log = options.companion = true;
    options.n_order = 4;
    make(&options, NULL, 0);
    struct cw_compare *compare = &made.analysis.compare;
    for (size_t i = 0; i < compare->n_runs; i++)
        if (compare->runs[i].companion) compare->runs[i].wind_noted_ms = NAN;
}

static size_t count_text(const char *text, const char *what) {
    size_t n = 0;
    for (; (text = strstr(text, what)); text += strlen(what)) n++;
    return n;
}

/* Each run as found; beside it what others saw, each where and as far as they saw it. */
START_TEST(winds_are_drawn_with_who_saw_them) {
    make_seen();
    struct cw_compare *compare = &made.analysis.compare;
    size_t companion = 0, n = compare->n_runs;
    for (size_t i = 0; i < n; i++) companion += compare->runs[i].companion;
    ck_assert(companion > 0 && companion < n);
    struct cw_text text = {0}, value = {0};
    ck_assert_int_eq(draw("winds", &text), CW_OK);
    ck_assert_uint_eq(count_text(text.bytes, "<g class=\"run\""), n);
    ck_assert_uint_eq(count_text(text.bytes, "class=\"l noise "), n);
    ck_assert_uint_eq(count_text(text.bytes, ": noted "), n - companion);
    ck_assert_ptr_nonnull(strstr(text.bytes, "companion: friend</text>"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "clock time on 2024-05-19, UTC"));
    ck_assert_ptr_nonnull(strstr(text.bytes, ">09:15</text>"));
    cw_text_add(&value, "run %ld, %s: wind ",
                made.of->runs.at[made.of->fit.runs[compare->runs[0].index].run].number,
                compare->setups[compare->runs[0].setup].name);
    ck_assert_ptr_nonnull(strstr(text.bytes, value.bytes));
    ck_assert_ptr_null(strstr(text.bytes, "Not used"));
    cw_text_free(&text);
    compare->wind.seen[CW_WIND_NOTED].use = CW_WIND_AGAINST;
    ck_assert_int_eq(draw("winds", &text), CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "Not used: the notes, which go against"));
    cw_text_free(&text);
    /* Riders are not held against each other. */
    ck_assert_int_eq(draw("gained", &text), CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "jacket"));
    ck_assert_ptr_null(strstr(text.bytes, "friend"));
    cw_text_free(&text);
    /* Of who saw nothing there is nothing. */
    for (size_t i = 0; i < n; i++) {
        compare->runs[i].companion = false;
        compare->runs[i].wind_noted_ms = compare->runs[i].wind_logged_ms = NAN;
    }
    ck_assert_int_eq(draw("winds", &text), CW_E_DATA);
    ck_assert_ptr_nonnull(strstr(error.message, "no companion"));
    cw_text_free(&text);
    cw_text_free(&value);
    made_free(&made);
}
END_TEST

/* A log by speed and direction is drawn as who goes down the road meets it, a wind from ahead as a
 * headwind, and with a break where it has one. */
START_TEST(a_log_is_a_line_by_the_way_of_the_road) {
    struct cw_simulate_options options = small(); /* the road goes straight, at 70 degrees */
    enum { ROWS = 90 };
    make(&options, NULL, 0);
    struct cw_air_log *log = calloc(1, sizeof *log);
    ck_assert_ptr_nonnull(log);
    log->n = ROWS;
    log->from_s = malloc(ROWS * sizeof(double));
    log->to_s = malloc(ROWS * sizeof(double));
    log->wind_speed_ms = malloc(ROWS * sizeof(double));
    log->wind_from_rad = malloc(ROWS * sizeof(double));
    ck_assert(log->from_s && log->to_s && log->wind_speed_ms && log->wind_from_rad);
    for (size_t k = 0; k < ROWS; k++) {
        log->from_s[k] = made.of->runs.at[0].start_s + 60 * ((double)k - 10);
        log->to_s[k] = log->from_s[k] + 60;
        log->wind_speed_ms[k] = k > 20 && k < 26 ? NAN : 2;
        log->wind_from_rad[k] = (k < 23 ? 70 : 130) * acos(-1) / 180;
    }
    made.of->log = log; /* whose owner frees it */
    for (size_t i = 0; i < made.analysis.compare.n_runs; i++)
        made.analysis.compare.runs[i].wind_logged_ms = 1;
    struct cw_text text = {0};
    ck_assert_int_eq(draw("winds", &text), CW_OK);
    const char *value = strstr(text.bytes, "data-value=\"air log: ");
    double low, high;
    ck_assert_ptr_nonnull(value);
    ck_assert_int_eq(sscanf(value, "data-value=\"air log: +%lf to +%lf km/h", &low, &high), 2);
    ck_assert_double_eq_tol(low, 3.6, 0.11); /* 2 m/s by the cosine of 60 degrees */
    ck_assert_double_eq_tol(high, 7.2, 0.051);
    const char *line =
        strstr(strstr(text.bytes, "<g class=\"plot\""), "<path class=\"l k3\" stroke-dasharray");
    ck_assert_ptr_nonnull(line);
    const char *end = strchr(line, '>'), *first = strstr(line, " d=\"M") + 4;
    ck_assert(strchr(first + 1, 'M') && strchr(first + 1, 'M') < end);
    cw_text_free(&text);
    made_free(&made);
}
END_TEST

START_TEST(winds_of_many_runs_are_lines) {
    make_seen();
    struct cw_compare *compare = &made.analysis.compare;
    struct cw_run_among *few = compare->runs;
    size_t n_few = compare->n_runs, n = 300 * n_few;
    compare->runs = malloc(n * sizeof *few);
    ck_assert_ptr_nonnull(compare->runs);
    compare->n_runs = n;
    for (size_t i = 0; i < n; i++) compare->runs[i] = few[i * n_few / n];
    struct cw_text text = {0};
    ck_assert_int_eq(draw("winds", &text), CW_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "Too many runs to draw each"));
    ck_assert_uint_lt(text.length, 40000);
    cw_text_free(&text);
    free(compare->runs);
    compare->runs = few;
    compare->n_runs = n_few;
    made_free(&made);
}
END_TEST

/* What the road picture calls the worst run is what the energy balance says of it: the run that
 * was braked in the middle of the road stands out by the height that the brake took. */
START_TEST(a_run_that_departs_is_named) {
    struct cw_simulate_options options = small();
    options.gust_sd_ms = 0.02;
    make(&options, NULL, 0);
    struct cw_run_data *data = &made.of->fit.workings->joint.data[5];
    for (size_t i = 0; i < data->n; i++)
        if (data->s_m[i] > 500) data->speed_ms[i] = sqrt(fmax(1, pow(data->speed_ms[i], 2) - 20));
    struct cw_text text = {0};
    char name[32];
    ck_assert_int_eq(draw("road", &text), CW_OK);
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
    draw_all("pressures history");
    struct cw_text text = {0};
    ck_assert_int_eq(draw("setups", &text), CW_OK);
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
    struct cw_text text = {0};
    draw_all("gained explained winds tyres pressures history");
    ck_assert_int_eq(draw("gained", &text), CW_E_DATA);
    ck_assert_str_eq(error.message, "there is one setup only: nothing to draw");
    made.analysis.compared = false;
    draw_all("gained explained winds tyres pressures budget history");
    made.analysis.compared = true;
    made_free(&made);
}
END_TEST

START_TEST(without_positions) {
    struct cw_simulate_options options = small();
    options.positions = false;
    make(&options, NULL, 0);
    draw_all("ground pressures history");
    made_free(&made);
}
END_TEST

START_TEST(nothing_fitted_is_nothing_to_draw) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    size_t n = made.of->fit.n_runs;
    made.of->fit.n_runs = 0;
    draw_all(
        "setups tyres road speed gained explained ground timed winds pressures budget history");
    made.of->fit.n_runs = n;
    struct cw_text text = {0};
    ck_assert_int_eq(cw_picture_add(cw_picture_named("road"), &made.analysis, 1, true,
                                    CW_UNITS_METRIC, "a1-", &text, &error),
                     CW_E_ARGUMENT);
    made_free(&made);
}
END_TEST

START_TEST(missing_numbers_leave_gaps) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_run_data *data = made.of->fit.workings->joint.data;
    for (size_t i = 20; i < 30; i++) data[0].speed_ms[i] = NAN;
    data[1].s_m[12] = NAN;
    made.of->fit.workings->joint.cda_m2[2] = NAN;
    for (size_t i = 0; i < made.of->fit.n_runs; i += 3)
        made.of->fit.runs[i].together_cda_m2 = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    made.of->fit.runs[1].together_identifiable = false;
    made.analysis.compare.setups[0].cda_m2 = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    made.analysis.compare.comparisons[0].percent = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    made.analysis.compare.causes[0].cda_percent = made.analysis.compare.noise_percent = NAN;
    draw_all("pressures history");
    for (size_t i = 0; i < made.of->fit.n_runs; i++)
        made.of->fit.runs[i].together_identifiable = false;
    made.analysis.compare.setups[1].cda_m2 = made.analysis.compare.setups[0].cda_m2;
    draw_all("setups pressures history");
    made_free(&made);
}
END_TEST

START_TEST(runs_that_are_all_the_same) {
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_run_data *data = made.of->fit.workings->joint.data;
    for (size_t k = 0; k < made.of->fit.n_runs; k++) {
        for (size_t i = 0; i < data[k].n; i++) {
            data[k].time_s[i] = (double)i;
            data[k].speed_ms[i] = 8;
            data[k].s_m[i] = 8.0 * (double)i;
        }
        made.of->fit.runs[k].together_cda_m2 = (struct cw_estimate){0.4, 0, 0.4, 0.4, 0};
    }
    draw_all("pressures history");
    made_free(&made);
}
END_TEST

START_TEST(a_hundred_runs_and_thousands) {
    static const size_t factors[] = {13, 600};
    struct cw_simulate_options options = small();
    make(&options, NULL, 0);
    struct cw_fit kept = made.of->fit, *fit = &made.of->fit;
    struct cw_joint few_runs = fit->workings->joint, *joint = &fit->workings->joint;
    for (size_t f = 0; f < 2; f++) {
        size_t few = kept.n_runs, n = few * factors[f];
        fit->n_runs = n;
        fit->runs = malloc(n * sizeof *fit->runs);
        joint->data = malloc(n * sizeof *joint->data);
        joint->cda_m2 = malloc(n * sizeof *joint->cda_m2);
        ck_assert(fit->runs && joint->data && joint->cda_m2);
        for (size_t i = 0; i < n; i++) {
            fit->runs[i] = kept.runs[i % few];
            joint->data[i] = few_runs.data[i % few];
            joint->cda_m2[i] = few_runs.cda_m2[i % few];
            fit->runs[i].together_cda_m2.value *= 1 + 0.01 * (double)(i % 17);
        }
        ck_assert_uint_lt(draw_all("pressures history"), 1500000);
        struct cw_text text = {0};
        ck_assert_int_eq(draw("speed", &text), CW_OK);
        ck_assert_ptr_nonnull(strstr(text.bytes, "Too many runs to draw each"));
        cw_text_free(&text);
        free(fit->runs);
        free(joint->data);
        free(joint->cda_m2);
    }
    *fit = kept;
    *joint = few_runs;
    made_free(&made);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("picture/picture");
    TCase *tests = tcase_create("picture");
    tcase_set_timeout(tests, 120);
    /* What their calls reach in memory the others reach too: not run again under sanitizers. */
    TCase *numbers = tcase_create("numbers");
    tcase_set_tags(numbers, "numbers");
    tcase_set_timeout(numbers, 120);
    tcase_add_test(tests, every_picture_is_in_the_table_whole);
    tcase_add_test(tests, pictures_hold_their_runs_and_labels);
    tcase_add_test(tests, tyres_stand_at_their_pressures);
    tcase_add_test(tests, noise_is_a_thick_line_within_a_thin_one);
    tcase_add_test(tests, what_was_noted_is_drawn_first);
    tcase_add_test(tests, winds_are_drawn_with_who_saw_them);
    tcase_add_test(tests, a_log_is_a_line_by_the_way_of_the_road);
    tcase_add_test(tests, winds_of_many_runs_are_lines);
    tcase_add_test(tests, a_run_that_departs_is_named);
    tcase_add_test(tests, hostile_names_are_only_ever_text);
    tcase_add_test(tests, one_run_of_one_setup);
    tcase_add_test(tests, without_positions);
    tcase_add_test(tests, nothing_fitted_is_nothing_to_draw);
    tcase_add_test(tests, missing_numbers_leave_gaps);
    tcase_add_test(numbers, runs_that_are_all_the_same);
    tcase_add_test(numbers, a_hundred_runs_and_thousands);
    suite_add_tcase(suite, tests);
    suite_add_tcase(suite, numbers);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
