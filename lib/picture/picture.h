/* The pictures: SVG, each whole by itself. */
#ifndef CW_PICTURE_PICTURE_H
#define CW_PICTURE_PICTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

struct cw_chart;
struct cw_scene;

#define CW_PICTURE_PRESSURES_LEAST 3

/* What a picture cannot be drawn without, beside a run that was fitted. */
enum cw_picture_need {
    CW_PICTURE_NEEDS_POSITIONS = 1 << 0, /* recorded where the runs went */
    CW_PICTURE_NEEDS_SETUPS = 1 << 1,    /* of two setups in the outing */
    CW_PICTURE_NEEDS_TIMES = 1 << 2,     /* cw_analysis_time */
    CW_PICTURE_NEEDS_BUDGET = 1 << 3,    /* cw_analysis_compare, of setups that tell a CdA */
    CW_PICTURE_NEEDS_WINDS = 1 << 4,     /* of its runs, with somebody else who saw them */
    CW_PICTURE_NEEDS_PRESSURES = 1 << 5, /* of CW_PICTURE_PRESSURES_LEAST sets of tyres, or more */
    CW_PICTURE_NEEDS_TYRES = 1 << 6,     /* two setups on different tyres whose drag may differ */
    CW_PICTURE_NEEDS_HISTORY = 1 << 7    /* a setup, or tyres, that several outings have */
};

enum cw_picture_of {
    CW_PICTURE_OF_OUTING, /* one an outing */
    CW_PICTURE_OF_ALL     /* one of all outings, whichever it is asked for */
};

struct cw_picture {
    const char *name;    /* that --picture takes; in its ids */
    const char *heading; /* a few words, over it on a page */
    const char *title;   /* what it shows; in the picture itself */
    const char *caption; /* the same in a sentence, under it on a page */
    unsigned needs;      /* a set of enum cw_picture_need */
    enum cw_picture_of of;
    const char *numbers; /* the part of the page (page/page.c) that its values stand in */
    /* For cw_picture_add: draws into a chart begun, and says in description what the picture says,
     * for who does not see it. */
    enum cw_status (*draw)(const struct cw_scene *scene, struct cw_chart *chart,
                           struct cw_text *description, struct cw_error *error);
};

/* All of them, in the order of a page. */
const struct cw_picture *cw_pictures(size_t *n);
/* The picture of that name; NULL if none has it. */
const struct cw_picture *cw_picture_named(const char *name);

/* The style sheet, a constant, that every picture carries in a <style> element of its own, word for
 * word the same: a page lets it through by its checksum. So a picture has no style attribute, no
 * script and no handler. Names in it go through report/markup.h. Dark only for `screen`: paper
 * stays white. */
const char *cw_picture_style(void);

/* Adds the picture of one outing (compare over all of them where it concerns it) as an <svg>
 * element: titled, to stand alone, or without its title and the outing's name, for a page that has
 * both above, its figures in the units given. id_prefix makes its ids unique on a page. CW_E_DATA
 * with a sentence saying why there is nothing to draw, CW_E_ARGUMENT for an outing that the
 * analysis has not; nothing is added then.
 */
enum cw_status cw_picture_add(const struct cw_picture *picture, const struct cw_analysis *analysis,
                              size_t outing, bool titled, enum cw_units units,
                              const char *id_prefix, struct cw_text *text, struct cw_error *error);

CW_PUBLIC_END

#endif
