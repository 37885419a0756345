#include "analysis/saved.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/outings.h"
#include "base/pack.h"
#include "base/version.h"
#include "fit/workings.h"
#include "outing/air_log.h"

/* ---- small things ---- */

static void pack_estimate(struct cw_pack *pack, struct cw_estimate *estimate) {
    cw_pack_number(pack, &estimate->value);
    cw_pack_number(pack, &estimate->standard_error);
    cw_pack_number(pack, &estimate->low);
    cw_pack_number(pack, &estimate->high);
    cw_pack_number(pack, &estimate->noise_standard_error);
}

/* n numbers in place. */
static void pack_all(struct cw_pack *pack, double *value, size_t n) {
    for (size_t i = 0; i < n; i++) cw_pack_number(pack, &value[i]);
}

static void pack_warnings(struct cw_pack *pack, struct cw_warnings *warnings) {
    cw_pack_size(pack, &warnings->n, CW_WARNING_MAX + 1);
    for (size_t i = 0; i < warnings->n; i++) {
        struct cw_warning *warning = &warnings->at[i];
        long kind = warning->kind;
        cw_pack_long(pack, &kind);
        warning->kind = (int)kind;
        cw_pack_long(pack, &warning->first_line);
        cw_pack_long(pack, &warning->count);
        cw_pack_chars(pack, warning->text, sizeof warning->text);
    }
}

/* A text that must be there. */
static void pack_name(struct cw_pack *pack, char **name) {
    cw_pack_text(pack, name);
    if (!*name) cw_pack_refuse(pack);
}

static void pack_texts(struct cw_pack *pack, char ***texts, size_t *n) {
    cw_pack_count(pack, n);
    CW_PACK_ROOM(pack, *texts, *n);
    for (size_t i = 0; i < *n; i++) pack_name(pack, &(*texts)[i]);
}

/* ---- what the outing file says ---- */

static void pack_rider(struct cw_pack *pack, struct cw_rider *rider) {
    cw_pack_text(pack, &rider->name);
    cw_pack_number(pack, &rider->mass_kg);
    cw_pack_number(pack, &rider->mass_uncertainty_kg);
    cw_pack_number(pack, &rider->bike_mass_kg);
    cw_pack_number(pack, &rider->bike_mass_uncertainty_kg);
    cw_pack_number(pack, &rider->wheel_inertia_kgm2);
    cw_pack_number(pack, &rider->wheel_radius_m);
}

static void pack_air(struct cw_pack *pack, struct cw_air *air) {
    cw_pack_number(pack, &air->temperature_c);
    cw_pack_number(pack, &air->pressure_hpa);
    cw_pack_number(pack, &air->humidity_percent);
    cw_pack_number(pack, &air->temperature_uncertainty_c);
    cw_pack_number(pack, &air->pressure_uncertainty_hpa);
    cw_pack_number(pack, &air->humidity_uncertainty_percent);
    cw_pack_number(pack, &air->lapse_k_km);
    cw_pack_number(pack, &air->lapse_uncertainty_k_km);
    cw_pack_number(pack, &air->pressure_sea_level_hpa);
}

static void pack_notes(struct cw_pack *pack, struct cw_notes *notes) {
    cw_pack_count(pack, &notes->n);
    cw_pack_numbers(pack, &notes->value, notes->n);
    cw_pack_number(pack, &notes->uncertainty);
}

static void pack_setups(struct cw_pack *pack, struct cw_outing *outing) {
    cw_pack_size(pack, &outing->n_setups, CW_OUTING_SETUPS_MAX + 1);
    if (!outing->n_setups) cw_pack_refuse(pack);
    CW_PACK_ROOM(pack, outing->setups, outing->n_setups);
    for (size_t s = 0; s < outing->n_setups; s++) {
        struct cw_setup *setup = &outing->setups[s];
        pack_name(pack, &setup->name);
        pack_name(pack, &setup->description);
        cw_pack_number(pack, &setup->load_kg);
        pack_name(pack, &setup->tyres);
        cw_pack_number(pack, &setup->pressure_kpa);
        pack_name(pack, &setup->drag);
        cw_pack_size(pack, &setup->rider, outing->n_companions + 1);
    }
}

