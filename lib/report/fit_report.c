#include "report/fit_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/utf8.h"
#include "fit/budget.h"
#include "report/budget_table.h"
#include "report/csv.h"
#include "report/estimates.h"
#include "report/fit_facts.h"
#include "report/heights.h"
#include "report/interval.h"
#include "report/plain.h"
#include "report/rests.h"
#include "report/ride.h"
#include "report/table.h"

static const struct cw_run *run_of(const struct cw_analysed *of, size_t i) {
    return &of->runs.at[of->fit.runs[i].run];
}

static const char *setup_of(const struct cw_analysed *of, size_t i) {
    return cw_analysed_setup(of, of->fit.runs[i].setup);
}

/* ---- for people ---- */

/* The runs' table in two forms: together, and alone. */
struct runs_form {
    const struct cw_analysed *of;
    bool alone, crr; /* alone: with Crr's estimates */
};

static struct cw_estimate cda_of(const struct cw_fit_run *run, bool alone) {
    return alone ? cw_estimate_where(run->identifiable, run->alone_cda_m2)
                 : cw_estimate_where(run->together_identifiable, run->together_cda_m2);
}

/* The interval, or why there is none. */
static void add_last(struct cw_table *table, const struct cw_fit_run *run, bool alone,
                     const struct cw_intervals *intervals) {
    struct cw_text text = {0};
    if (alone ? run->identifiable : run->together_identifiable)
        cw_intervals_add(intervals, cda_of(run, alone), &text);
    else if (alone)
        cw_unknown_alone_add(run, &text);
    else
        cw_text_add(&text, "CdA not told by these runs");
    cw_table_add(table, "%s", text.bytes ? text.bytes : "");
    if (text.failed) table->cells.failed = true;
    cw_text_free(&text);
}

static void runs_table(const void *runs, const struct cw_intervals *intervals,
                       struct cw_text *out) {
    const struct runs_form *form = runs;
    const struct cw_analysed *of = form->of;
    const struct cw_fit *fit = &of->fit;
    struct cw_signs sign = cw_signs_of(intervals->look);
    struct cw_text head = {0};
    cw_intervals_add_head(intervals, &head);
    const struct cw_column first[] = {{"run", "", true}, {"setup", "", false}},
                           length[] = {{"length", "m", true}, {"drop", "m", true}},
                           cda[] = {CW_ESTIMATE_COLUMNS("CdA", sign.m2, sign.plus_minus)},
                           crr[] = {CW_ESTIMATE_COLUMNS("Crr", "", sign.plus_minus)},
                           last = {head.bytes ? head.bytes : "", intervals->width ? sign.m2 : "",
                                   false};
    struct cw_column columns[16];
    struct cw_table table = {.columns = columns, .units = intervals->look->units};
#define COLUMNS(list)                                                                              \
    do {                                                                                           \
        memcpy(columns + table.n_columns, list, sizeof list);                                      \
        table.n_columns += sizeof list / sizeof *list;                                             \
    } while (0)
    COLUMNS(first);
    if (!form->alone) COLUMNS(length);
    COLUMNS(cda);
    if (form->crr) COLUMNS(crr);
#undef COLUMNS
    columns[table.n_columns++] = last;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_fit_run *run = &fit->runs[i];
        cw_table_add(&table, "%ld", run_of(of, i)->number);
        cw_table_add_name(&table, setup_of(of, i));
        if (!form->alone) {
            cw_table_add_number(&table, run_of(of, i)->distance_m, 0);
            cw_table_add_number(&table, run_of(of, i)->drop_m, 1);
        }
        cw_table_add_estimate(&table, cda_of(run, form->alone));
        if (form->crr)
            cw_table_add_estimate(&table, cw_estimate_where(run->crr_known, run->alone_crr));
        add_last(&table, run, form->alone, intervals);
    }
    cw_table_write(&table, intervals->look, out);
    if (head.failed) out->failed = true;
    cw_text_free(&head);
    cw_table_free(&table);
}

