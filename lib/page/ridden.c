/* What was ridden: who on what, in which setups, how it rolled, in which air. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "page/parts.h"
#include "report/about.h"
#include "report/estimates.h"
#include "report/fit_facts.h"
#include "report/heights.h"
#include "report/markup.h"
#include "report/table.h"

static const struct cw_look page_look = {.columns = 0, .utf8 = true};

static void begin(const char *what, struct cw_text *text) {
    cw_text_add(text, "<div><dt>%s</dt><dd>", what);
}

static void end(struct cw_text *text) {
    cw_text_add(text, "</dd></div>\n");
}

static void add_rider(const struct cw_rider *rider, struct cw_text *text) {
    begin("Rider and bicycle", text);
    if (rider->name) {
        cw_markup_add_name(text, rider->name);
        cw_text_add(text, ": ");
    }
    cw_text_add(text, "%.1f ± %.1f kg and %.1f ± %.1f kg", rider->mass_kg,
                rider->mass_uncertainty_kg, rider->bike_mass_kg, rider->bike_mass_uncertainty_kg);
    end(text);
}

/* Crr as ridden, and what it would be at the temperature that days are held against each other at.
 */
static void add_rolling(const struct cw_analysed *of, struct cw_text *text) {
    const struct cw_fit *fit = &of->fit;
    struct cw_signs sign = cw_signs_of(&page_look);
    for (size_t t = 0; t < fit->n_tyres; t++) {
        struct cw_text name = {0};
        begin("Rolling, Crr", text);
        if (fit->n_tyres > 1 || strcmp(fit->tyres[t], "all")) {
            cw_text_add(text, "tyres ");
            cw_markup_add_name(text, fit->tyres[t]);
        }
        cw_pressure_add(&name, " at ", cw_outing_pressure_kpa(&of->outing, fit->tyres[t]));
        if (name.bytes) cw_text_add(text, "%s", name.bytes);
        if (name.bytes || fit->n_tyres > 1 || strcmp(fit->tyres[t], "all")) cw_text_add(text, ": ");
        if (name.failed) text->failed = true;
        cw_text_free(&name);
        if (fit->crr_given) {
            cw_text_add(text, "%g ± %g, as the outing file gives it", of->outing.crr,
                        of->outing.crr_uncertainty);
        } else if (fit->crr_identifiable[t]) {
            cw_estimate_add(text, fit->crr[t], "", &sign);
            cw_text_add(text, " at %.1f °C; at %d °C it would be ", fit->temperature_c,
                        CW_CRR_AT_C);
            cw_estimate_add(text, fit->crr_at_20c[t], "", &sign);
        } else {
            cw_text_add(text, "not told by these runs");
        }
        end(text);
    }
}

static struct cw_estimate in_kmh(struct cw_estimate speed_ms) {
    return (struct cw_estimate){.value = CW_KMH_PER_MS * speed_ms.value,
                                .standard_error = CW_KMH_PER_MS * speed_ms.standard_error,
                                .low = CW_KMH_PER_MS * speed_ms.low,
                                .high = CW_KMH_PER_MS * speed_ms.high};
}

static void add_air(const struct cw_analysed *of, struct cw_text *text) {
    const struct cw_place *place = &of->fit.place;
    const struct cw_outing *outing = &of->outing;
    struct cw_signs sign = cw_signs_of(&page_look);
    begin("Air", text);
    cw_text_add(text, "%.1f °C, %.1f hPa, %.0f %% humidity at %.0f m: density ",
                place->temperature_c, place->pressure_pa / 100, 100 * place->humidity,
                place->height_m);
    cw_estimate_add(text, cw_density_estimate(of), "kg/m³", &sign);
    end(text);
    begin("Wind along the road", text);
    if (of->fit.wind_told) {
        cw_estimate_add(text, in_kmh(of->fit.wind_along_ms), "km/h", &sign);
        cw_text_add(text, ", as the runs either way tell it; ");
    }
    cw_text_add(text, "%s %.1f ± %.1f km/h (+ is a headwind)",
                outing->wind_given ? "the outing file says"
                                   : "taken, as the outing file is silent:",
                CW_KMH_PER_MS * outing->wind_along_ms, CW_KMH_PER_MS * outing->wind_uncertainty_ms);
    end(text);
}

static void add_setups(const struct cw_page *page, size_t o, struct cw_text *text) {
    const struct cw_analysed *of = &page->analysis->outings[o];
    const struct cw_outing *outing = &of->outing;
    struct cw_column columns[6] = {
        {"setup", "", false}, {"runs", "", true}, {"mass", "kg", true}, {"load", "kg", true}};
    struct cw_table table = {.columns = columns, .n_columns = 4, .units = page->units};
    bool described = false;
    for (size_t s = 0; s < outing->n_setups; s++)
        described |= *outing->setups[s].description != '\0';
    if (of->fit.n_tyres > 1) columns[table.n_columns++] = (struct cw_column){"tyres", "", false};
    if (described) columns[table.n_columns++] = (struct cw_column){"description", "", false};
    for (size_t s = 0; s < outing->n_setups; s++) {
        const struct cw_setup *setup = &outing->setups[s];
        cw_table_add(&table, "%s", setup->name);
        cw_table_add(&table, "%zu", cw_setup_runs(of, s));
        cw_table_add_number(&table, cw_outing_bicycle(outing, setup->rider, s).mass_kg, 1);
        cw_table_add_number(&table, setup->load_kg, 1);
        if (of->fit.n_tyres > 1) cw_table_add(&table, "%s", setup->tyres);
        if (described) cw_table_add(&table, "%s", setup->description);
    }
    cw_page_add_table(&table, "table-ridden", o, "Setups, with all the mass that rolled", NULL,
                      text);
}

/* What the page of one outing has before its answer and beside it. */
static void add_outing(const struct cw_analysed *of, struct cw_text *text) {
    struct cw_text heights = {0};
    cw_text_add(text, "<p class=\"whole\">");
    cw_about_add(of, cw_markup_add_name, text);
    cw_text_add(text, ". The recorder: ");
    cw_heights_say(of, NULL, &heights);
    if (heights.bytes) cw_markup_add(text, heights.bytes);
    if (heights.failed) text->failed = true;
    cw_text_free(&heights);
    cw_text_add(text, ".</p>\n");
}

void cw_page_add_ridden(const struct cw_page *page, size_t outing, struct cw_text *text) {
    const struct cw_analysis *analysis = page->analysis;
    const struct cw_analysed *of = &analysis->outings[outing];
    if (analysis->n > 1) add_outing(of, text);
    add_setups(page, outing, text);
    cw_text_add(text, "<dl class=\"facts\">\n");
    add_rider(&of->outing.rider, text);
    for (size_t c = 0; c < of->outing.n_companions; c++) add_rider(&of->outing.companions[c], text);
    add_rolling(of, text);
    add_air(of, text);
    cw_text_add(text, "</dl>\n");
}
