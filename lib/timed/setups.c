#include "timed/timed.h"

#include <math.h>
#include <stdlib.h>

#include "stats/tests.h"
#include "timed/timing.h"

/* Fewer would make a slope of chance. */
#define ENTRY_DF_LEAST 4

const char *cw_timed_test_text(enum cw_timed_test test) {
    switch (test) {
    case CW_TIMED_WELCH:
        return "Welch";
    case CW_TIMED_POOLED:
        return "pooled";
    case CW_TIMED_PAIRED:
        return "paired";
    case CW_TIMED_NO_TEST:
        break;
    }
    return "none";
}

const struct cw_estimate *cw_timed_of(const struct cw_timed_run *run,
                                      enum cw_timed_quantity quantity) {
    switch (quantity) {
    case CW_TIMED_TIME_WATCHED:
        return &run->time_watched_s;
    case CW_TIMED_RUNOUT_TAPED:
        return &run->runout_taped_m;
    case CW_TIMED_RUNOUT:
        return &run->runout_m;
    case CW_TIMED_ENTRY_SPEED:
        return &run->entry_speed_ms;
    case CW_TIMED_TIME:
    case CW_TIMED_QUANTITIES:
        break;
    }
    return &run->time_s;
}

/* The values of a setup's runs that have one, in time order. */
static size_t values_of(const struct cw_timed *timed, size_t setup, enum cw_timed_quantity quantity,
                        double *values) {
    size_t n = 0;
    for (size_t k = 0; k < timed->n; k++) {
        double value = cw_timed_of(&timed->runs[k], quantity)->value;
        if (timed->runs[k].setup == setup && isfinite(value)) values[n++] = value;
    }
    return n;
}

static struct cw_timed_group group_of(const struct cw_timed *timed, size_t setup,
                                      enum cw_timed_quantity quantity, double *values) {
    struct cw_timed_group group = {values_of(timed, setup, quantity, values), NAN, NAN, NAN, NAN};
    if (group.n == 0) return group;
    double squares = 0, errors = 0;
    group.mean = 0;
    for (size_t i = 0; i < group.n; i++) group.mean += values[i] / (double)group.n;
    for (size_t i = 0; i < group.n; i++)
        squares += (values[i] - group.mean) * (values[i] - group.mean);
    if (group.n > 1) group.sd = sqrt(squares / (double)(group.n - 1));
    struct cw_timing timing;
    bool time = quantity == CW_TIMED_TIME || quantity == CW_TIMED_TIME_WATCHED;
    if (time && cw_timing_mean(group.n, values, &timing, NULL) == CW_OK)
        group.precision = timing.precision;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_estimate *value = cw_timed_of(&timed->runs[k], quantity);
        if (timed->runs[k].setup == setup && isfinite(value->value))
            errors += value->standard_error * value->standard_error;
    }
    group.timing_error = sqrt(errors / (double)group.n);
    return group;
}

/* Pairs of neighbours, if the runs of the two setups that have the quantity fall into them in time
 * order, one of each setup in every pair, as ABAB and ABBA do. 0 if they do not. */
static size_t pair_up(const struct cw_timed *timed, size_t setup, size_t reference,
                      enum cw_timed_quantity quantity, double *first, double *second) {
    size_t seen = 0, before = CW_NO_SETUP;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_timed_run *run = &timed->runs[k];
        double value = cw_timed_of(run, quantity)->value;
        if ((run->setup != setup && run->setup != reference) || !isfinite(value)) continue;
        if (seen % 2 == 1 && run->setup == before) return 0;
        (run->setup == setup ? first : second)[seen / 2] = value;
        before = run->setup;
        seen++;
    }
    return seen % 2 == 0 ? seen / 2 : 0;
}