static bool runs_with_intervals(const struct cw_analysed *of, bool alone,
                                const struct cw_look *look, struct cw_text *out) {
    struct runs_form form = {.of = of, .alone = alone, .crr = alone && !of->fit.crr_given};
    struct cw_estimate *all = malloc(of->fit.n_runs * sizeof *all);
    if (!all) {
        out->failed = true;
        return false;
    }
    for (size_t i = 0; i < of->fit.n_runs; i++) all[i] = cda_of(&of->fit.runs[i], alone);
    struct cw_scale scale = cw_scale_make(all, of->fit.n_runs);
    bool drawn = cw_intervals_write(&scale, look, runs_table, &form, out);
    free(all);
    return drawn;
}

/* Crr as ridden, and what it would be at the temperature that days are held against each other at.
 */
static void at_two_temperatures(const struct cw_fit *fit, size_t tyres, const struct cw_signs *sign,
                                struct cw_text *line) {
    cw_estimate_add(line, fit->crr[tyres], "", sign);
    cw_text_add(line, " as ridden, at %.1f °C; at %d °C it would be ", fit->temperature_c,
                CW_CRR_AT_C);
    cw_estimate_add(line, fit->crr_at_20c[tyres], "", sign);
}

/* What the runs' temperatures did to their tyres. */
static void colder_and_warmer(const struct cw_fit *fit, const struct cw_look *look,
                              struct cw_text *out) {
    const struct cw_signs sign = cw_signs_of(look);
    struct cw_text line = {0};
    cw_text_add(&line,
                "tyres roll worse in the cold: from %.1f to %.1f °C Crr is taken to fall, a "
                "kelvin, by ",
                fit->coldest_c, fit->warmest_c);
    cw_estimate_add(&line, cw_fall_percent(fit), "%", &sign);
    cw_wrapped_take(out, &line, look, 0);
}

static void rolling(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    const struct cw_signs sign = cw_signs_of(look);
    const struct cw_fit *fit = &of->fit;
    struct cw_text line = {0};
    for (size_t t = 0; t < fit->n_tyres; t++) {
        cw_text_add(&line, "Crr");
        if (fit->n_tyres > 1 || strcmp(fit->tyres[t], "all"))
            cw_text_add(&line, " of the tyres %s", fit->tyres[t]);
        cw_pressure_add(&line, ", at ", cw_outing_pressure_kpa(&of->outing, fit->tyres[t]));
        cw_text_add(&line, ": ");
        if (fit->crr_given)
            cw_text_add(&line, "%g ± %g as the outing file gives it", of->outing.crr,
                        of->outing.crr_uncertainty);
        else if (fit->crr_identifiable[t])
            at_two_temperatures(fit, t, &sign, &line);
        else
            cw_text_add(&line, "not told by these runs");
        cw_wrapped_take(out, &line, look, 2);
    }
    if (cw_fit_warms(fit)) colder_and_warmer(fit, look, out);
    if (!fit->bends_told) return;
    cw_text_add(&line, "in bends, at %g g to the side, Crr is more by ", CW_BENDS_ASIDE);
    cw_estimate_add(&line, fit->bends_crr, "", &sign);
    cw_wrapped_take(out, &line, look, 0);
}