/* Paths and lists that only reading and labelling ask for are left out. */
static void pack_outing(struct cw_pack *pack, struct cw_outing *outing, size_t n_recordings) {
    cw_pack_text(pack, &outing->file);
    pack_name(pack, &outing->name);
    CW_PACK_CHOICE(pack, outing->elevation, CW_ELEVATION_LEVEL + 1);
    cw_pack_flag(pack, &outing->elevation_given);
    cw_pack_number(pack, &outing->elevation_uncertainty_m);
    cw_pack_flag(pack, &outing->utc_offset_given);
    cw_pack_number(pack, &outing->utc_offset_s);
    pack_rider(pack, &outing->rider);
    cw_pack_count(pack, &outing->n_companions);
    CW_PACK_ROOM(pack, outing->companions, outing->n_companions);
    for (size_t i = 0; i < outing->n_companions; i++) {
        pack_rider(pack, &outing->companions[i]);
        if (!outing->companions[i].name) cw_pack_refuse(pack);
    }
    pack_setups(pack, outing);
    cw_pack_count(pack, &outing->n_own_recordings);
    CW_PACK_ROOM(pack, outing->own_recordings, outing->n_own_recordings);
    for (size_t i = 0; i < outing->n_own_recordings; i++) {
        struct cw_own_recording *own = &outing->own_recordings[i];
        cw_pack_size(pack, &own->recording, n_recordings);
        cw_pack_size(pack, &own->rider, outing->n_companions + 1);
        cw_pack_index(pack, &own->setup, outing->n_setups);
    }
    pack_air(pack, &outing->air);
    cw_pack_count(pack, &outing->n_own_air);
    CW_PACK_ROOM(pack, outing->own_air, outing->n_own_air);
    for (size_t i = 0; i < outing->n_own_air; i++) {
        cw_pack_size(pack, &outing->own_air[i].recording, n_recordings);
        pack_air(pack, &outing->own_air[i].air);
    }
    cw_pack_number(pack, &outing->wind_along_ms);
    cw_pack_number(pack, &outing->wind_uncertainty_ms);
    cw_pack_flag(pack, &outing->wind_given);
    cw_pack_number(pack, &outing->crr);
    cw_pack_number(pack, &outing->crr_uncertainty);
    cw_pack_count(pack, &outing->order.n);
    CW_PACK_ROOM(pack, outing->order.setup, outing->order.n);
    for (size_t i = 0; i < outing->order.n; i++)
        cw_pack_index(pack, &outing->order.setup[i], outing->n_setups);
    pack_notes(pack, &outing->wind_ms);
    pack_notes(pack, &outing->runout_m);
    pack_notes(pack, &outing->time_s);
    cw_pack_flag(pack, &outing->starts_at_mark);
    pack_texts(pack, &outing->defaults, &outing->n_defaults);
}

/* ---- what was recorded, and the runs in it ---- */

/* Of its samples the times of the first and the last, by which rides are told from each other. */
static void pack_recording(struct cw_pack *pack, struct cw_recording *recording) {
    struct cw_samples *samples = &recording->samples;
    double from_s = samples->n ? samples->time_s[0] : NAN,
           to_s = samples->n ? samples->time_s[samples->n - 1] : NAN;
    pack_name(pack, &recording->file);
    cw_pack_number(pack, &recording->utc_offset_s);
    cw_pack_number(pack, &from_s);
    cw_pack_number(pack, &to_s);
    cw_pack_flag(pack, &recording->has_position);
    pack_warnings(pack, &recording->warnings);
    if (!pack->reads) return;
    samples->n = samples->capacity = 2;
    CW_PACK_ROOM(pack, samples->time_s, samples->n);
    if (!samples->time_s) return;
    samples->time_s[0] = from_s;
    samples->time_s[1] = to_s;
}

/* Its span, and the names of its columns that were left alone. */
static void pack_log(struct cw_pack *pack, struct cw_air_log *log) {
    double from_s = log->n ? log->from_s[0] : NAN, to_s = log->n ? log->to_s[log->n - 1] : NAN;
    pack_name(pack, &log->file);
    cw_pack_number(pack, &from_s);
    cw_pack_number(pack, &to_s);
    pack_texts(pack, &log->unused, &log->n_unused);
    if (!pack->reads) return;
    log->n = 1;
    CW_PACK_ROOM(pack, log->from_s, log->n);
    CW_PACK_ROOM(pack, log->to_s, log->n);
    if (!log->from_s || !log->to_s) return;
    *log->from_s = from_s;
    *log->to_s = to_s;
}

