#include "simulate/known.h"

#include <math.h>
#include <stdlib.h>

#include "simulate/random.h"

#define STANDS_MS 0.3      /* who ends slower than that has come to a standstill */
#define LOG_SPARE_S 600    /* before the first run and after the last */
#define LOG_GUST_STEP_S 1  /* how finely the sensor's own gusts are followed */
#define WATCH_FROM 0.25    /* of the road, from its top: where one mark is */
#define WATCH_TO 0.6       /* and where the other */
#define MARK_BEFORE_M 5.31 /* the shortest run-out ends so far behind the tape's mark */

/* Seconds into its descent at which a run is so far along it; NaN where it never is. */
static double reached_s(const struct cw_descent *descent, double s_m) {
    for (size_t i = 1; i < descent->n; i++) {
        if (descent->s_m[i] < s_m) continue;
        double part = (s_m - descent->s_m[i - 1]) / (descent->s_m[i] - descent->s_m[i - 1]);
        return descent->time_s[i - 1] + part * (descent->time_s[i] - descent->time_s[i - 1]);
    }
    return NAN;
}

/* From one of the watch's marks to the other. */
static double took_s(const struct cw_simulated_run *run, double length_m) {
    double from = run->way > 0 ? WATCH_FROM : 1 - WATCH_TO;
    double to = run->way > 0 ? WATCH_TO : 1 - WATCH_FROM;
    return reached_s(&run->descent, to * length_m) - reached_s(&run->descent, from * length_m);
}

/* As it is written down. */
static double noted(double value) {
    return rint(value * 100) / 100;
}

enum cw_status cw_known_fill(const struct cw_simulate_options *options,
                             const struct cw_breeze *breeze, double length_m,
                             struct cw_simulated_run *runs, struct cw_error *error) {
    struct cw_random note = cw_random_make(options->seed, CW_STREAM_NOTE);
    struct cw_random tape = cw_random_make(options->seed, CW_STREAM_TAPE);
    struct cw_random watch = cw_random_make(options->seed, CW_STREAM_WATCH);
    enum cw_status status = CW_OK;
    double mark_m = INFINITY;
    if (!note.state || !tape.state || !watch.state) status = cw_error_memory(error);
    for (size_t i = 0; i < options->n_order; i++)
        mark_m = fmin(mark_m, runs[i].descent.end_s_m - MARK_BEFORE_M);
    for (size_t i = 0; i < options->n_order && !status; i++) {
        struct cw_simulated_run *run = &runs[i];
        double from_s = run->start_s - options->start_s, to_s = run->end_s - options->start_s;
        double note_ms = options->note_sd_ms * cw_random_normal(&note);
        double tape_m = options->tape_sd_m * cw_random_normal(&tape);
        double watch_s = options->watch_sd_s * cw_random_normal(&watch);
        run->shared_wind_ms = options->wind_along_ms + cw_breeze_mean(breeze, from_s, to_s);
        run->noted_wind_ms = options->note_wind ? noted(run->shared_wind_ms + note_ms) : NAN;
        /* A tape along the road has one mark; who comes the other way stands elsewhere. */
        bool taped = options->tape && run->descent.end_speed_ms < STANDS_MS && run->way > 0;
        run->taped_m = taped ? noted(run->descent.end_s_m - mark_m + tape_m) : NAN;
        run->timed_s = options->watch ? noted(took_s(run, length_m) + watch_s) : NAN;
    }
    cw_random_free(&note);
    cw_random_free(&tape);
    cw_random_free(&watch);
    return status;
}

enum cw_status cw_known_log(const struct cw_simulate_options *options,
                            const struct cw_breeze *breeze, const struct cw_simulated_run *runs,
                            struct cw_simulated_log *log, struct cw_error *error) {
    double from_s = floor(runs[0].start_s) - LOG_SPARE_S;
    double to_s = runs[options->n_order - 1].end_s + LOG_SPARE_S, step_s = options->log_step_s;
    size_t n = (size_t)((to_s - from_s) / step_s) + 1;
    double parts = fmax(rint(step_s / LOG_GUST_STEP_S), 1);
    struct cw_random random = cw_random_make(options->seed, CW_STREAM_LOG);
    *log = (struct cw_simulated_log){.time_s = malloc(n * sizeof *log->time_s),
                                     .wind_along_ms = malloc(n * sizeof *log->wind_along_ms)};
    enum cw_status status = CW_OK;
    if (!random.state || !log->time_s || !log->wind_along_ms) {
        status = cw_error_memory(error);
    } else {
        struct cw_drift gust =
            cw_drift_make(options->log_gust_sd_ms, options->gust_time_s, &random);
        for (; log->n < n; log->n++) {
            double begin_s = from_s + (double)log->n * step_s - options->start_s, gusts_ms = 0;
            for (double k = 0; k < parts; k++) {
                gusts_ms += gust.value / parts;
                cw_drift_step(&gust, step_s / parts, &random);
            }
            double wind_ms =
                options->wind_along_ms + cw_breeze_mean(breeze, begin_s, begin_s + step_s);
            log->time_s[log->n] = options->start_s + begin_s + step_s;
            log->wind_along_ms[log->n] = noted(options->log_factor * wind_ms + gusts_ms);
        }
    }
    cw_random_free(&random);
    return status;
}