static void setups_table(const struct cw_analysed *of, const struct cw_look *look,
                         struct cw_text *out) {
    const struct cw_signs signs = cw_signs_of(look), *sign = &signs;
    const struct cw_column columns[] = {{"setup", "", false},
                                        {"runs", "", true},
                                        {"mass", "kg", true},
                                        {"tyres", "", false},
                                        CW_ESTIMATE_COLUMNS("CdA", sign->m2, sign->plus_minus),
                                        {"description", "", false}};
    const struct cw_outing *outing = &of->outing;
    bool described = false;
    for (size_t i = 0; i < outing->n_setups; i++)
        described = described || *outing->setups[i].description;
    struct cw_table table = {.columns = columns,
                             .n_columns = sizeof columns / sizeof *columns - !described,
                             .units = look->units};
    for (size_t i = 0; i < outing->n_setups; i++) {
        const struct cw_setup *setup = &outing->setups[i];
        cw_table_add(&table, "%s", setup->name);
        cw_table_add(&table, "%zu", cw_setup_runs(of, i));
        cw_table_add_number(&table, cw_outing_bicycle(outing, setup->rider, i).mass_kg, 1);
        cw_table_add(&table, "%s", setup->tyres);
        cw_table_add_estimate(&table, cw_setup_cda(of, i));
        if (described) cw_table_add(&table, "%s", setup->description);
    }
    cw_text_add(out, "\nSetups, on the average of their runs\n");
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

/* CdA and Crr of a setup as one pair, all its runs taken to have one CdA: what many short coasts
 * tell together though none does alone, and what CdA would be if Crr were known. */
static void pairs(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    const double crr = 0.005, much_alike = 0.9;
    const struct cw_signs sign = cw_signs_of(look);
    for (size_t i = 0; i < of->average.n_setups; i++) {
        const struct cw_setup_result *setup = &of->average.setups[i];
        bool plain = of->fit.n_roads == 1 && cw_cda_known(&setup->cda_m2) &&
                     fabs(setup->correlation) < much_alike;
        struct cw_text line = {0};
        if (!isfinite(setup->correlation) || plain) continue;
        double by_crr =
            setup->correlation * setup->cda_m2.standard_error / setup->crr.standard_error;
        double left = sqrt(fmax(0, 1 - setup->correlation * setup->correlation));
        double quantile = (setup->cda_m2.high - setup->cda_m2.value) / setup->cda_m2.standard_error;
        cw_text_add(&line, "%s: CdA ", setup->name);
        cw_estimate_add(&line, setup->cda_m2, sign.m2, &sign);
        cw_text_add(&line, " with Crr ");
        cw_estimate_add(&line, setup->crr, "", &sign);
        cw_text_add(&line, ", correlation %.2f", setup->correlation);
        /* The line through the pair holds near it; a Crr beyond its interval wants a fit anew. */
        if (setup->crr.low <= crr && crr <= setup->crr.high) {
            cw_text_add(&line, "; were Crr %.3f, CdA would be ", crr);
            cw_estimate_add(
                &line,
                cw_estimate_make(setup->cda_m2.value + by_crr * (crr - setup->crr.value),
                                 left * setup->cda_m2.standard_error, quantile),
                sign.m2, &sign);
        }
        cw_wrapped_take(out, &line, look, 2);
    }
}

static void noise_table(const struct cw_analysed *of, const struct cw_look *look,
                        struct cw_text *out) {
    static const struct cw_column columns[] = {{"standard deviation of", "", false},
                                               {"found", "", true},
                                               {"95 % from", "", true},
                                               {"to", "", true}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = look->units};
    cw_noise_rows(of, &table);
    cw_text_add(out, "\nNoise found\n");
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

/* The recordings' temperatures, where they are not one for all. */
static void own_air(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    const struct cw_signs signs = cw_signs_of(look), *sign = &signs;
    static const char *const by[] = {[CW_AIR_STANDARD] = "standard atmosphere",
                                     [CW_AIR_OUTING] = "[air]",
                                     [CW_AIR_RECORDING] = "[air RECORDING]",
                                     [CW_AIR_DEVICE] = "its device",
                                     [CW_AIR_LOG] = "the air log"};
    struct cw_column columns[] = {{"recording", "", false},
                                  {"temperature", sign->celsius, true},
                                  {"density", sign->kgm3, true},
                                  {"told by", "", false}};
    struct cw_table table = {
        .columns = columns, .n_columns = sizeof columns / sizeof *columns, .units = look->units};
    bool differ = false;
    for (size_t r = 0; r < of->fit.n_recorders; r++)
        differ |= of->fit.recorders[r].density_kgm3 != of->fit.place.density_kgm3;
    if (!differ) return;
    for (size_t r = 0; r < of->fit.n_recorders; r++) {
        const struct cw_fit_recorder *recorder = &of->fit.recorders[r];
        if (!cw_recording_fitted(of, r)) continue;
        cw_table_add(&table, "%s", of->recordings[r].file);
        cw_table_add_number(&table, recorder->temperature_c, 1);
        cw_table_add_number(&table, recorder->density_kgm3, 4);
        cw_table_add(&table, "%s", by[recorder->temperature_by]);
    }
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

/* The number of the run whose way the main road goes. */
static long first_kept(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->fit.n_runs; i++) {
        const struct cw_run *run = &of->runs.at[of->fit.runs[i].run];
        if (run->road == CW_ROAD_MAIN && !run->reversed) return run->number;
    }
    return 0;
}

static void air(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    const struct cw_signs sign = cw_signs_of(look);
    const struct cw_place *place = &of->fit.place;
    const struct cw_outing *outing = &of->outing;
    struct cw_text line = {0};
    cw_text_add(out, "\nAir\n");
    cw_text_add(&line, "density ");
    cw_estimate_add(&line, cw_density_estimate(of), sign.kgm3, &sign);
    cw_wrapped_take(out, &line, look, 2);
    cw_text_add(&line, "at %.1f °C, %.1f hPa, %.0f %% humidity, %.0f m; gravity %.4f %s",
                place->temperature_c, place->pressure_pa / 100, 100 * place->humidity,
                place->height_m, place->gravity_ms2, sign.ms2);
    cw_wrapped_take(out, &line, look, 2);
    const struct cw_cause *lapse = cw_fit_lapse(&of->fit);
    if (lapse) {
        cw_text_add(&line, "colder by %.1f ± %.1f K/km on the way up, as the road drops far",
                    1000 * place->lapse_1m, lapse->uncertainty);
        cw_wrapped_take(out, &line, look, 2);
    }
    own_air(of, look, out);
    if (outing->elevation == CW_ELEVATION_BAROMETRIC) {
        cw_text_add(&line,
                    "recorded height differences %s %.4f, as the air is not the standard one",
                    sign.times, place->barometric_scale);
        cw_wrapped_take(out, &line, look, 2);
    }
    cw_text_add(&line, "mean wind along the road ");
    if (of->fit.wind_told) {
        cw_estimate_add(&line, cw_estimate_kmh(of->fit.wind_along_ms), "km/h", &sign);
        cw_text_add(&line,
                    " as the runs either way tell it (+ is a headwind to run %ld); the file says "
                    "%.1f ± %.1f km/h",
                    first_kept(of), outing->wind_along_ms * CW_KMH_PER_MS,
                    outing->wind_uncertainty_ms * CW_KMH_PER_MS);
    } else {
        cw_text_add(&line, "%.1f ± %.1f km/h (+ is a headwind)",
                    outing->wind_along_ms * CW_KMH_PER_MS,
                    outing->wind_uncertainty_ms * CW_KMH_PER_MS);
    }
    cw_wrapped_take(out, &line, look, 2);
}

/* What the answer does not need: each run by itself, the noise, the air, what no run can show. */
static void rest(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    bool level = of->outing.elevation == CW_ELEVATION_LEVEL;
    cw_text_add(out, "\nAlone: each run %s\n",
                level ? "by itself, on a level road" : "on its own recorded heights");
    runs_with_intervals(of, true, look, out);
    noise_table(of, look, out);
    air(of, look, out);
    if (of->averaged && cw_fit_answers(of)) cw_budget_table(&of->average, look, out);
}

enum { NOTES_MOST = 5 };

static void one_table(const struct cw_analysed *of, bool all, const struct cw_look *look,
                      struct cw_text *out) {
    const struct cw_compare *together = of->averaged ? &of->average : NULL;
    struct cw_sentences rests = {0}, mind = {0}, defaults = {0}, notes = {0};
    struct cw_text ride = {0}, heights = {0};
    cw_rests_said(of, &rests);
    cw_sentences_write(&rests, look, out);
    cw_ride_add(of, together, &ride);
    cw_heights_say(of, together, &heights);
    cw_wrapped_take(out, &ride, look, 0);
    cw_wrapped_take(out, &heights, look, 0);
    cw_ride_lines_add(of, look, out);
    cw_fit_doubts(of, &mind);
    cw_sentences_list("Mind", &mind, look, out);
    if (of->averaged) {
        setups_table(of, look, out);
        pairs(of, look, out);
    }
    cw_text_add(out, "\n");
    rolling(of, look, out);
    cw_text_add(out, "\nRuns, together: all at once, sharing the road's heights and their tyres' "
                     "Crr\n");
    if (runs_with_intervals(of, false, look, out)) cw_intervals_explain(look, out);
    if (all) rest(of, look, out);
    cw_fit_defaults(of, &defaults);
    cw_sentences_list("Taken for granted", &defaults, look, out);
    cw_fit_notes(of, &notes);
    cw_sentences_list_some("Notes", all ? notes.n : NOTES_MOST, &notes, look, out);
}

enum cw_status cw_report_fit_table(const struct cw_analysis *analysis, bool all,
                                   const struct cw_look *look, struct cw_text *out,
                                   struct cw_error *error) {
    for (size_t i = 0; i < analysis->n; i++) {
        if (i) cw_text_add(out, "\n\n");
        one_table(&analysis->outings[i], all, look, out);
    }
    if (!all) {
        cw_text_add(out, "\n");
        cw_wrapped_add(out,
                       "--all adds each run fitted alone, the noise that was found, the air, and "
                       "the error budget",
                       look, 0);
    }
    return out->failed ? cw_error_memory(error) : CW_OK;
}

/* ---- CSV: a line a run ---- */

static void csv_row(struct cw_csv *csv, const struct cw_analysed *of, size_t i) {
    const struct cw_fit *fit = &of->fit;
    const struct cw_fit_run *run = &fit->runs[i];
    const struct cw_run *found = run_of(of, i);
    char start[40];
    cw_time_write(found->start_s, start, sizeof start);
    cw_csv_add(csv, of->outing.name);
    cw_csv_add_number(csv, (double)found->number);
    cw_csv_add(csv, setup_of(of, i));
    cw_csv_add(csv, of->recordings[found->recording].file);
    cw_csv_add(csv, start);
    cw_csv_add_number(csv, found->duration_s);
    cw_csv_add_number(csv, found->distance_m);
    cw_csv_add_number(csv, found->drop_m);
    cw_csv_add_number(csv, run->mass_kg);
    cw_csv_add_number(csv, run->density_kgm3);
    cw_csv_add_estimate(csv, cda_of(run, true));
    cw_csv_add_estimate(csv, cw_estimate_where(run->crr_known, run->alone_crr));
    cw_csv_add_number(csv, run->correlation);
    cw_csv_add(csv, run->identifiable ? "true" : "false");
    cw_csv_add_estimate(csv, cda_of(run, false));
    cw_csv_add(csv, run->together_identifiable ? "true" : "false");
    cw_csv_add(csv, fit->tyres[run->tyres]);
    cw_csv_add_estimate(csv, cw_estimate_where(fit->crr_given || fit->crr_identifiable[run->tyres],
                                               fit->crr[run->tyres]));
    cw_csv_add_number(csv, found->noted.wind_ms);
    cw_csv_add_number(csv, found->logged.wind_ms);
    cw_csv_end_row(csv);
}

enum cw_status cw_report_fit_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                 struct cw_error *error) {
    static const char *const heads[] = {"outing",
                                        "number",
                                        "setup",
                                        "recording",
                                        "start",
                                        "duration_s",
                                        "distance_m",
                                        "drop_m",
                                        "mass_kg",
                                        "density_kgm3",
                                        CW_ESTIMATE_HEADS("alone_cda_m2"),
                                        CW_ESTIMATE_HEADS("alone_crr"),
                                        "alone_correlation",
                                        "alone_identifiable",
                                        CW_ESTIMATE_HEADS("together_cda_m2"),
                                        "together_identifiable",
                                        "tyres",
                                        CW_ESTIMATE_HEADS("crr"),
                                        "wind_noted_ms",
                                        "wind_logged_ms"};
    struct cw_csv csv = {.out = out};
    cw_csv_add_heads(&csv, heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < analysis->n; i++)
        for (size_t j = 0; j < analysis->outings[i].fit.n_runs; j++)
            csv_row(&csv, &analysis->outings[i], j);
    return out->failed ? cw_error_memory(error) : CW_OK;
}
