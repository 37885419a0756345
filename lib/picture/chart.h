/* Charts: what pictures are drawn with. A chart is laid out from the top down in picture units, 480
 * across; it scales to the width it is given. Text is set as if 15 units high, which is legible on
 * a telephone, and shown smaller where there is room, so that what was laid out never overlaps.
 *
 * Everything is written into a text that remembers a failed allocation; the chart is checked once,
 * in cw_chart_finish. The same calls give the same bytes. */
#ifndef CW_PICTURE_CHART_H
#define CW_PICTURE_CHART_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "picture/axis.h"
#include "picture/labels.h"
#include "picture/thin.h"

#define CW_CHART_WIDTH 480.0
#define CW_CHART_FONT 15.0
#define CW_CHART_STRONG 17.0 /* strong text is as wide as plain text of this size */
#define CW_CHART_ROW 19.0    /* from one line of text to the next */
#define CW_CHART_BODY 52.0   /* where what is under the title begins */
#define CW_CHART_LEFT 54.0   /* of plots: room for figures */
#define CW_CHART_RIGHT 468.0

/* How every picture begins. */
#define CW_CHART_BEGINNING "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"cw-picture cw-"

struct cw_chart {
    struct cw_text body;
    double y;            /* where what comes next begins */
    bool fails;          /* memory ran out elsewhere than in body */
    enum cw_units units; /* that it is read in */
};

/* A style: colour, mark and dash together, so that setups differ without colour too. The first 168
 * differ. */
#define CW_STYLE_NONE ((size_t)-1) /* grey, for what has no setup */

/* Leaves room for the title. Whoever draws gives lengths in m, speeds in km/h ...: axes, marks'
 * values, notes and the description show them in the chart's units; what is drawn as text is put
 * into these by cw_chart_say before it is measured. */
void cw_chart_begin(struct cw_chart *chart, enum cw_units units);
/* Puts a text's numbers and units into the chart's. */
void cw_chart_say(struct cw_chart *chart, struct cw_text *text);
/* An axis of values in one of our units ("m", "m/s"), as cw_axis_make_in. */
struct cw_axis cw_chart_axis(const struct cw_chart *chart, const char *unit, double low,
                             double high, double from, double to, int about, bool whole);

struct cw_chart_head {
    const char *id_prefix; /* of ids; other characters than letters, digits, - and _ are dropped */
    const char *name;      /* of the picture: ids and class */
    const char *title;     /* what it shows */
    const char *subtitle;  /* whose; may be NULL */
    bool untitled;         /* both stand around the picture already and are not drawn */
    const char *description; /* for who does not see it: what it says, in a sentence or two */
};
/* Adds the whole <svg> to out and frees the chart. CW_E_MEMORY. */
enum cw_status cw_chart_finish(struct cw_chart *chart, const struct cw_chart_head *head,
                               struct cw_text *out, struct cw_error *error);

/* The style sheet that every picture carries: for a page that must know it beforehand. A page sets
 * --cw-paper, --cw-ink, --cw-mute, --cw-grid, --cw-0 ... --cw-7 and --cw-none to have its own. */
const char *cw_chart_sheet(void);

/* Text on one line, its baseline at y; anchor 's', 'm' or 'e' (start, middle, end); class_ "" or
 * "mute" or "strong". Cleaned (cw_label_shorten) and escaped. */
void cw_chart_text(struct cw_chart *chart, double x, double y, char anchor, const char *class_,
                   const char *text);
/* Text in as many lines as it takes, muted, at the chart's y, which moves on. */
void cw_chart_note(struct cw_chart *chart, const char *text);
/* name="value", both cleaned and escaped, with a blank before. */
void cw_chart_attribute(struct cw_chart *chart, const char *name, const char *value);
/* The same of what it stands for in words, in the chart's units: data-value="...". */
void cw_chart_value(struct cw_chart *chart, const char *value);

/* class_ beside the style's own ("" for none): "thin", "bold", "faint", "rule" ... of the sheet.
 * A line of the class "plain" has no dash. */
void cw_chart_line(struct cw_chart *chart, size_t style, const char *class_, double x1, double y1,
                   double x2, double y2);
void cw_chart_rect(struct cw_chart *chart, size_t style, const char *class_, double x, double y,
                   double width, double height);
/* The style's mark. value: what it stands for in words, NULL for none. */
void cw_chart_mark(struct cw_chart *chart, size_t style, double x, double y, double size,
                   const char *value);
/* The style's mark and dash and a name, as in a key, with the name's baseline at y. */
void cw_chart_sample(struct cw_chart *chart, size_t style, double x, double y, bool line);

/* A plot: its scales, and what its axes mean with our units ("distance along the road, m"). */
struct cw_plot {
    struct cw_axis x, y;
    const char *x_means, *y_means;
};
/* Opens a <g class="plot"> with grid, figures and y_means written on top (so y.to is a text row
 * below the chart's y). With x_figures, they and x_means stand below. cw_plot_close ends the group;
 * the chart's y is then below all. */
void cw_plot_open(struct cw_chart *chart, const struct cw_plot *plot, bool x_figures,
                  bool y_figures);
void cw_plot_close(struct cw_chart *chart, const struct cw_plot *plot, bool x_figures);
struct cw_box cw_plot_box(const struct cw_plot *plot);

/* A line through n values, thinned and cut to the plot; NaN breaks it. */
void cw_plot_line(struct cw_chart *chart, const struct cw_plot *plot, size_t style,
                  const char *class_, size_t n, const double *x, const double *y);
/* The area between two such lines. */
void cw_plot_band(struct cw_chart *chart, const struct cw_plot *plot, size_t style,
                  const char *class_, size_t n, const double *x, const double *low,
                  const double *high);

#endif
