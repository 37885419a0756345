#include "timed/noted.h"

#include <math.h>
#include <stdlib.h>

#include "base/number.h"
#include "base/print.h"
#include "stats/robust.h"
#include "stats/student.h"

/* Degrees of freedom of a stated error. */
#define STATED_DF 20.0
/* The chance of an alarm among an outing's runs, all of which agree. */
#define ALARM 0.004
/* Marks are about the stretch of the gates or a third more or less of it (common practice, no
 * source). */
#define WATCH_STRETCH 0.3
/* Counted the other way, the scatter is no more than this part of what it is as noted, which is
 * more than so many standard errors. */
#define TURNED (1.0 / 3)
#define TURNED_SD 4.0
/* The swapped value must be as near as two values that agree are. */
#define SWAP_SD 2.5

static const struct cw_estimate none = {NAN, NAN, NAN, NAN, 0};

/* Normal scatter from a median absolute deviation, never below its mean for so few: by a million
 * samples that takes 1.49 times as much for 3 values, 1.36 for 4, 1.13 for 8. */
static double sd_of_deviation(double deviation, size_t n) {
    return 1.4826 * (1 + 1.5 / (double)n) * deviation;
}

/* Scatter of sign x noted - recorded; sorted is for n values. */
static double scatter_of(size_t n, const double *noted, const double *recorded, double sign,
                         double *sorted) {
    for (size_t i = 0; i < n; i++) sorted[i] = sign * noted[i] - recorded[i];
    double middle = cw_median(sorted, n);
    for (size_t i = 0; i < n; i++) sorted[i] = fabs(sign * noted[i] - recorded[i] - middle);
    return sd_of_deviation(cw_median(sorted, n), n);
}

enum cw_status cw_noted_judge(size_t n, const double *noted, const double *recorded,
                              const double *error, double stretch, bool *doubted,
                              struct cw_noted_rest *rest, struct cw_error *fault) {
    *rest = (struct cw_noted_rest){NAN, NAN};
    for (size_t i = 0; i < n; i++) doubted[i] = false;
    if (n < CW_NOTED_LEAST) return CW_OK;
    double *off = malloc(3 * n * sizeof *off), count = (double)n;
    if (!off) return cw_error_memory(fault);
    double *variance = off + n, *sorted = off + 2 * n;
    for (size_t i = 0; i < n; i++) sorted[i] = recorded[i];
    double usual = cw_median(sorted, n);
    for (size_t i = 0; i < n; i++) {
        double longer = stretch * (recorded[i] - usual);
        variance[i] = error[i] * error[i] + longer * longer;
        off[i] = sorted[i] = noted[i] - recorded[i];
    }
    double middle = cw_median(sorted, n);
    double seen = scatter_of(n, noted, recorded, 1, sorted);
    for (size_t i = 0; i < n; i++) sorted[i] = variance[i];
    double stated = cw_median(sorted, n), more = fmax(0, seen * seen - stated);
    double t = cw_t_quantile(1 - 0.5 * ALARM / count, STATED_DF + count - 2);
    double of_median = 1.57 / count; /* the median's own variance, pi/2n of a value's */
    size_t agree = 0;
    for (size_t i = 0; i < n; i++) {
        double sd = sqrt(variance[i] + more + of_median * (stated + more));
        doubted[i] = fabs(off[i] - middle) > t * sd;
        if (!doubted[i]) sorted[agree++] = off[i];
    }
    *rest = (struct cw_noted_rest){cw_median(sorted, agree), sqrt(stated + more)};
    free(off);
    return CW_OK;
}

enum cw_status cw_noted_turned(size_t n, const double *noted, const double *recorded,
                               const double *error, bool *turned, struct cw_error *fault) {
    *turned = false;
    if (n < CW_NOTED_LEAST) return CW_OK;
    double *sorted = malloc(n * sizeof *sorted);
    if (!sorted) return cw_error_memory(fault);
    double as_noted = scatter_of(n, noted, recorded, 1, sorted);
    double the_other_way = scatter_of(n, noted, recorded, -1, sorted);
    for (size_t i = 0; i < n; i++) sorted[i] = error[i];
    *turned = as_noted > TURNED_SD * cw_median(sorted, n) && the_other_way < TURNED * as_noted;
    free(sorted);
    return CW_OK;
}