static struct cw_timed_difference difference_of(const struct cw_timed *timed, size_t setup,
                                                size_t reference, enum cw_timed_quantity quantity,
                                                double *first, double *second) {
    struct cw_timed_difference d = {
        .difference = {NAN, NAN, NAN, NAN, 0}, .percent = NAN, .df = NAN, .p_value = NAN};
    struct cw_timed_group a = group_of(timed, setup, quantity, first);
    struct cw_timed_group b = group_of(timed, reference, quantity, second);
    struct cw_t_test test;
    enum cw_status status = CW_E_DATA;
    d.n[0] = a.n;
    d.n[1] = b.n;
    if (a.n == 0 || b.n == 0) return d;
    size_t pairs = pair_up(timed, setup, reference, quantity, first, second);
    if (pairs >= CW_TIMED_PAIRS_LEAST) {
        d.test = CW_TIMED_PAIRED;
        status = cw_t_test_paired(pairs, first, second, &test, NULL);
    } else {
        values_of(timed, setup, quantity, first); /* pairing may have moved them */
        values_of(timed, reference, quantity, second);
        bool both = a.n > 1 && b.n > 1;
        d.test = both ? CW_TIMED_WELCH : CW_TIMED_POOLED;
        status = both ? cw_t_test_welch(a.n, first, b.n, second, &test, NULL)
                      : cw_t_test_pooled(a.n, first, b.n, second, &test, NULL);
    }
    d.difference.value = a.mean - b.mean;
    if (quantity != CW_TIMED_RUNOUT_TAPED) d.percent = 100 * (a.mean - b.mean) / b.mean;
    if (status == CW_OK) {
        d.difference = test.difference;
        d.df = test.df;
        d.p_value = test.p_value;
        d.inside_scatter = test.difference.low <= 0 && test.difference.high >= 0;
    } else {
        d.test = CW_TIMED_NO_TEST;
    }
    return d;
}

enum cw_status cw_timed_compare(const struct cw_timed *timed, size_t setup, size_t reference,
                                enum cw_timed_quantity quantity,
                                struct cw_timed_difference *difference, struct cw_error *error) {
    double *values = malloc((2 * timed->n + 2) * sizeof *values);
    if (!values) return cw_error_memory(error);
    *difference = difference_of(timed, setup, reference, quantity, values, values + timed->n + 1);
    free(values);
    return CW_OK;
}

/* The mean effect of entry speed over the two setups' runs, times their entry speeds' difference.
 */
static struct cw_estimate owed_to_entry(const struct cw_timed *timed,
                                        const struct cw_timed_comparison *comparison) {
    const struct cw_estimate speed = comparison->of[CW_TIMED_ENTRY_SPEED].difference;
    double sum = 0, n = 0;
    for (size_t k = 0; k < timed->n; k++) {
        const struct cw_timed_run *run = &timed->runs[k];
        if ((run->setup != comparison->setup && run->setup != comparison->reference) ||
            isnan(run->time_by_entry_sms))
            continue;
        sum += run->time_by_entry_sms;
        n += 1;
    }
    double by = n > 0 ? sum / n : NAN; /* below 0: the faster, the less time */
    return (struct cw_estimate){by * speed.value, -by * speed.standard_error, by * speed.high,
                                by * speed.low, 0};
}

