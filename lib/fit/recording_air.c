#include "fit/recording_air.h"

#include <math.h>
#include <stdbool.h>

#include "fit/prepare.h"
#include "outing/air_log.h"
#include "physics/air.h"

const double cw_device_warm_c = 2, cw_device_warm_sd_c = 1.5, cw_device_own_sd_c = 1.5;

/* What the device measured over its kept runs, C; NaN if nothing. */
static double device_mean(const struct cw_ridden *input, size_t recording) {
    const double *temperature_c = input->recordings[recording].samples.temperature_c;
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < input->runs->n; i++) {
        const struct cw_run *run = &input->runs->at[i];
        if (!run->kept || run->recording != recording) continue;
        for (size_t j = run->first; j <= run->last; j++) {
            if (!isfinite(temperature_c[j])) continue;
            sum += temperature_c[j];
            n++;
        }
    }
    return n ? sum / (double)n : NAN;
}

static bool has_runs(const struct cw_ridden *input, size_t recording) {
    for (size_t i = 0; i < input->runs->n; i++)
        if (input->runs->at[i].kept && input->runs->at[i].recording == recording) return true;
    return false;
}

static const struct cw_air *own_air(const struct cw_outing *outing, size_t recording) {
    for (size_t i = 0; i < outing->n_own_air; i++)
        if (outing->own_air[i].recording == recording) return &outing->own_air[i].air;
    return NULL;
}

/* The devices' temperatures: how many, their mean, and the variance between recordings that is not
 * the devices' own error. */
struct devices {
    size_t n, without; /* recordings with runs, with a temperature and without one */
    double mean_c, between_c2;
};

/* Of a device; NaN, but where all are asked, if the file says its recording's air. */
static double device_of(const struct cw_ridden *input, size_t recording, bool all) {
    const struct cw_air *own = own_air(input->outing, recording);
    return !all && own && isfinite(own->temperature_c) ? NAN : device_mean(input, recording);
}

static struct devices look(const struct cw_ridden *input, bool all) {
    struct devices d = {0};
    double squares = 0;
    for (size_t r = 0; r < input->n_recordings; r++) {
        if (!has_runs(input, r)) continue;
        double device_c = device_of(input, r, all);
        if (isnan(device_c)) {
            d.without++;
            continue;
        }
        d.n++;
        d.mean_c += device_c;
    }
    if (!d.n) return d;
    d.mean_c /= (double)d.n;
    for (size_t r = 0; r < input->n_recordings; r++) {
        double device_c = device_of(input, r, all);
        if (isfinite(device_c)) squares += (device_c - d.mean_c) * (device_c - d.mean_c);
    }
    if (d.n > 1)
        d.between_c2 =
            fmax(0, squares / (double)(d.n - 1) - cw_device_own_sd_c * cw_device_own_sd_c);
    return d;
}

static struct cw_device_air told_by_devices(const struct devices *d) {
    return (struct cw_device_air){
        .n = d->n,
        .recorded_c = d->mean_c,
        .temperature_c = d->mean_c - cw_device_warm_c,
        .uncertainty_c = hypot(cw_device_warm_sd_c, cw_device_own_sd_c / sqrt((double)d->n))};
}

struct cw_device_air cw_device_air(const struct cw_ridden *input) {
    struct cw_device_air none = {0};
    struct devices devices = look(input, true);
    return devices.n ? told_by_devices(&devices) : none;
}

/* What an outing's air is off by, the same for all recordings. */
static void share_all(const struct cw_outing *outing, double shared[CW_AIR_PARTS]) {
    shared[CW_AIR_TEMPERATURE] = outing->air.temperature_uncertainty_c;
    shared[CW_AIR_PRESSURE] = 100 * outing->air.pressure_uncertainty_hpa;
    shared[CW_AIR_HUMIDITY] = outing->air.humidity_uncertainty_percent / 100;
    shared[CW_AIR_LAPSE] =
        (isfinite(outing->air.lapse_uncertainty_k_km) ? outing->air.lapse_uncertainty_k_km
                                                      : CW_LAPSE_ERROR_K_KM) /
        1000;
}

