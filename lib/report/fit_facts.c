#include "report/fit_facts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "fit/workings.h"
#include "report/doubts.h"
#include "report/heights.h"
#include "report/units.h"
#include "report/winds.h"
#include "stats/student.h"

static const struct cw_estimate unknown = {NAN, NAN, NAN, NAN, 0};

static const struct cw_noise_fact facts[] = {
    {"wind_sd_ms", "gusts along the road", "m/s", CW_NOISE_GUST_SD},
    {"gust_time_s", "how long a gust lasts", "s", CW_NOISE_GUST_TIME},
    {"drift_sd_m", "heights: drift", "m", CW_NOISE_DRIFT_SD},
    {"elevation_sd_m", "heights: sample to sample", "m", CW_NOISE_ELEVATION_SD},
    {"speed_sd_ms", "speeds: sample to sample", "m/s", CW_NOISE_SPEED_SD},
    {"wander_sd_m", "positions: wander along the road", "m", CW_NOISE_WANDER_SD},
    {"jitter_sd_m", "positions: jitter over seconds", "m", CW_NOISE_JITTER_SD},
    {"creep_sd_ms", "speeds: creep over seconds", "m/s", CW_NOISE_CREEP_SD},
    {"position_sd_m", "positions: sample to sample", "m", CW_NOISE_POSITION_SD},
    {"roughness_m", "the road's roughness", "m", CW_NOISE_ROUGHNESS},
    {"map_sd_m", "the map's heights", "m", CW_NOISE_MAP_SD},
    {"map_length_m", "how far such an error reaches", "m", CW_NOISE_MAP_LENGTH},
};

const struct cw_noise_fact *cw_noise_facts(size_t *n) {
    *n = sizeof facts / sizeof *facts;
    return facts;
}

struct cw_estimate cw_noise_estimate(const struct cw_fit *fit, enum cw_noise_parameter parameter) {
    double log_value[CW_NOISE_PARAMETERS];
    double variance = fit->workings->noise_covariance[parameter][parameter];
    if (!(variance > 0)) return unknown; /* held: there was nothing to find it from */
    cw_noise_to_log(&fit->noise, log_value);
    double value = exp(log_value[parameter]), error = sqrt(variance);
    double reach = cw_t_quantile(0.975, INFINITY) * error;
    return (struct cw_estimate){value, value * error, value * exp(-reach), value * exp(reach), 0};
}

bool cw_recording_fitted(const struct cw_analysed *of, size_t recording) {
    for (size_t i = 0; i < of->fit.n_runs; i++)
        if (of->runs.at[of->fit.runs[i].run].recording == recording) return true;
    return false;
}

struct cw_estimate cw_lag_estimate(const struct cw_analysed *of, size_t recording) {
    const struct cw_fit_recorder *recorder = &of->fit.recorders[recording];
    if (!cw_recording_fitted(of, recording)) return unknown;
    return cw_estimate_make(recorder->lag_s, recorder->lag_error_s, cw_t_quantile(0.975, INFINITY));
}

/* Two digits that count; noise is seldom known to more. */
static void add_two_digits(struct cw_table *table, double value, const char *unit) {
    double shown = value * cw_unit_shown(table->units, unit).factor;
    cw_table_add_number(table, shown, cw_error_decimals(shown));
}

void cw_noise_rows(const struct cw_analysed *of, struct cw_table *table) {
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
        struct cw_estimate found = cw_noise_estimate(&of->fit, facts[i].parameter);
        cw_table_add_row_head(table, facts[i].name, facts[i].unit);
        add_two_digits(table, found.value, facts[i].unit);
        add_two_digits(table, found.low, facts[i].unit);
        add_two_digits(table, found.high, facts[i].unit);
    }
    for (size_t r = 0; r < of->n_recordings; r++) {
        struct cw_estimate lag = cw_lag_estimate(of, r);
        int decimals = cw_error_decimals(lag.standard_error);
        if (!(lag.standard_error > 0)) continue; /* heights that have no lag to be found */
        size_t before = 0, alike = 0, all = 0;
        for (size_t other = 0; other < of->n_recordings; other++) {
            bool same = of->fit.recorders[other].device == of->fit.recorders[r].device;
            if (!cw_recording_fitted(of, other)) continue;
            before += same && other < r;
            alike += same;
            all++;
        }
        if (before) continue;
        if (alike == all)
            cw_table_add(table, "the recorded heights' lag, s");
        else if (alike == 1)
            cw_table_add(table, "lag of the heights in %s, s", of->recordings[r].file);
        else
            cw_table_add(table, "lag of the heights in %s and %zu more, s", of->recordings[r].file,
                         alike - 1);
        cw_table_add_number(table, lag.value, decimals);
        cw_table_add_number(table, lag.low, decimals);
        cw_table_add_number(table, lag.high, decimals);
    }
}

