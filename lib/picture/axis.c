#include "picture/axis.h"

#include <math.h>
#include <stdint.h>

#include "base/number.h"

/* The round step at or above the exact one. */
static double round_step(double exact) {
    double power = pow(10, floor(log10(exact)));
    double digit = exact / power;
    /* A step that is round but for rounding errors is taken as it is. */
    if (digit <= 1 + 1e-9) return power;
    if (digit <= 2 + 1e-9) return 2 * power;
    if (digit <= 5 + 1e-9) return 5 * power;
    return 10 * power;
}

static int decimals_of(double step) {
    int decimals = (int)-floor(log10(step) + 1e-9);
    return decimals < 0 ? 0 : decimals > 12 ? 12 : decimals;
}

struct cw_axis cw_axis_make(double low, double high, double from, double to, int about,
                            bool whole) {
    if (!isfinite(low) || !isfinite(high) || !isfinite(high - low)) {
        low = 0;
        high = 1;
    }
    if (low > high) {
        double swap = low;
        low = high;
        high = swap;
    }
    /* Values as good as equal still get an axis to stand on. */
    double size = fmax(fabs(low), fabs(high));
    if (high - low <= 1e-9 * size || high - low < 1e-11) {
        double apart = size > 1e-9 ? 0.05 * size : 0.5;
        low -= apart;
        high += apart;
    }
    struct cw_axis axis = {.low = low, .high = high, .from = from, .to = to};
    axis.step = round_step((high - low) / (about > 1 ? about : 1));
    axis.decimals = decimals_of(axis.step);
    if (whole) {
        axis.low = axis.step * floor(low / axis.step + 1e-9);
        axis.high = axis.step * ceil(high / axis.step - 1e-9);
    }
    return axis;
}

struct cw_axis cw_axis_make_in(const struct cw_unit_shown *shown, double low, double high,
                               double from, double to, int about, bool whole) {
    struct cw_axis axis =
        cw_axis_make(low * shown->factor, high * shown->factor, from, to, about, whole);
    axis.low /= shown->factor;
    axis.high /= shown->factor;
    axis.step /= shown->factor;
    axis.shown = shown->factor;
    return axis;
}

static const double kmh_per_ms = 3.6;

void cw_figure_add_kmh(struct cw_text *text, double speed_ms, int decimals, bool signed_) {
    cw_figure_add(text, speed_ms * kmh_per_ms, decimals, signed_);
    cw_text_add(text, " km/h");
}

void cw_figure_add_kmh_range(struct cw_text *text, double low_ms, double high_ms, int decimals,
                             bool signed_) {
    cw_figure_add(text, low_ms * kmh_per_ms, decimals, signed_);
    cw_text_add(text, " to ");
    cw_figure_add_kmh(text, high_ms, decimals, signed_);
}

static const double day_s = 86400;

struct cw_axis cw_axis_make_clock(double low_s, double high_s, double from, double to) {
    static const double steps_s[] = {60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200};
    static const int hours = 6, dates = 4; /* figures that there is room for */
    if (!(high_s - low_s >= 60)) {
        low_s -= 60;
        high_s += 60;
    }
    struct cw_axis axis = cw_axis_make(low_s, high_s, from, to, 1, false);
    size_t i = 0, n = sizeof steps_s / sizeof *steps_s;
    while (i < n && (axis.high - axis.low) / steps_s[i] > hours) i++;
    axis.step =
        i < n ? steps_s[i] : day_s * fmax(1, round_step((axis.high - axis.low) / day_s / dates));
    axis.decimals = 0;
    axis.clock = true;
    return axis;
}

bool cw_axis_has_dates(const struct cw_axis *axis) {
    return axis->clock && axis->step >= day_s;
}

double cw_axis_at(const struct cw_axis *axis, double value) {
    double share = (value - axis->low) / (axis->high - axis->low);
    return axis->from + share * (axis->to - axis->from);
}

size_t cw_axis_ticks(const struct cw_axis *axis, double ticks[CW_TICKS_MAX]) {
    double first = ceil(axis->low / axis->step - 1e-9);
    double last = floor(axis->high / axis->step + 1e-9);
    size_t n = 0;
    if (!isfinite(axis->step)) return 0; /* an axis that shows no figures */
    for (double k = first; k <= last && n < CW_TICKS_MAX; k += 1) ticks[n++] = k * axis->step;
    return n;
}

void cw_range_add(double *low, double *high, double value) {
    if (!isfinite(value)) return;
    if (value < *low) *low = value;
    if (value > *high) *high = value;
}

void cw_figure_add(struct cw_text *text, double value, int decimals, bool signed_) {
    static const char minus[] = "\xe2\x88\x92", dash[] = "\xe2\x80\x93";
    if (decimals < 0) decimals = 0;
    if (decimals > 12) decimals = 12;
    double power = 1;
    for (int i = 0; i < decimals; i++) power *= 10;
    double scaled = fabs(value) * power;
    if (!isfinite(scaled)) {
        cw_text_add(text, "%s", dash);
        return;
    }
    if (scaled > 9e15) { /* no such number belongs on a picture; show its size all the same */
        int exponent = (int)floor(log10(fabs(value)));
        cw_text_add(text, "%s%de%d",
                    value < 0 ? minus
                    : signed_ ? "+"
                              : "",
                    (int)(fabs(value) / pow(10, exponent)), exponent);
        return;
    }
    uint64_t whole = (uint64_t)llround(scaled), unit = (uint64_t)power;
    const char *sign = whole == 0 ? "" : value < 0 ? minus : signed_ ? "+" : "";
    cw_text_add(text, "%s%llu", sign, (unsigned long long)(whole / unit));
    if (decimals) cw_text_add(text, ".%0*llu", decimals, (unsigned long long)(whole % unit));
}

void cw_axis_add_figure(const struct cw_axis *axis, double value, struct cw_text *text) {
    char time[40];
    if (!axis->clock) {
        cw_figure_add(text, axis->shown > 0 ? value * axis->shown : value, axis->decimals, false);
        return;
    }
    cw_time_write(value, time, sizeof time); /* YYYY-MM-DDThh:mm:ssZ */
    if (cw_axis_has_dates(axis))
        cw_text_add(text, "%.10s", time);
    else
        cw_text_add(text, "%.5s", time + 11);
}
