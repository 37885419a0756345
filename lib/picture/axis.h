/* Axes: from values to places on a picture, round ticks, and numbers as people read them. */
#ifndef CW_PICTURE_AXIS_H
#define CW_PICTURE_AXIS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "report/units.h"

#define CW_TICKS_MAX 24

struct cw_axis {
    double low, high; /* values; low < high */
    double from, to;  /* places of low and high, in picture units; to < from is upwards */
    double step;      /* between ticks: 1, 2 or 5 times a power of ten */
    int decimals;     /* that tick values need, 0..12 */
    bool clock;       /* values are Unix times, shown as hours and minutes or as dates, UTC */
    double shown;     /* figures are values times this; 0: as they are */
};

/* An axis with some `about` ticks over low..high. Where whole, its ends are moved out to ticks.
 * Ends that are the same are moved apart, ends the wrong way round are turned; without finite ends
 * it is 0..1. Never fails. */
struct cw_axis cw_axis_make(double low, double high, double from, double to, int about, bool whole);
/* The same with ticks that are round, and figures, in the unit that values are shown in. */
struct cw_axis cw_axis_make_in(const struct cw_unit_shown *shown, double low, double high,
                               double from, double to, int about, bool whole);
/* A clock's axis over low..high, Unix times: ticks at round minutes, hours or days, as many as
 * there is room for across a picture. Never fails. */
struct cw_axis cw_axis_make_clock(double low_s, double high_s, double from, double to);
/* Whether its figures are dates, for its steps are days. */
bool cw_axis_has_dates(const struct cw_axis *axis);
/* The place of a value (linear, also beyond the ends); NaN for NaN. */
double cw_axis_at(const struct cw_axis *axis, double value);
/* The ticks within low..high, rising; returns how many, at most CW_TICKS_MAX. */
size_t cw_axis_ticks(const struct cw_axis *axis, double ticks[CW_TICKS_MAX]);

/* Widens low..high by a value; NaN is passed over. Start with low = INFINITY, high = -INFINITY. */
void cw_range_add(double *low, double *high, double value);

/* Adds a value rounded to so many decimals (0..12), zeros at the end kept, with a true minus sign
 * and a point whatever the locale; never "-0". signed_: with a plus sign above 0. NaN and
 * infinities are a dash. */
void cw_figure_add(struct cw_text *text, double value, int decimals, bool signed_);
/* Adds a speed in km/h with its unit, likewise; decimals are those of the figure shown. */
void cw_figure_add_kmh(struct cw_text *text, double speed_ms, int decimals, bool signed_);
/* "1.2 to 3.4 km/h". */
void cw_figure_add_kmh_range(struct cw_text *text, double low_ms, double high_ms, int decimals,
                             bool signed_);
/* Adds a tick's value as the axis shows it. */
void cw_axis_add_figure(const struct cw_axis *axis, double value, struct cw_text *text);
#endif