/* Regression within setups: each setup has its own means. Runs without a setup are one more. */
static struct cw_timed_entry time_on_entry(const struct cw_timed *timed) {
    struct cw_timed_entry entry = {.df = NAN, .correlation = NAN, .p_value = NAN};
    double xx = 0, xy = 0, yy = 0, groups = 0;
    entry.slope_sms = (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    for (size_t k = 0; k < timed->n; k++) {
        double n = 0, mean_x = 0, mean_y = 0;
        bool first = true;
        if (isnan(timed->runs[k].time_s.value)) continue;
        for (size_t j = 0; j < timed->n; j++) {
            if (timed->runs[j].setup != timed->runs[k].setup || isnan(timed->runs[j].time_s.value))
                continue;
            first = first && j >= k;
            n += 1;
            mean_x += (timed->runs[j].entry_speed_ms.value - mean_x) / n;
            mean_y += (timed->runs[j].time_s.value - mean_y) / n;
        }
        double x = timed->runs[k].entry_speed_ms.value - mean_x;
        double y = timed->runs[k].time_s.value - mean_y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
        groups += first ? 1 : 0;
        entry.n++;
    }
    double df = (double)entry.n - groups - 1;
    if (!(df >= ENTRY_DF_LEAST && xx > 0 && yy > 0)) return entry;
    double slope = xy / xx, rest = fmax(0, yy - slope * xy);
    double standard_error = sqrt(rest / df / xx);
    entry.df = df;
    entry.correlation = xy / sqrt(xx * yy);
    entry.slope_sms = cw_estimate_make(slope, standard_error, cw_t_quantile(0.975, df));
    entry.p_value = cw_t_p_value(slope / standard_error, df);
    return entry;
}

/* What a setup is compared with: the reference, or where that is another rider's, the first of its
 * own rider that has runs. CW_NO_SETUP where there is none. */
static size_t reference_of(const struct cw_timed *timed, const struct cw_setup *setups,
                           size_t setup, size_t reference) {
    if (setups[setup].rider == setups[reference].rider) return reference;
    for (size_t i = 0; i < timed->n_setups; i++)
        if (setups[timed->setups[i].setup].rider == setups[setup].rider)
            return timed->setups[i].setup;
    return CW_NO_SETUP;
}

enum cw_status cw_timed_refer(const struct cw_outing *outing, size_t reference,
                              struct cw_timed *timed, struct cw_error *error) {
    const struct cw_setup *setups = outing->setups;
    size_t n_setups = outing->n_setups;
    free(timed->setups);
    free(timed->comparisons);
    timed->n_setups = timed->n_comparisons = 0;
    double *values = malloc((2 * timed->n + 2) * sizeof *values);
    timed->setups = calloc(n_setups + 1, sizeof *timed->setups);
    timed->comparisons = calloc(n_setups + 1, sizeof *timed->comparisons);
    if (!values || !timed->setups || !timed->comparisons) {
        free(values);
        return cw_error_memory(error);
    }
    bool found = false;
    for (size_t s = 0; s < n_setups; s++) {
        struct cw_timed_setup result = {.setup = s};
        for (size_t k = 0; k < timed->n; k++) result.runs += timed->runs[k].setup == s;
        if (result.runs == 0) continue;
        for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
            result.of[q] = group_of(timed, s, (enum cw_timed_quantity)q, values);
        timed->setups[timed->n_setups++] = result;
    }
    for (size_t i = 0; i < timed->n_setups; i++) { /* the outing's own rider comes first */
        size_t s = timed->setups[i].setup;
        if (reference == CW_NO_SETUP && !setups[s].rider) reference = s;
        found = found || s == reference;
    }
    if (reference == CW_NO_SETUP && timed->n_setups) {
        reference = timed->setups[0].setup;
        found = true;
    }
    enum cw_status status = CW_OK;
    if (reference != CW_NO_SETUP && !found)
        status = cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                              "the setup to compare with has no run on this road");
    for (size_t i = 0; found && i < timed->n_setups; i++) {
        size_t setup = timed->setups[i].setup, with = reference_of(timed, setups, setup, reference);
        if (with == setup || with == CW_NO_SETUP) continue;
        struct cw_timed_comparison *comparison = &timed->comparisons[timed->n_comparisons++];
        comparison->setup = setup;
        comparison->reference = with;
        for (int q = 0; q < CW_TIMED_QUANTITIES; q++)
            comparison->of[q] =
                difference_of(timed, comparison->setup, reference, (enum cw_timed_quantity)q,
                              values, values + timed->n + 1);
        comparison->time_by_entry_s = owed_to_entry(timed, comparison);
    }
    timed->entry = time_on_entry(timed);
    free(values);
    return status;
}
