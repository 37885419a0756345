#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/hold.h"
#include "base/number.h"
#include "base/print.h"
#include "base/reason.h"
#include "base/text.h"
#include "base/utf8.h"
#include "base/version.h"
#include "base/write.h"
#include "outing/write.h"
#include "recording/write.h"
#include "simulate/simulate.h"

static void add_key(struct cw_text *text, const char *key, double value, int decimals,
                    const char *after) {
    cw_text_add(text, "\"%s\":", key);
    cw_text_add_number(text, value, decimals);
    cw_text_add(text, "%s", after);
}

/* As a JSON string; the names hold no control characters. */
static void add_string(struct cw_text *text, const char *string) {
    cw_text_add(text, "\"");
    for (size_t length; *string; string += length) {
        length = strcspn(string, "\"\\");
        cw_utf8_add_json(text, string, length);
        if (string[length]) cw_text_add(text, "\\%c", string[length++]);
    }
    cw_text_add(text, "\"");
}

/* When the brake was touched, how long and how hard; null where it was not. */
static void add_brush(struct cw_text *text, const struct cw_simulated_run *run) {
    cw_text_add(text, "\"brush\":");
    if (run->brush_s > 0) {
        char start[40];
        cw_time_write(run->brush_start_s, start, sizeof start);
        cw_text_add(text, "{\"start\":\"%s\",", start);
        add_key(text, "duration_s", run->brush_s, 3, ",");
        add_key(text, "deceleration_ms2", run->brush_ms2, 4, "},");
    } else {
        cw_text_add(text, "null,");
    }
}

static void add_hole(struct cw_text *text, const struct cw_simulated_run *run) {
    cw_text_add(text, "\"hole\":");
    if (run->hole_s > 0) {
        char start[40];
        cw_time_write(run->hole_start_s, start, sizeof start);
        cw_text_add(text, "{\"start\":\"%s\",", start);
        add_key(text, "duration_s", run->hole_s, 3, "},");
    } else {
        cw_text_add(text, "null,");
    }
}

/* What was written down of the run, of that which was to be. */
static void add_known(struct cw_text *text, const struct cw_simulate_options *options,
                      const struct cw_simulated_run *run) {
    const struct {
        bool asked;
        const char *key;
        double value;
        int decimals;
    } known[] = {
        {options->note_wind || options->air_log, "shared_wind_ms", run->shared_wind_ms, 4},
        {options->note_wind, "noted_wind_ms", run->noted_wind_ms, 2},
        {options->tape, "taped_m", run->taped_m, 2},
        {options->watch, "timed_s", run->timed_s, 2},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (!known[i].asked) continue;
        cw_text_add(text, ",");
        if (isnan(known[i].value))
            cw_text_add(text, "\"%s\":null", known[i].key);
        else
            add_key(text, known[i].key, known[i].value, known[i].decimals, "");
    }
}

static void add_run(struct cw_text *text, const struct cw_simulate_options *options,
                    const struct cw_simulated *simulated, const struct cw_simulated_run *run) {
    const struct cw_descent *descent = &run->descent;
    char start[40];
    cw_time_write(run->start_s, start, sizeof start);
    cw_text_add(text, "\"setup\":");
    add_string(text, simulated->outing.setups[run->setup].name);
    cw_text_add(text, ",\"recording\":");
    add_string(text, simulated->recordings[run->recording].file);
    cw_text_add(text, ",\"way\":%d,\"start\":\"%s\",", run->way, start);
    add_key(text, "duration_s", descent->end_time_s, 4, ",");
    add_key(text, "distance_m", descent->end_s_m, 4, ",");
    add_key(text, "drop_m", run->height_m[0] - run->height_m[descent->n - 1], 4, ",");
    add_key(text, "entry_speed_ms", descent->speed_ms[0], 4, ",");
    add_key(text, "exit_speed_ms", descent->end_speed_ms, 4, ",");
    double gust_ms = 0;
    for (size_t k = 0; k < descent->n; k++) gust_ms += run->gust_ms[k] / (double)descent->n;
    add_key(text, "mean_gust_ms", gust_ms, 4, ",");
    add_key(text, "mean_wind_ms", run->wind_ms, 4, ",");
    add_key(text, "temperature_c", run->temperature_c, 2, ",");
    add_key(text, "pressure_hpa", run->pressure_hpa, 2, ",");
    add_key(text, "density_kgm3", run->density_kgm3, 6, ",");
    add_brush(text, run);
    add_hole(text, run);
    cw_text_add(text, "\"height_jumps\":%zu,", run->n_jumps);
    add_key(text, "height_jumped_m", run->jump_m, 3, ",");
    add_key(text, "mass_kg", run->mass_kg, 3, ",");
    add_key(text, "cda_m2", run->cda_m2, 6, ",");
    add_key(text, "crr", run->crr, 6, "");
    add_known(text, options, run);
    cw_text_add(text, "}");
}