static void pack_run(struct cw_pack *pack, struct cw_run *run, const struct cw_outing *outing,
                     size_t n_recordings) {
    size_t reasons = run->reasons;
    cw_pack_size(pack, &run->recording, n_recordings);
    cw_pack_long(pack, &run->number);
    cw_pack_number(pack, &run->start_s);
    cw_pack_number(pack, &run->duration_s);
    cw_pack_number(pack, &run->distance_m);
    cw_pack_number(pack, &run->drop_m);
    cw_pack_number(pack, &run->mean_slope);
    cw_pack_number(pack, &run->entry_speed_ms);
    cw_pack_number(pack, &run->top_speed_ms);
    cw_pack_number(pack, &run->exit_speed_ms);
    CW_PACK_CHOICE(pack, run->ends, CW_END_RECORDING + 1);
    cw_pack_flag(pack, &run->kept);
    cw_pack_size(pack, &reasons, (size_t)1 << CW_REASON_COUNT);
    run->reasons = (unsigned)reasons;
    cw_pack_flag(pack, &run->by_energy);
    cw_pack_index(pack, &run->road, SIZE_MAX);
    cw_pack_flag(pack, &run->reversed);
    cw_pack_size(pack, &run->descent, SIZE_MAX);
    cw_pack_number(pack, &run->noted.wind_ms);
    cw_pack_number(pack, &run->noted.runout_m);
    cw_pack_number(pack, &run->noted.time_s);
    cw_pack_number(pack, &run->logged.wind_ms);
    cw_pack_number(pack, &run->logged.cross_ms);
    cw_pack_index(pack, &run->setup, outing->n_setups);
}

static void pack_runs(struct cw_pack *pack, struct cw_analysed *of) {
    struct cw_runs *runs = &of->runs;
    cw_pack_count(pack, &runs->n);
    CW_PACK_ROOM(pack, runs->at, runs->n);
    for (size_t i = 0; i < runs->n; i++)
        pack_run(pack, &runs->at[i], &of->outing, of->n_recordings);
    cw_pack_size(pack, &runs->n_roads, runs->n + 1);
    cw_pack_size(pack, &runs->n_descents, runs->n + 1);
    cw_pack_flag(pack, &runs->in_pieces);
}

/* ---- the fit ---- */

static void pack_place(struct cw_pack *pack, struct cw_place *place) {
    cw_pack_number(pack, &place->height_m);
    cw_pack_number(pack, &place->temperature_c);
    cw_pack_number(pack, &place->pressure_pa);
    cw_pack_number(pack, &place->humidity);
    cw_pack_number(pack, &place->lapse_1m);
    cw_pack_number(pack, &place->density_kgm3);
    cw_pack_number(pack, &place->gravity_ms2);
    cw_pack_number(pack, &place->column.height_m);
    cw_pack_number(pack, &place->column.cooling_1m);
    cw_pack_number(pack, &place->column.power);
    cw_pack_number(pack, &place->barometric_scale);
    cw_pack_number(pack, &place->barometric_bend_1m);
    for (int part = 0; part < CW_AIR_PARTS; part++) cw_pack_flag(pack, &place->logged[part]);
}

static void pack_breaks(struct cw_pack *pack, struct cw_fit_break **breaks, size_t *n) {
    cw_pack_count(pack, n);
    CW_PACK_ROOM(pack, *breaks, *n);
    for (size_t i = 0; i < *n; i++) {
        cw_pack_number(pack, &(*breaks)[i].at_m);
        cw_pack_number(pack, &(*breaks)[i].height_m);
        cw_pack_number(pack, &(*breaks)[i].speed_ms);
    }
}