double cw_noted_swapped(double noted, int decimals, double expected, double most) {
    char digits[64];
    double best = NAN;
    int length = cw_print(digits, sizeof digits, "%.*f", decimals, noted);
    if (length < 0 || (size_t)length >= sizeof digits) return NAN;
    for (int i = 0; i + 1 < length; i++) {
        int next = digits[i + 1] == '.' ? i + 2 : i + 1;
        double value;
        char digit = digits[i];
        if (digit < '0' || digit > '9' || digit == digits[next]) continue;
        digits[i] = digits[next];
        digits[next] = digit;
        if (cw_number_read(digits, (size_t)length, &value) && fabs(value - expected) <= most &&
            !(fabs(value - expected) >= fabs(best - expected)))
            best = value;
        digits[next] = digits[i];
        digits[i] = digit;
    }
    return best;
}

/* As many decimals as they were written with. */
static int decimals_of(size_t n, const double *noted) {
    double scale = 1;
    int decimals = 0;
    for (size_t i = 0; i < n; i++)
        while (decimals < 3 && fabs(noted[i] * scale - rint(noted[i] * scale)) > 1e-6) {
            decimals++;
            scale *= 10;
        }
    return decimals;
}

/* A noted quantity, the recorder's own, and by what part the two's stretches differ. */
struct beside {
    enum cw_timed_quantity noted, recorded;
    double stretch;
};

static struct cw_estimate *noted_of(struct cw_timed_run *run, enum cw_timed_quantity noted) {
    return noted == CW_TIMED_TIME_WATCHED ? &run->time_watched_s : &run->runout_taped_m;
}

static enum cw_status judge(struct cw_timed *timed, const struct beside *of,
                            struct cw_error *error) {
    struct cw_noted_rest rest;
    bool turned = false;
    size_t n = 0, *at = malloc(timed->n * sizeof *at);
    double *noted = malloc(3 * timed->n * sizeof *noted);
    bool *doubted = malloc(timed->n * sizeof *doubted);
    enum cw_status status = CW_OK;
    if (!at || !noted || !doubted) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    double *recorded = noted + timed->n, *off_sd = noted + 2 * timed->n;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_estimate *own = noted_of(&timed->runs[k], of->noted);
        const struct cw_estimate *by = cw_timed_of(&timed->runs[k], of->recorded);
        /* Without positions nobody knows how well the recorder's own are known. */
        if (!isfinite(own->value) || !isfinite(by->value) || !isfinite(by->standard_error))
            continue;
        noted[n] = own->value;
        recorded[n] = by->value;
        off_sd[n] = hypot(own->standard_error, by->standard_error);
        at[n++] = k;
    }
    status = cw_noted_judge(n, noted, recorded, off_sd, of->stretch, doubted, &rest, error);
    /* A stopwatch cannot run the other way. */
    if (status >= 0 && of->noted == CW_TIMED_RUNOUT_TAPED)
        status = cw_noted_turned(n, noted, recorded, off_sd, &turned, error);
    for (size_t i = 0; i < n && status >= 0; i++) {
        if (!doubted[i] && !turned) continue;
        timed->doubts[timed->n_doubts++] = (struct cw_timed_doubt){
            .at = at[i],
            .quantity = of->noted,
            .noted = noted[i],
            .recorded = recorded[i],
            .turned = turned,
            .others_off = rest.off,
            .others_sd = rest.sd,
            .swapped = cw_noted_swapped(noted[i], decimals_of(n, noted), recorded[i] + rest.off,
                                        SWAP_SD * hypot(rest.sd, off_sd[i]))};
        *noted_of(&timed->runs[at[i]], of->noted) = none;
    }
cleanup:
    free(at);
    free(noted);
    free(doubted);
    return status;
}

static struct cw_estimate noted_estimate(double value, const struct cw_notes *notes) {
    return isfinite(value)
               ? cw_estimate_make(value, notes->uncertainty, cw_t_quantile(0.975, INFINITY))
               : none;
}

enum cw_status cw_timed_noted_make(const struct cw_ridden *input, struct cw_timed *timed,
                                   struct cw_error *error) {
    static const struct beside all[] = {{CW_TIMED_TIME_WATCHED, CW_TIMED_TIME, WATCH_STRETCH},
                                        {CW_TIMED_RUNOUT_TAPED, CW_TIMED_RUNOUT, 0}};
    enum cw_status status = CW_OK;
    timed->doubts = calloc(2 * timed->n, sizeof *timed->doubts);
    if (!timed->doubts) return cw_error_memory(error);
    for (size_t k = 0; k < timed->n; k++) {
        struct cw_timed_run *run = &timed->runs[k];
        const struct cw_noted *noted = &input->runs->at[run->run].noted;
        run->time_watched_s = noted_estimate(noted->time_s, &input->outing->time_s);
        run->runout_taped_m = noted_estimate(noted->runout_m, &input->outing->runout_m);
    }
    for (size_t q = 0; q < 2 && status >= 0; q++) status = judge(timed, &all[q], error);
    return status;
}