struct cw_estimate cw_density_estimate(const struct cw_analysed *of) {
    const struct cw_place *place = &of->fit.place;
    double error = cw_air_parts_error(place, of->fit.workings->air[0].shared);
    return cw_estimate_make(place->density_kgm3, place->density_kgm3 * error,
                            cw_t_quantile(0.975, INFINITY));
}

size_t cw_setup_runs(const struct cw_analysed *of, size_t setup) {
    size_t n = 0;
    for (size_t i = 0; i < of->fit.n_runs; i++) n += of->fit.runs[i].setup == setup;
    return n;
}

const struct cw_setup_result *cw_setup_pair(const struct cw_analysed *of, size_t setup) {
    const struct cw_compare *compare = &of->average;
    if (!of->averaged) return NULL;
    size_t at = cw_compare_setup_named(compare, of->outing.setups[setup].name);
    return at < compare->n_setups && compare->setups[at].level_told ? &compare->setups[at] : NULL;
}

struct cw_estimate cw_setup_cda(const struct cw_analysed *of, size_t setup) {
    const struct cw_setup_result *pair = cw_setup_pair(of, setup);
    return pair ? pair->cda_m2 : unknown;
}

/* Beyond this correlation the one makes up for the other nearly whole. */
static const double much_alike = 0.95;

void cw_unknown_alone_add(const struct cw_fit_run *run, struct cw_text *text) {
    if (fabs(run->correlation) > much_alike)
        cw_text_add(text, "CdA and Crr not told apart (correlation %.4f)", run->correlation);
    else
        cw_text_add(text, "CdA not told from the noise");
}

bool cw_fit_answers(const struct cw_analysed *of) {
    for (size_t i = 0; of->averaged && i < of->average.n_setups; i++)
        if (of->average.setups[i].level_told) return true;
    for (size_t i = 0; i < of->fit.n_runs; i++)
        if (of->fit.runs[i].identifiable || of->fit.runs[i].together_identifiable) return true;
    return false;
}

/* ---- sentences ---- */

bool cw_fit_warms(const struct cw_fit *fit) {
    return fit->coldest_c < fit->warmest_c;
}

const struct cw_cause *cw_fit_lapse(const struct cw_fit *fit) {
    for (size_t c = 0; fit->workings && c < fit->workings->budget.n; c++)
        if (fit->workings->budget.causes[c].kind == CW_CAUSE_LAPSE)
            return &fit->workings->budget.causes[c];
    return NULL;
}

struct cw_estimate cw_fall_percent(const struct cw_fit *fit) {
    const struct cw_estimate *fall = &fit->crr_fall_1k;
    return (struct cw_estimate){100 * fall->value, 100 * fall->standard_error, 100 * fall->low,
                                100 * fall->high, 0};
}

void cw_pressure_add(struct cw_text *text, const char *before, double pressure_kpa) {
    if (isfinite(pressure_kpa))
        cw_text_add(text, "%s%.0f kPa (%.0f psi)", before, pressure_kpa,
                    pressure_kpa / CW_KPA_PER_PSI);
}

void cw_fit_defaults(const struct cw_analysed *of, struct cw_sentences *sentences) {
    const struct cw_outing *outing = &of->outing;
    const struct cw_place *place = &of->fit.place;
    bool positions = false;
    static const char *const logged[CW_AIR_PARTS] = {"[air] temperature_", "[air] pressure_",
                                                     "[air] humidity_", "[air] lapse_"};
    bool lapse = cw_fit_lapse(&of->fit) != NULL;
    for (size_t i = 0; i < outing->n_defaults; i++) {
        if (!lapse && !strncmp(outing->defaults[i], "[air] lapse_", 12)) continue;
        bool by_log = false;
        for (size_t k = 0; k < CW_AIR_PARTS; k++)
            by_log = by_log || (place->logged[k] &&
                                !strncmp(outing->defaults[i], logged[k], strlen(logged[k])));
        if (!by_log) cw_sentences_add(sentences, "%s", outing->defaults[i]);
    }
    cw_heights_default(of, sentences);
    cw_winds_defaults(of, sentences);
    size_t by_device = 0;
    for (size_t r = 0; r < of->fit.n_recorders; r++)
        by_device += of->fit.recorders[r].temperature_by == CW_AIR_DEVICE;
    if (by_device && isnan(outing->air.temperature_c))
        cw_sentences_add(sentences,
                         "the recordings' own temperatures less %g °C, as devices read too warm by "
                         "about that (± %g °C)",
                         cw_device_warm_c, cw_device_warm_sd_c);
    else if (by_device)
        cw_sentences_add(
            sentences,
            "the temperatures of %zu recordings differ as their devices say, about the "
            "outing's %.1f °C",
            by_device, outing->air.temperature_c);
    else if (isnan(outing->air.temperature_c) && !place->logged[CW_AIR_TEMPERATURE])
        cw_sentences_add(sentences, "the standard atmosphere's temperature at %.0f m: %.1f °C",
                         place->height_m, place->temperature_c);
    if (cw_fit_warms(&of->fit))
        cw_sentences_add(sentences,
                         "tyres whose Crr falls by %g ± %g %% a kelvin, as those of cars and "
                         "bicycles do, where the runs don't tell it",
                         100 * CW_CRR_FALL_1K, 100 * CW_CRR_FALL_SD_1K);
    if (isnan(outing->air.pressure_hpa) && !(outing->air.pressure_sea_level_hpa > 0) &&
        !place->logged[CW_AIR_PRESSURE])
        cw_sentences_add(sentences, "the standard atmosphere's pressure at %.0f m: %.1f hPa",
                         place->height_m, place->pressure_pa / 100);
    for (size_t i = 0; i < of->n_recordings; i++)
        positions = positions || (cw_recording_fitted(of, i) && of->recordings[i].has_position);
    if (!positions)
        cw_sentences_add(sentences, "no positions: gravity of latitude %.0f°, %.4f m/s²",
                         place->latitude_deg, place->gravity_ms2);
}