static void pack_fit_run(struct cw_pack *pack, struct cw_fit_run *run, const struct cw_fit *fit,
                         const struct cw_analysed *of) {
    cw_pack_size(pack, &run->run, of->runs.n);
    cw_pack_index(pack, &run->setup, of->outing.n_setups);
    cw_pack_size(pack, &run->tyres, fit->n_tyres);
    cw_pack_number(pack, &run->mass_kg);
    cw_pack_number(pack, &run->density_kgm3);
    pack_estimate(pack, &run->alone_cda_m2);
    pack_estimate(pack, &run->alone_crr);
    cw_pack_number(pack, &run->correlation);
    cw_pack_flag(pack, &run->identifiable);
    cw_pack_flag(pack, &run->crr_known);
    pack_estimate(pack, &run->together_cda_m2);
    cw_pack_flag(pack, &run->together_identifiable);
    if (!pack->fault && !of->runs.at[run->run].kept) cw_pack_refuse(pack);
    pack_breaks(pack, &run->losses, &run->n_losses);
    pack_breaks(pack, &run->jumps, &run->n_jumps);
}

/* A set of tyres is named by a setup on it. */
static void pack_tyres(struct cw_pack *pack, const char **name, const struct cw_outing *outing) {
    size_t setup = 0;
    while (!pack->reads && setup + 1 < outing->n_setups &&
           strcmp(outing->setups[setup].tyres, *name) != 0)
        setup++;
    cw_pack_size(pack, &setup, outing->n_setups);
    if (pack->reads) *name = pack->fault ? "" : outing->setups[setup].tyres;
}

static void pack_recorder(struct cw_pack *pack, struct cw_fit_recorder *recorder, size_t n) {
    cw_pack_size(pack, &recorder->device, n);
    cw_pack_number(pack, &recorder->lag_s);
    cw_pack_number(pack, &recorder->lag_error_s);
    cw_pack_number(pack, &recorder->scale);
    cw_pack_number(pack, &recorder->temperature_c);
    cw_pack_number(pack, &recorder->density_kgm3);
    CW_PACK_CHOICE(pack, recorder->temperature_by, CW_AIR_LOG + 1);
}

static void pack_recording_air(struct cw_pack *pack, struct cw_recording_air *air) {
    pack_place(pack, &air->place);
    CW_PACK_CHOICE(pack, air->told_by, CW_AIR_LOG + 1);
    pack_all(pack, air->own, CW_AIR_PARTS);
    pack_all(pack, air->shared, CW_AIR_PARTS);
}

static void pack_cause(struct cw_pack *pack, struct cw_cause *cause, size_t n_x) {
    CW_PACK_CHOICE(pack, cause->kind, CW_CAUSES);
    cw_pack_number(pack, &cause->uncertainty);
    pack_all(pack, cause->effect, n_x);
    cw_cause_name(cause->kind, &cause->name, &cause->unit);
}

static void pack_budget(struct cw_pack *pack, struct cw_budget *budget, size_t n_tyres,
                        size_t n_runs) {
    budget->n_x = n_tyres + n_runs;
    budget->n_tyres = n_tyres;
    cw_pack_size(pack, &budget->n, CW_CAUSES + 1);
    size_t n_effects = budget->n * budget->n_x;
    CW_PACK_ROOM(pack, budget->causes, budget->n);
    CW_PACK_ROOM(pack, budget->effects, n_effects);
    for (size_t k = 0; k < budget->n && !pack->fault; k++) {
        if (pack->reads) budget->causes[k].effect = budget->effects + k * budget->n_x;
        pack_cause(pack, &budget->causes[k], budget->n_x);
    }
    cw_pack_numbers(pack, &budget->own_air, n_runs);
    cw_pack_size(pack, &budget->n_kinds, n_runs + 1);
    size_t n_kind = budget->n_kinds ? n_runs : 0;
    CW_PACK_ROOM(pack, budget->kind, n_kind);
    for (size_t i = 0; budget->kind && i < n_kind; i++)
        cw_pack_size(pack, &budget->kind[i], budget->n_kinds);
    cw_pack_numbers(pack, &budget->by_wind, budget->n_kinds * budget->n_x);
}

