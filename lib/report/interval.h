/* Intervals drawn as lines of characters on a common scale, beside a table's rows. */
#ifndef CW_REPORT_INTERVAL_H
#define CW_REPORT_INTERVAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/estimate.h"
#include "base/text.h"
#include "report/look.h"
#include "report/table.h"

struct cw_scale {
    double low, high;
    int decimals; /* that show both ends as they are */
};

/* The scale that n intervals share: both ends are round numbers that take all in. What is not
 * finite does not count; low and high are NaN when nothing does. */
struct cw_scale cw_scale_make(const struct cw_estimate *estimates, size_t n);

/* Adds both ends, width columns apart: "0.40      0.50". */
void cw_scale_add(const struct cw_scale *scale, size_t width, struct cw_text *text);

/* Adds the interval as a line with a mark at the value, "  |-==o===-|", what the noise alone leaves
 * open drawn thick, up to width columns of the scale; blanks at its end are left out. Nothing for
 * what is not finite. */
void cw_interval_add(const struct cw_scale *scale, struct cw_estimate estimate, size_t width,
                     bool utf8, struct cw_text *text);

/* A table's last column, with the rows' intervals as pictures. */
struct cw_intervals {
    struct cw_scale scale;
    size_t width; /* of the pictures; 0: the terminal has no room for them, and nothing is drawn */
    const struct cw_look *look;
};
/* The column's head: the scale's ends. Free the text. */
void cw_intervals_add_head(const struct cw_intervals *intervals, struct cw_text *text);
/* The picture, for its cell. */
void cw_intervals_add(const struct cw_intervals *intervals, struct cw_estimate estimate,
                      struct cw_text *text);

/* Writes a table with pictures as wide as the terminal leaves room for beside it: `write` is called
 * without them, to see how wide the rest is, and again. Says whether there was room. */
bool cw_intervals_write(const struct cw_scale *scale, const struct cw_look *look,
                        void (*write)(const void *of, const struct cw_intervals *intervals,
                                      struct cw_text *out),
                        const void *of, struct cw_text *out);
/* A line that says what is thick in them and what is thin. */
void cw_intervals_explain(const struct cw_look *look, struct cw_text *out);

#endif