/* The recording's deviation from the mean of all, as far as devices tell it: shrunk by the share of
 * their differences that is not their own error, which leaves that much unknown. */
static void by_device(const struct devices *d, double device_c, struct cw_recording_air *air) {
    double error = cw_device_own_sd_c * cw_device_own_sd_c, between = d->between_c2;
    if (!(between > 0)) return;
    if (isnan(device_c)) {
        air->own[CW_AIR_TEMPERATURE] = sqrt(between);
        return;
    }
    double weight = between / (between + error);
    air->place.temperature_c += weight * (device_c - d->mean_c);
    air->own[CW_AIR_TEMPERATURE] = sqrt(weight * error);
    air->told_by = CW_AIR_DEVICE;
}

static void by_file(const struct cw_air *own, struct cw_recording_air *air) {
    if (isfinite(own->temperature_c)) {
        air->place.temperature_c = own->temperature_c;
        air->own[CW_AIR_TEMPERATURE] = own->temperature_uncertainty_c;
        air->shared[CW_AIR_TEMPERATURE] = 0;
        air->told_by = CW_AIR_RECORDING;
        air->place.logged[CW_AIR_TEMPERATURE] = false;
    }
    double pressure_pa = cw_place_pressure_pa(own, air->place.height_m, air->place.temperature_c);
    if (isfinite(pressure_pa)) {
        air->place.pressure_pa = pressure_pa;
        air->own[CW_AIR_PRESSURE] = 100 * own->pressure_uncertainty_hpa;
        air->shared[CW_AIR_PRESSURE] = 0;
        air->place.logged[CW_AIR_PRESSURE] = false;
    }
    if (isfinite(own->humidity_percent)) {
        air->place.humidity = own->humidity_percent / 100;
        air->own[CW_AIR_HUMIDITY] = own->humidity_uncertainty_percent / 100;
        air->shared[CW_AIR_HUMIDITY] = 0;
        air->place.logged[CW_AIR_HUMIDITY] = false;
    }
    /* The thermometers at both ends are the same ones on all days. */
    if (isfinite(own->lapse_k_km)) {
        air->place.lapse_1m = own->lapse_k_km / 1000;
        air->shared[CW_AIR_LAPSE] = own->lapse_uncertainty_k_km / 1000;
    }
}

/* What a log's columns are off by where the outing file does not say: C, Pa, humidity 0..1. Common
 * practice, no source. */
static const double log_error[CW_AIR_PARTS] = {1, 100, 0.1, 0.003};

/* The log's mean over a run, in the units of a place; NaN where it has none. */
static double logged(const struct cw_air_log *log, enum cw_air_part part,
                     const struct cw_run *run) {
    const double *column[CW_AIR_PARTS] = {log->temperature_c, log->pressure_hpa,
                                          log->humidity_percent, NULL};
    static const double per_si[CW_AIR_PARTS] = {1, 0.01, 100, 1000};
    double share = 0;
    if (!column[part]) return NAN;
    double mean =
        cw_air_log_mean(log, column[part], run->start_s, run->start_s + run->duration_s, &share);
    return share >= CW_AIR_LOG_ENOUGH ? mean / per_si[part] : NAN;
}

static double *part_of(struct cw_place *place, enum cw_air_part part) {
    return part == CW_AIR_TEMPERATURE ? &place->temperature_c
           : part == CW_AIR_PRESSURE  ? &place->pressure_pa
           : part == CW_AIR_HUMIDITY  ? &place->humidity
                                      : &place->lapse_1m;
}

struct cw_place cw_recording_air_of_run(const struct cw_ridden *input,
                                        const struct cw_recording_air *air,
                                        const struct cw_run *run) {
    struct cw_place place = air->place;
    for (enum cw_air_part k = 0; k < CW_AIR_PARTS; k++) {
        double value = input->log && air->place.logged[k] ? logged(input->log, k, run) : NAN;
        if (isfinite(value)) *part_of(&place, k) = value;
    }
    cw_place_settle(&place, input->outing->elevation);
    return place;
}