static void pack_way(struct cw_pack *pack, struct cw_fit_way *way, size_t n_recordings) {
    cw_pack_size(pack, &way->recording, n_recordings);
    cw_pack_size(pack, &way->road, SIZE_MAX);
    cw_pack_flag(pack, &way->reversed);
    cw_pack_number(pack, &way->from_m);
    cw_pack_number(pack, &way->to_m);
    cw_pack_number(pack, &way->rolling_m);
    cw_pack_number(pack, &way->entry_speed_ms);
    cw_pack_number(pack, &way->wind_along_ms);
    cw_pack_number(pack, &way->air_density_kgm3);
    cw_pack_number(pack, &way->warmer_k);
    cw_pack_number(pack, &way->crr_share);
    cw_pack_number(pack, &way->cda_m2);
    cw_pack_number(pack, &way->by_wind.speed);
    cw_pack_number(pack, &way->by_wind.one);
    cw_pack_number(pack, &way->worst_m);
    cw_pack_number(pack, &way->worst_ms);
}

/* Longer roads, and finer ones, no fit has. */
static const double least_spacing_m = 1, most_road_m = 1e6;

static void pack_profile(struct cw_pack *pack, struct cw_profile *profile) {
    cw_pack_number(pack, &profile->start_m);
    cw_pack_number(pack, &profile->spacing_m);
    cw_pack_count(pack, &profile->n);
    cw_pack_numbers(pack, &profile->coefficient_m, profile->n);
    if (profile->n < 4 || !(profile->spacing_m >= least_spacing_m) ||
        !((double)profile->n * profile->spacing_m <= most_road_m) ||
        !(fabs(profile->start_m) <= most_road_m))
        cw_pack_refuse(pack);
}

static void pack_ways(struct cw_pack *pack, struct cw_fit_ways *ways, const struct cw_fit *fit,
                      size_t n_recordings) {
    size_t n_runs = fit->n_runs;
    CW_PACK_ROOM(pack, ways->at, n_runs);
    for (size_t i = 0; ways->at && i < n_runs; i++) pack_way(pack, &ways->at[i], n_recordings);
    cw_pack_flag(pack, &ways->warms);
    cw_pack_numbers(pack, &ways->crr, fit->n_tyres);
    pack_profile(pack, &ways->profile);
}

/* The information, the estimates, and the covariances by the noise. */
static void pack_matrices(struct cw_pack *pack, struct cw_fit_workings *w, size_t n_tyres,
                          size_t n_runs) {
    size_t n = n_tyres + n_runs, square = n * n, room = (2 + CW_NOISE_PARAMETERS) * square + n;
    if (pack->reads && square / 2 > cw_pack_left(pack) / sizeof(double)) cw_pack_refuse(pack);
    if (pack->reads && !pack->fault) {
        struct cw_error unused;
        if (cw_information_alloc(n_tyres, n_runs, &w->information, &unused) < 0)
            pack->fault = CW_PACK_NO_MEMORY;
    }
    CW_PACK_ROOM(pack, w->covariance, room);
    if (pack->fault) return;
    w->held = w->covariance + square;
    w->moved = w->held + square;
    w->value = w->moved + CW_NOISE_PARAMETERS * square;
    cw_pack_matrix(pack, w->information.matrix, n);
    pack_all(pack, w->information.vector, n);
    cw_pack_matrix(pack, w->covariance, n);
    cw_pack_matrix(pack, w->held, n);
    for (size_t k = 0; k < CW_NOISE_PARAMETERS; k++)
        if (w->move[k] != 0) cw_pack_matrix(pack, w->moved + k * square, n);
    pack_all(pack, w->value, n);
}

static void pack_workings(struct cw_pack *pack, struct cw_fit *fit, size_t n_recordings) {
    struct cw_fit_workings *w = fit->workings;
    cw_pack_size(pack, &w->n_noise, CW_REML_MOST + 1);
    for (size_t a = 0; a < w->n_noise; a++) pack_all(pack, w->noise_covariance[a], w->n_noise);
    pack_all(pack, w->move, CW_NOISE_PARAMETERS);
    pack_matrices(pack, w, fit->n_tyres, fit->n_runs);
    CW_PACK_ROOM(pack, w->air, n_recordings);
    for (size_t r = 0; w->air && r < n_recordings; r++) pack_recording_air(pack, &w->air[r]);
    pack_budget(pack, &w->budget, fit->n_tyres, fit->n_runs);
    pack_ways(pack, &w->ways, fit, n_recordings);
}