/* The runs of a rider. */
static void add_runs(struct cw_text *text, const struct cw_simulate_options *options,
                     const struct cw_simulated *simulated, const struct cw_simulated_run *runs) {
    cw_text_add(text, "\"runs\":[");
    for (size_t i = 0; i < simulated->n_runs; i++) {
        cw_text_add(text, "%s{\"number\":%zu,", i ? ",\n   " : "", i + 1);
        add_run(text, options, simulated, &runs[i]);
    }
    cw_text_add(text, "]");
}

void cw_simulate_truth_add(struct cw_text *text, const struct cw_simulate_options *options,
                           const struct cw_simulated *simulated) {
    cw_text_add(text,
                "{\"coastwise\":\"%s\",\"command\":\"simulate\",\"made_up\":true,\"seed\":%lu,\n "
                "\"road\":{",
                cw_version(), options->seed);
    add_key(text, "length_m", simulated->length_m, 3, ",");
    add_key(text, "drop_m", simulated->drop_m, 4, "},\n \"air\":{");
    add_key(text, "density_kgm3", simulated->density_kgm3, 6, ",");
    add_key(text, "gravity_ms2", simulated->gravity_ms2, 6, ",");
    add_key(text, "barometric_scale", simulated->barometric_scale, 6, ",");
    add_key(text, "wind_along_ms", options->wind_along_ms, 4, ",");
    add_key(text, "gust_sd_ms", options->gust_sd_ms, 4, ",");
    add_key(text, "gust_time_s", options->gust_time_s, 4, "},\n \"setups\":[");
    for (size_t i = 0; i < options->n_setups; i++) {
        const struct cw_simulate_setup *setup = &options->setups[i];
        cw_text_add(text, "%s{\"name\":", i ? ",\n   " : "");
        add_string(text, setup->name);
        cw_text_add(text, ",\"tyres\":");
        add_string(text, setup->tyres);
        cw_text_add(text, ",");
        add_key(text, "cda_m2", setup->cda_m2, 6, ",");
        add_key(text, "crr", setup->crr, 6, ",");
        add_key(text, "load_kg", setup->load_kg, 4, "}");
    }
    cw_text_add(text, "],\n ");
    add_runs(text, options, simulated, simulated->runs);
    if (simulated->companion_runs) {
        struct cw_simulate_options companion = cw_simulate_options_companion(options);
        companion.note_wind = companion.tape = companion.watch = false;
        cw_text_add(text, ",\n \"companion\":{\"setup\":");
        add_string(text, CW_SIMULATE_COMPANION);
        cw_text_add(text, ",");
        add_runs(text, &companion, simulated, simulated->companion_runs);
        cw_text_add(text, "}");
    }
    cw_text_add(text, "}\n");
}

static char *join(const char *directory, const char *name) {
    size_t size = strlen(directory) + strlen(name) + 2;
    char *path = malloc(size);
    if (path) cw_print(path, size, "%s/%s", directory, name);
    return path;
}

