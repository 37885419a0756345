#include "outing/air_log.h"

#include <math.h>
#include <stdlib.h>

void cw_air_log_free(struct cw_air_log *log) {
    free(log->file);
    free(log->from_s);
    free(log->to_s);
    free(log->wind_along_ms);
    free(log->wind_speed_ms);
    free(log->wind_from_rad);
    free(log->temperature_c);
    free(log->pressure_hpa);
    free(log->humidity_percent);
    for (size_t i = 0; i < log->n_unused; i++) free(log->unused[i]);
    free(log->unused);
    *log = (struct cw_air_log){0};
}

bool cw_air_log_has_wind(const struct cw_air_log *log) {
    return log->wind_along_ms || log->wind_speed_ms;
}

/* ---- rows ---- */

/* The first row that ends at time_s or later; n if none does. */
static size_t first_row(const struct cw_air_log *log, double time_s) {
    size_t low = 0, high = log->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (log->to_s[middle] < time_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Seconds of the span that row i holds; negative or 0 where it holds none. */
static double overlap_s(const struct cw_air_log *log, size_t i, double from_s, double to_s) {
    return fmin(log->to_s[i], to_s) - fmax(log->from_s[i], from_s);
}

struct wind {
    double along_ms, cross_ms;
};

/* A calm needs no direction: loggers leave it blank then. */
static bool row_wind(const struct cw_air_log *log, size_t i, double heading_rad,
                     struct wind *wind) {
    *wind = (struct wind){0};
    if (log->wind_along_ms) {
        wind->along_ms = log->wind_along_ms[i];
    } else if (!log->wind_speed_ms) {
        return false;
    } else if (log->wind_speed_ms[i] != 0) {
        double angle_rad = log->wind_from_rad[i] - heading_rad;
        wind->along_ms = log->wind_speed_ms[i] * cos(angle_rad);
        wind->cross_ms = log->wind_speed_ms[i] * sin(angle_rad);
    }
    return !isnan(wind->along_ms);
}

/* ---- a moment ---- */

static double middle_s(const struct cw_air_log *log, size_t i) {
    return log->from_s[i] + (log->to_s[i] - log->from_s[i]) / 2;
}

bool cw_air_log_wind(const struct cw_air_log *log, double time_s, double heading_rad,
                     double *along_ms, double *cross_ms) {
    struct wind here, there;
    size_t i = first_row(log, time_s);
    if (i == log->n || !(log->from_s[i] <= time_s) || !row_wind(log, i, heading_rad, &here))
        return false;
    bool late = time_s >= middle_s(log, i);
    size_t other = late ? i + 1 : i - 1;
    bool joined = late ? other < log->n && log->from_s[other] == log->to_s[i]
                       : i > 0 && log->to_s[other] == log->from_s[i];
    if (joined && row_wind(log, other, heading_rad, &there)) {
        double part = (time_s - middle_s(log, i)) / (middle_s(log, other) - middle_s(log, i));
        here.along_ms += part * (there.along_ms - here.along_ms);
        here.cross_ms += part * (there.cross_ms - here.cross_ms);
    }
    *along_ms = here.along_ms;
    *cross_ms = here.cross_ms;
    return true;
}

/* ---- a span ---- */

bool cw_air_log_mean_wind(const struct cw_air_log *log, double from_s, double to_s,
                          double heading_rad, double *along_ms, double *cross_ms, double *share) {
    double held_s = 0;
    struct wind sum = {0}, row;
    for (size_t i = first_row(log, from_s); i < log->n && log->from_s[i] < to_s; i++) {
        double part_s = overlap_s(log, i, from_s, to_s);
        if (!(part_s > 0) || !row_wind(log, i, heading_rad, &row)) continue;
        sum.along_ms += part_s * row.along_ms;
        sum.cross_ms += part_s * row.cross_ms;
        held_s += part_s;
    }
    *share = held_s > 0 ? fmin(held_s / (to_s - from_s), 1) : 0;
    if (!(held_s > 0)) return false;
    *along_ms = sum.along_ms / held_s;
    *cross_ms = sum.cross_ms / held_s;
    return true;
}

double cw_air_log_mean(const struct cw_air_log *log, const double *column, double from_s,
                       double to_s, double *share) {
    double held_s = 0, sum = 0;
    for (size_t i = first_row(log, from_s); column && i < log->n && log->from_s[i] < to_s; i++) {
        double part_s = overlap_s(log, i, from_s, to_s);
        if (!(part_s > 0) || isnan(column[i])) continue;
        sum += part_s * column[i];
        held_s += part_s;
    }
    *share = held_s > 0 ? fmin(held_s / (to_s - from_s), 1) : 0;
    return held_s > 0 ? sum / held_s : NAN;
}

double cw_air_log_share(const struct cw_air_log *log, double from_s, double to_s) {
    double share;
    cw_air_log_mean(log, log->to_s, from_s, to_s, &share);
    return share;
}

/* ---- a clock that is off ---- */

#define SHIFT_MOST_H 14

static bool holds_all(const struct cw_air_log *log, double shift_h, const double *from_s,
                      const double *to_s, size_t n) {
    double shift_s = shift_h * 3600;
    for (size_t i = 0; i < n; i++)
        if (cw_air_log_share(log, from_s[i] - shift_s, to_s[i] - shift_s) < CW_AIR_LOG_ENOUGH)
            return false;
    return true;
}

double cw_air_log_shift_h(const struct cw_air_log *log, const double *from_s, const double *to_s,
                          size_t n) {
    for (int half = 0; half < 2; half++) {
        for (int hours = 0; hours + half <= SHIFT_MOST_H; hours++) {
            double shift_h = hours + 0.5 * half;
            if (holds_all(log, shift_h, from_s, to_s, n)) return shift_h;
            if (holds_all(log, -shift_h, from_s, to_s, n)) return -shift_h;
        }
    }
    return NAN;
}
