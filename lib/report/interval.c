#include "report/interval.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/print.h"
#include "base/utf8.h"
#include "report/estimates.h"
#include "report/plain.h"

static bool counts(struct cw_estimate estimate) {
    return isfinite(estimate.low) && isfinite(estimate.high);
}

struct cw_scale cw_scale_make(const struct cw_estimate *estimates, size_t n) {
    struct cw_scale scale = {NAN, NAN, 0};
    for (size_t i = 0; i < n; i++) {
        if (!counts(estimates[i])) continue;
        scale.low = fmin(scale.low, estimates[i].low); /* fmin and fmax pass over NaN */
        scale.high = fmax(scale.high, estimates[i].high);
    }
    double span = scale.high - scale.low;
    if (!(span > 0)) span = fmax(fabs(scale.high), 1) * 1e-3;
    if (isnan(span)) return scale;
    /* Ends on multiples of 1, 2 or 5 times a power of ten, about ten of them over the span. */
    double power = pow(10, floor(log10(span / 10))), step = power;
    if (span / step > 50)
        step = 10 * power;
    else if (span / step > 20)
        step = 5 * power;
    else if (span / step > 10)
        step = 2 * power;
    scale.low = floor(scale.low / step) * step;
    scale.high = ceil(scale.high / step) * step;
    if (!(scale.high > scale.low)) scale.high = scale.low + step;
    scale.decimals = (int)fmin(fmax(-floor(log10(step) + 1e-9), 0), 6);
    return scale;
}

void cw_scale_add(const struct cw_scale *scale, size_t width, struct cw_text *text) {
    char low[64], high[64];
    if (isnan(scale->low)) return;
    cw_print(low, sizeof low, "%.*f", scale->decimals, scale->low);
    cw_print(high, sizeof high, "%.*f", scale->decimals, scale->high);
    size_t taken = cw_utf8_width(low) + cw_utf8_width(high);
    cw_text_add(text, "%s%*s%s", low, width > taken ? (int)(width - taken) : 1, "", high);
}

enum { LOW, THIN, THICK, VALUE, HIGH, MARKS };
static const char *const marks[2][MARKS] = {{"|", "-", "=", "o", "|"}, {"├", "─", "━", "●", "┤"}};

/* The column that a value falls into. */
static size_t column_of(const struct cw_scale *scale, double value, size_t width) {
    double unit = (double)(width - 1) / (scale->high - scale->low);
    return (size_t)lround(fmin(fmax((value - scale->low) * unit, 0), (double)(width - 1)));
}

void cw_interval_add(const struct cw_scale *scale, struct cw_estimate estimate, size_t width,
                     bool utf8, struct cw_text *text) {
    const char *const *mark = marks[utf8];
    const struct cw_estimate noise = cw_estimate_of_noise(estimate);
    if (!counts(estimate) || isnan(scale->low) || !width) return;
    size_t low = column_of(scale, estimate.low, width),
           high = column_of(scale, estimate.high, width);
    size_t value = column_of(scale, estimate.value, width);
    size_t from = value, to = value; /* thick */
    if (isfinite(noise.low)) {
        from = column_of(scale, noise.low, width);
        to = column_of(scale, noise.high, width);
    }
    for (size_t i = 0; i <= high; i++)
        cw_text_add(text, "%s",
                    i == value             ? mark[VALUE]
                    : i < low              ? " "
                    : i == low             ? mark[LOW]
                    : i == high            ? mark[HIGH]
                    : from <= i && i <= to ? mark[THICK]
                                           : mark[THIN]);
}

void cw_intervals_add_head(const struct cw_intervals *intervals, struct cw_text *text) {
    cw_text_add(text, "%s", "");
    if (intervals->width) cw_scale_add(&intervals->scale, intervals->width, text);
}

void cw_intervals_add(const struct cw_intervals *intervals, struct cw_estimate estimate,
                      struct cw_text *text) {
    cw_interval_add(&intervals->scale, estimate, intervals->width, intervals->look->utf8, text);
}

enum { PICTURE_LEAST = 16, PICTURE_MOST = 60 };

/* What a table's first line, its heads, leaves of the terminal's, within reason; 0 where that is
 * too little. */
static size_t width_beside(struct cw_text *table, const struct cw_look *look) {
    table->bytes[strcspn(table->bytes, "\n")] = '\0';
    size_t taken = cw_utf8_width(table->bytes) + 2;
    if (look->columns < taken + PICTURE_LEAST) return 0;
    return look->columns - taken < PICTURE_MOST ? look->columns - taken : PICTURE_MOST;
}

bool cw_intervals_write(const struct cw_scale *scale, const struct cw_look *look,
                        void (*write)(const void *of, const struct cw_intervals *intervals,
                                      struct cw_text *out),
                        const void *of, struct cw_text *out) {
    struct cw_look unbounded = *look;
    struct cw_intervals intervals = {.scale = *scale, .look = &unbounded};
    struct cw_text bare = {0};
    unbounded.columns = SIZE_MAX;
    write(of, &intervals, &bare);
    intervals.look = look;
    if (!isnan(scale->low) && bare.bytes) intervals.width = width_beside(&bare, look);
    if (bare.failed) out->failed = true;
    cw_text_free(&bare);
    write(of, &intervals, out);
    return intervals.width > 0;
}

void cw_intervals_explain(const struct cw_look *look, struct cw_text *out) {
    struct cw_text line = {0};
    cw_text_add(
        &line, "%s noise alone, %s with mass, air and wind too, which mostly cancel in differences",
        marks[look->utf8][THICK], marks[look->utf8][THIN]);
    cw_wrapped_take(out, &line, look, 0);
}