static void pack_noise(struct cw_pack *pack, struct cw_noise *noise) {
    double *all[] = {
        &noise->gust_sd_ms,     &noise->gust_time_s,   &noise->drift_sd_m,  &noise->drift_time_s,
        &noise->elevation_sd_m, &noise->speed_sd_ms,   &noise->wander_sd_m, &noise->wander_time_s,
        &noise->jitter_sd_m,    &noise->jitter_time_s, &noise->creep_sd_ms, &noise->creep_time_s,
        &noise->position_sd_m,  &noise->roughness_m,   &noise->map_sd_m,    &noise->map_length_m};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) cw_pack_number(pack, all[i]);
}

/* Said only where no recording has positions: it is then a guess. */
static void pack_latitude(struct cw_pack *pack, struct cw_analysed *of) {
    double latitude_deg = of->fit.place.latitude_deg;
    for (size_t r = 0; r < of->n_recordings; r++)
        if (of->recordings[r].has_position) latitude_deg = NAN;
    cw_pack_number(pack, &latitude_deg);
    if (pack->reads) of->fit.place.latitude_deg = latitude_deg;
}

static void pack_fit(struct cw_pack *pack, struct cw_analysed *of) {
    struct cw_fit *fit = &of->fit;
    size_t one = 1;
    CW_PACK_ROOM(pack, fit->workings, one);
    pack_place(pack, &fit->place);
    pack_latitude(pack, of);
    cw_pack_count(pack, &fit->n_tyres);
    CW_PACK_ROOM(pack, fit->tyres, fit->n_tyres);
    for (size_t t = 0; t < fit->n_tyres; t++) pack_tyres(pack, &fit->tyres[t], &of->outing);
    cw_pack_count(pack, &fit->n_runs);
    CW_PACK_ROOM(pack, fit->runs, fit->n_runs);
    for (size_t i = 0; i < fit->n_runs; i++) pack_fit_run(pack, &fit->runs[i], fit, of);
    if (!fit->n_tyres || !fit->n_runs) cw_pack_refuse(pack);
    CW_PACK_ROOM(pack, fit->crr, fit->n_tyres);
    CW_PACK_ROOM(pack, fit->crr_at_20c, fit->n_tyres);
    CW_PACK_ROOM(pack, fit->crr_identifiable, fit->n_tyres);
    for (size_t t = 0; !pack->fault && t < fit->n_tyres; t++) {
        pack_estimate(pack, &fit->crr[t]);
        pack_estimate(pack, &fit->crr_at_20c[t]);
        cw_pack_flag(pack, &fit->crr_identifiable[t]);
    }
    cw_pack_flag(pack, &fit->crr_given);
    cw_pack_number(pack, &fit->temperature_c);
    cw_pack_number(pack, &fit->coldest_c);
    cw_pack_number(pack, &fit->warmest_c);
    pack_estimate(pack, &fit->crr_fall_1k);
    fit->n_recorders = of->n_recordings;
    CW_PACK_ROOM(pack, fit->recorders, fit->n_recorders);
    for (size_t r = 0; r < fit->n_recorders; r++)
        pack_recorder(pack, &fit->recorders[r], fit->n_recorders);
    pack_noise(pack, &fit->noise);
    cw_pack_flag(pack, &fit->wind_told);
    pack_estimate(pack, &fit->wind_along_ms);
    for (int who = 0; who < CW_WIND_SEEN; who++)
        CW_PACK_CHOICE(pack, fit->wind_use[who], CW_WIND_UNRELATED + 1);
    cw_pack_flag(pack, &fit->bends_told);
    pack_estimate(pack, &fit->bends_crr);
    cw_pack_size(pack, &fit->n_roads, fit->n_runs + 1);
    if (!pack->fault) pack_workings(pack, fit, of->n_recordings);
}

/* ---- what was timed ---- */