static void warn_of_recordings(const struct cw_analysed *of, struct cw_sentences *warnings) {
    bool level = of->outing.elevation == CW_ELEVATION_LEVEL; /* no heights are needed */
    for (size_t i = 0; i < of->n_recordings; i++) {
        const struct cw_recording *recording = &of->recordings[i];
        for (size_t j = 0; j < recording->warnings.n; j++) {
            char text[CW_WARNING_TEXT];
            if (level && recording->warnings.at[j].kind == CW_RECORDING_NO_ELEVATION) continue;
            cw_warning_text(&recording->warnings.at[j], true, text);
            cw_sentences_add(warnings, "%s: %s", recording->file, text);
        }
    }
}

/* More than so many are counted, not named: the table has a word at each. */
enum { NAMED_MOST = 8 };

/* "run 3", "runs 3, 5 and 8", "12 of 20 runs": those not known; their number is given back. */
static size_t list_runs(const struct cw_analysed *of, bool (*known)(const struct cw_fit_run *),
                        struct cw_text *text) {
    size_t n = 0, said = 0;
    for (size_t i = 0; i < of->fit.n_runs; i++) n += !known(&of->fit.runs[i]);
    if (n > NAMED_MOST) {
        cw_text_add(text, "%zu of %zu runs", n, of->fit.n_runs);
        return n;
    }
    cw_text_add(text, n == 1 ? "run" : "runs");
    for (size_t i = 0; i < of->fit.n_runs; i++) {
        const struct cw_fit_run *run = &of->fit.runs[i];
        if (known(run)) continue;
        said++;
        cw_text_add(text, "%s%ld",
                    said == 1   ? " "
                    : said == n ? " and "
                                : ", ",
                    of->runs.at[run->run].number);
    }
    return n;
}

static bool known_alone(const struct cw_fit_run *run) {
    return run->identifiable;
}

static bool known_together(const struct cw_fit_run *run) {
    return run->together_identifiable;
}

static void warn_of_runs(const struct cw_analysed *of, bool (*known)(const struct cw_fit_run *),
                         const char *how, struct cw_sentences *warnings) {
    struct cw_text list = {0};
    if (list_runs(of, known, &list))
        cw_sentences_add(warnings, "%s: CdA is not known %s", list.failed ? "" : list.bytes, how);
    if (list.failed) warnings->text.failed = true;
    cw_text_free(&list);
}

static bool setups_differ(const struct cw_outing *outing) {
    for (size_t i = 0; i < outing->n_setups; i++)
        if (outing->setups[i].load_kg != 0) return true;
    return false;
}

/* A noise that stands at the most that is looked for is larger than the errors know. */
static void warn_of_noise(const struct cw_analysed *of, struct cw_sentences *warnings) {
    struct cw_reml_prior prior[CW_NOISE_PARAMETERS];
    double log_value[CW_NOISE_PARAMETERS];
    cw_noise_priors(&of->outing, prior);
    cw_noise_to_log(&of->fit.noise, log_value);
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
        enum cw_noise_parameter k = facts[i].parameter;
        if (k == CW_NOISE_GUST_TIME || prior[k].sd == 0 || log_value[k] < prior[k].high - 0.01)
            continue;
        const struct cw_unit_shown shown = cw_unit_shown(CW_UNITS_METRIC, facts[i].unit);
        cw_sentences_add(warnings,
                         "%s: at the most that is looked for, %.3g %s; something else%s disturbed "
                         "these runs, and "
                         "the errors stated may be too small",
                         facts[i].name, exp(prior[k].high) * shown.factor, shown.unit,
                         k == CW_NOISE_GUST_SD ? " (a touch of the brakes, bends, traffic)" : "");
    }
}