/* The mean over the recording's runs of what the log has. */
static void by_log(const struct cw_ridden *input, size_t recording, struct cw_recording_air *air) {
    const struct cw_air *said = &input->outing->air;
    const double by_file[CW_AIR_PARTS] = {said->temperature_c, cw_place_pressure_pa(said, 0, 0),
                                          said->humidity_percent, said->lapse_k_km};
    for (enum cw_air_part k = 0; k < CW_AIR_PARTS; k++) {
        double sum = 0, n = 0;
        for (size_t i = 0; i < input->runs->n; i++) {
            const struct cw_run *run = &input->runs->at[i];
            double value =
                run->kept && run->recording == recording ? logged(input->log, k, run) : NAN;
            if (isnan(value)) continue;
            sum += value;
            n++;
        }
        if (!(n > 0)) continue;
        *part_of(&air->place, k) = sum / n;
        if (isnan(by_file[k])) air->shared[k] = log_error[k]; /* else what the file says */
        air->own[k] = 0;
        air->place.logged[k] = true;
        if (k == CW_AIR_TEMPERATURE) air->told_by = CW_AIR_LOG;
    }
}

/* The outing's own place has the mean of what its recordings have by the log. */
static void place_by_log(const struct cw_ridden *input, struct cw_recording_air *air,
                         struct cw_place *place) {
    for (enum cw_air_part k = 0; k < CW_AIR_PARTS; k++) {
        double sum = 0, n = 0;
        for (size_t r = 0; r < input->n_recordings; r++) {
            if (!air[r].place.logged[k]) continue;
            sum += *part_of(&air[r].place, k);
            n++;
        }
        if (!(n > 0)) continue;
        *part_of(place, k) = sum / n;
        place->logged[k] = true;
    }
    cw_place_settle(place, input->outing->elevation);
}

void cw_recording_air_make(const struct cw_ridden *input, struct cw_place *place,
                           struct cw_recording_air *air) {
    const struct cw_outing *outing = input->outing;
    double shared[CW_AIR_PARTS];
    enum cw_air_source told_by =
        isfinite(outing->air.temperature_c) ? CW_AIR_OUTING : CW_AIR_STANDARD;
    struct devices devices = look(input, false);
    share_all(outing, shared);
    if (told_by == CW_AIR_STANDARD && devices.n) {
        struct cw_device_air told = told_by_devices(&devices);
        place->temperature_c = told.temperature_c;
        shared[CW_AIR_TEMPERATURE] = told.uncertainty_c;
        told_by = CW_AIR_DEVICE;
        cw_place_settle(place, outing->elevation);
    }
    for (size_t r = 0; r < input->n_recordings; r++) {
        const struct cw_air *own = own_air(outing, r);
        air[r] = (struct cw_recording_air){.place = *place, .told_by = told_by};
        for (size_t k = 0; k < CW_AIR_PARTS; k++) air[r].shared[k] = shared[k];
        if (!own || isnan(own->temperature_c))
            by_device(&devices, device_of(input, r, false), &air[r]);
        if (input->log) by_log(input, r, &air[r]);
        if (own) by_file(own, &air[r]);
        cw_place_settle(&air[r].place, outing->elevation);
    }
    place_by_log(input, air, place);
}

double cw_air_parts_error(const struct cw_place *p, const double part[CW_AIR_PARTS]) {
    double moved[] = {
        cw_air_density(p->temperature_c + part[CW_AIR_TEMPERATURE], p->pressure_pa, p->humidity),
        cw_air_density(p->temperature_c, p->pressure_pa + part[CW_AIR_PRESSURE], p->humidity),
        cw_air_density(p->temperature_c, p->pressure_pa,
                       fmin(1, p->humidity + part[CW_AIR_HUMIDITY]))};
    double squares = 0;
    for (size_t k = 0; k < sizeof moved / sizeof *moved; k++)
        squares += (moved[k] / p->density_kgm3 - 1) * (moved[k] / p->density_kgm3 - 1);
    return sqrt(squares);
}