static void pack_timed_run(struct cw_pack *pack, struct cw_timed_run *run,
                           const struct cw_analysed *of, size_t n_gates) {
    cw_pack_size(pack, &run->run, of->runs.n);
    cw_pack_index(pack, &run->setup, of->outing.n_setups);
    for (size_t g = 0; g < n_gates; g++) {
        cw_pack_number(pack, &run->at[g].time_s);
        cw_pack_number(pack, &run->at[g].speed_ms);
        cw_pack_number(pack, &run->at[g].standard_error_s);
        cw_pack_number(pack, &run->at[g].shift_s);
        cw_pack_number(pack, &run->at[g].interval_s);
    }
    pack_estimate(pack, &run->time_s);
    pack_estimate(pack, &run->entry_speed_ms);
    pack_estimate(pack, &run->exit_speed_ms);
    pack_estimate(pack, &run->time_watched_s);
    pack_estimate(pack, &run->runout_taped_m);
    pack_estimate(pack, &run->runout_m);
    cw_pack_number(pack, &run->time_by_entry_sms);
}

static void pack_doubt(struct cw_pack *pack, struct cw_timed_doubt *doubt, size_t n_timed) {
    cw_pack_size(pack, &doubt->at, n_timed);
    CW_PACK_CHOICE(pack, doubt->quantity, CW_TIMED_QUANTITIES);
    cw_pack_number(pack, &doubt->noted);
    cw_pack_number(pack, &doubt->recorded);
    cw_pack_flag(pack, &doubt->turned);
    cw_pack_number(pack, &doubt->others_off);
    cw_pack_number(pack, &doubt->others_sd);
    cw_pack_number(pack, &doubt->swapped);
}

static void pack_step(struct cw_pack *pack, struct cw_timed_step *step, size_t n_setups) {
    cw_pack_size(pack, &step->setup, n_setups);
    cw_pack_number(pack, &step->from_ms);
    cw_pack_number(pack, &step->to_ms);
    cw_pack_flag(pack, &step->pairs);
    cw_pack_size(pack, &step->timing.n, SIZE_MAX);
    cw_pack_number(pack, &step->timing.mean_s);
    cw_pack_number(pack, &step->timing.sd_s);
    cw_pack_number(pack, &step->timing.precision);
    if (pack->reads) step->force_precision = NAN; /* of what is compared */
}

/* As measured: what it is set against is the comparison's. */
static void pack_timed(struct cw_pack *pack, struct cw_timed *timed, const struct cw_analysed *of) {
    cw_pack_count(pack, &timed->n);
    if (!timed->n) return;
    cw_pack_size(pack, &timed->road, SIZE_MAX);
    cw_pack_number(pack, &timed->length_m);
    cw_pack_size(pack, &timed->n_gates, CW_GATES_MAX + 1);
    if (timed->n_gates < 2) cw_pack_refuse(pack);
    pack_all(pack, timed->gates_m, timed->n_gates);
    cw_pack_flag(pack, &timed->gates_chosen);
    cw_pack_number(pack, &timed->shift_sd_m);
    cw_pack_flag(pack, &timed->from_mark);
    CW_PACK_ROOM(pack, timed->runs, timed->n);
    for (size_t k = 0; k < timed->n; k++) pack_timed_run(pack, &timed->runs[k], of, timed->n_gates);
    cw_pack_count(pack, &timed->n_doubts);
    CW_PACK_ROOM(pack, timed->doubts, timed->n_doubts);
    for (size_t i = 0; i < timed->n_doubts; i++) pack_doubt(pack, &timed->doubts[i], timed->n);
    cw_pack_count(pack, &timed->n_steps);
    CW_PACK_ROOM(pack, timed->steps, timed->n_steps);
    for (size_t i = 0; i < timed->n_steps; i++)
        pack_step(pack, &timed->steps[i], of->outing.n_setups);
    pack_warnings(pack, &timed->warnings);
}

/* Of the same runs, where anything was timed there. */
static void pack_more(struct cw_pack *pack, struct cw_timed *more, const struct cw_analysed *of) {
    pack_timed(pack, more, of);
    if (more->n && more->n != of->timed.n) cw_pack_refuse(pack);
}

/* ---- all of it ---- */

static void pack_fault(struct cw_pack *pack, struct cw_error *fault) {
    cw_pack_long(pack, &fault->line);
    cw_pack_chars(pack, fault->file, sizeof fault->file);
    cw_pack_chars(pack, fault->message, sizeof fault->message);
    if (pack->reads) fault->code = CW_E_DATA;
}