/* Of a run's breaks so many are named. */
enum { PLACES_MOST = 3 };

static void add_loss(const struct cw_fit_break *loss, struct cw_text *text) {
    cw_text_add(text, "%s by %.1f km/h within seconds at %.0f m",
                loss->speed_ms > 0 ? "slowed" : "sped up", fabs(loss->speed_ms) * CW_KMH_PER_MS,
                loss->at_m);
}

static void add_jump(const struct cw_fit_break *jump, struct cw_text *text) {
    cw_text_add(text, "by %+.1f m at %.0f m", jump->height_m, jump->at_m);
}

static void warn_of_places(const struct cw_fit_break *breaks, size_t n, const char *before,
                           void (*add)(const struct cw_fit_break *, struct cw_text *),
                           const char *after, long run, struct cw_sentences *warnings) {
    struct cw_text text = {0};
    if (!n) return;
    cw_text_add(&text, "run %ld%s", run, before);
    for (size_t k = 0; k < n && k < PLACES_MOST; k++) {
        cw_text_add(&text, "%s", k ? ", " : " ");
        add(&breaks[k], &text);
    }
    if (n > PLACES_MOST)
        cw_text_add(&text, " and at %zu more place%s", n - PLACES_MOST,
                    n == PLACES_MOST + 1 ? "" : "s");
    cw_text_add(&text, "%s", after);
    cw_sentences_take(warnings, &text);
}

static void warn_of_breaks(const struct cw_analysed *of, struct cw_sentences *warnings) {
    for (size_t i = 0; i < of->fit.n_runs; i++) {
        const struct cw_fit_run *run = &of->fit.runs[i];
        long number = of->runs.at[run->run].number;
        warn_of_places(run->losses, run->n_losses, " was", add_loss,
                       ", as if by brakes or pedals: that is left out of its drag", number,
                       warnings);
        warn_of_places(run->jumps, run->n_jumps, "'s recorded heights jump", add_jump,
                       ", where the road does not: that is left out", number, warnings);
    }
}

/* No tyre on a road rolls as hard or as easily as this (common practice, no source). */
static const double easiest_crr = 0.0015, hardest_crr = 0.012;

static void warn_of_crr(const struct cw_analysed *of, struct cw_sentences *warnings) {
    for (size_t i = 0; of->averaged && i < of->average.n_setups; i++) {
        const struct cw_setup_result *setup = &of->average.setups[i];
        if (setup->crr.low > hardest_crr)
            cw_sentences_add(warnings,
                             "%s: no tyre's Crr is as high as this: something else took energy "
                             "(brakes, wind, soft ground), or the heights are wrong; give Crr in "
                             "[rolling]",
                             setup->name);
        if (setup->crr.high < easiest_crr)
            cw_sentences_add(warnings,
                             "%s: no tyre's Crr is as low as this: something else gave energy "
                             "(pedalling, wind), or the heights are wrong; give Crr in [rolling]",
                             setup->name);
    }
}

void cw_fit_doubts(const struct cw_analysed *of, struct cw_sentences *warnings) {
    const struct cw_outing *outing = &of->outing;
    const struct cw_fit *fit = &of->fit;
    cw_heights_warning(of, warnings);
    cw_doubts_add(of, warnings);
    if (!outing->order.n && outing->n_setups > 1)
        cw_sentences_add(
            warnings,
            "the outing file gives no order: which setup a run was of is not known, all are taken "
            "to be on the same tyres%s; write it under [runs]",
            setups_differ(outing) ? ", and no setup's load is counted" : "");
    if (of->averaged) cw_winds_doubt_unknown(&of->average, warnings);
    cw_winds_log_warning(of, warnings);
    warn_of_noise(of, warnings);
    for (size_t t = 0; t < fit->n_tyres; t++)
        if (!fit->crr_given && !fit->crr_identifiable[t])
            cw_sentences_add(warnings, "Crr of the tyres \"%s\" is not known from these runs",
                             fit->tyres[t]);
    warn_of_crr(of, warnings);
    if (fit->n_roads > 1)
        cw_sentences_add(warnings,
                         "the runs are on %zu roads: only runs of one road share its heights",
                         fit->n_roads);
}

void cw_fit_notes(const struct cw_analysed *of, struct cw_sentences *warnings) {
    warn_of_recordings(of, warnings);
    warn_of_breaks(of, warnings);
    warn_of_runs(of, known_alone, "from the run alone", warnings);
    warn_of_runs(of, known_together, "from all runs together", warnings);
}

void cw_fit_warnings(const struct cw_analysed *of, struct cw_sentences *warnings) {
    cw_fit_doubts(of, warnings);
    cw_fit_notes(of, warnings);
}