/* Somebody's own outing is not to be written over. */
static enum cw_status check_room(const struct cw_simulated *simulated, const char *directory,
                                 struct cw_error *error) {
    char *truth = join(directory, "truth.json");
    if (!truth) return cw_error_memory(error);
    bool made_up = access(truth, F_OK) == 0;
    free(truth);
    size_t n = simulated->n_recordings;
    for (size_t i = 0; i < n + 2 && !made_up; i++) {
        const char *name = i < n    ? simulated->recordings[i].file
                           : i == n ? "outing.ini"
                                    : CW_SIMULATE_LOG;
        if (i > n && simulated->log.n == 0) break;
        char *path = join(directory, name);
        if (!path) return cw_error_memory(error);
        enum cw_status status = CW_OK;
        if (access(path, F_OK) == 0)
            status = cw_error_set(error, CW_E_WRITE, path, 0,
                                  "is there already and is not made up (there is no truth.json "
                                  "beside it): choose another directory");
        free(path);
        if (status) return status;
    }
    return CW_OK;
}

static enum cw_status write_recordings(const struct cw_simulate_options *options,
                                       const struct cw_simulated *simulated, const char *directory,
                                       struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t i = 0; i < simulated->n_recordings && !status; i++) {
        const struct cw_recording *recording = &simulated->recordings[i];
        char *path = join(directory, recording->file);
        if (!path) return cw_error_memory(error);
        status = cw_recording_write(path, &recording->samples, recording->format, options->gzip,
                                    options->name, error);
        free(path);
    }
    return status;
}

static enum cw_status write_log(const struct cw_simulated_log *log, const char *directory,
                                struct cw_error *error) {
    if (log->n == 0) return CW_OK;
    struct cw_text text = {0};
    char *path = join(directory, CW_SIMULATE_LOG);
    cw_text_add(&text, "time,wind_along_ms\n");
    for (size_t i = 0; i < log->n; i++) {
        char time[40];
        cw_time_write(log->time_s[i], time, sizeof time);
        cw_text_add(&text, "%s,", time);
        cw_text_add_number(&text, log->wind_along_ms[i], 2);
        cw_text_add(&text, "\n");
    }
    enum cw_status status = path && !text.failed
                                ? cw_file_write(path, text.bytes, text.length, error)
                                : cw_error_memory(error);
    cw_text_free(&text);
    free(path);
    return status;
}

static enum cw_status write_all(const struct cw_simulate_options *options,
                                const struct cw_simulated *simulated, const char *directory,
                                struct cw_error *error) {
    if (mkdir(directory, 0777) && errno != EEXIST)
        return cw_error_set(error, CW_E_WRITE, directory, 0, "cannot be made: %s",
                            cw_reason_text(errno));
    enum cw_status status = check_room(simulated, directory, error);
    if (status) return status;
    struct cw_text truth = {0};
    char *outing_path = join(directory, "outing.ini"), *truth_path = join(directory, "truth.json");
    cw_simulate_truth_add(&truth, options, simulated);
    if (!outing_path || !truth_path || truth.failed) status = cw_error_memory(error);
    /* First, for it says that what is beside it is made up. */
    if (!status) status = cw_file_write(truth_path, truth.bytes, truth.length, error);
    if (!status) status = write_recordings(options, simulated, directory, error);
    if (!status) status = write_log(&simulated->log, directory, error);
    if (!status)
        status =
            cw_outing_write(&simulated->outing, outing_path,
                            "Made up by coastwise simulate; the truth is in truth.json.", error);
    cw_text_free(&truth);
    free(outing_path);
    free(truth_path);
    return status;
}

enum cw_status cw_simulate_write(const struct cw_simulate_options *options,
                                 const struct cw_simulated *simulated, const char *directory,
                                 struct cw_error *error) {
    struct cw_held held = cw_hold_signals();
    enum cw_status status = write_all(options, simulated, directory, error);
    cw_release_signals(&held);
    return status;
}