static void pack_labels(struct cw_pack *pack, struct cw_analysed *of) {
    bool labelled = of->labelled == CW_OK;
    cw_pack_flag(pack, &labelled);
    cw_pack_flag(pack, &of->skip_failed);
    if (labelled) return;
    of->labelled = CW_E_DATA;
    pack_fault(pack, &of->label_error);
}

static void pack_heights(struct cw_pack *pack, struct cw_height_kind *heights) {
    cw_pack_flag(pack, &heights->told);
    CW_PACK_CHOICE(pack, heights->kind, CW_ELEVATION_LEVEL + 1);
    cw_pack_size(pack, &heights->n, SIZE_MAX);
    cw_pack_number(pack, &heights->apart_m);
    cw_pack_number(pack, &heights->drift_m);
}

static void pack_analysed(struct cw_pack *pack, struct cw_analysed *of) {
    bool logged = of->log != NULL;
    size_t one = 1;
    cw_pack_size(pack, &of->n_recordings, CW_OUTING_ITEMS_MAX + 1);
    if (!of->n_recordings) cw_pack_refuse(pack);
    CW_PACK_ROOM(pack, of->recordings, of->n_recordings);
    for (size_t r = 0; r < of->n_recordings; r++) pack_recording(pack, &of->recordings[r]);
    pack_outing(pack, &of->outing, of->n_recordings);
    cw_pack_flag(pack, &logged);
    if (logged) CW_PACK_ROOM(pack, of->log, one);
    if (of->log) pack_log(pack, of->log);
    cw_pack_size(pack, &of->log_covers, SIZE_MAX);
    cw_pack_number(pack, &of->log_shift_h);
    pack_heights(pack, &of->heights);
    pack_runs(pack, of);
    pack_labels(pack, of);
    pack_fit(pack, of);
    if (pack->fault) return;
    cw_pack_chars(pack, of->untimed, sizeof of->untimed);
    pack_timed(pack, &of->timed, of);
    for (int half = 0; half < 2; half++) pack_more(pack, &of->more_times.half[half], of);
    pack_more(pack, &of->more_times.at_end, of);
}

void cw_analysed_save(const struct cw_analysed *of, struct cw_text *word) {
    struct cw_pack pack = {0};
    struct cw_analysed shallow = *of; /* packing changes nothing, but could */
    pack_analysed(&pack, &shallow);
    cw_text_add(word, "%s.", cw_version());
    cw_pack_add(&pack, word);
    cw_pack_free(&pack);
}

/* The version that a word begins with: up to the checksum, which no version is as long as. */
static size_t version_length(const char *word, size_t length) {
    size_t at = 0, last = 0;
    while (at < length && at < 64 && memchr("0123456789.", word[at], 11)) {
        if (word[at] == '.') last = at;
        at++;
    }
    return last;
}

enum cw_status cw_analysed_restore(const char *word, size_t length, const char *file, long line,
                                   struct cw_analysed *of, struct cw_error *error) {
    static const char damaged[] = "holds an outing that is damaged; compare it anew";
    struct cw_pack pack;
    size_t version = version_length(word, length);
    if (!version) return cw_error_set(error, CW_E_FORMAT, file, line, damaged);
    if (strlen(cw_version()) != version || strncmp(word, cw_version(), version) != 0)
        return cw_error_set(error, CW_E_FORMAT, file, line,
                            "holds an outing as coastwise %.*s has it, and this is %s: compare it "
                            "anew, from its recordings",
                            (int)version, word, cw_version());
    if (cw_pack_open(&pack, word + version + 1, length - version - 1)) {
        of->has_file = of->saved = of->fitted = true;
        pack_analysed(&pack, of);
        if (!pack.fault && !cw_pack_ends(&pack)) pack.fault = CW_PACK_WRONG;
    }
    enum cw_pack_fault fault = pack.fault;
    cw_pack_free(&pack);
    if (fault == CW_PACK_NO_MEMORY) return cw_error_memory(error);
    return fault ? cw_error_set(error, CW_E_FORMAT, file, line, damaged) : CW_OK;
}
