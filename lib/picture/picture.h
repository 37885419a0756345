/* The pictures: SVG, each whole by itself. */
#ifndef CW_PICTURE_PICTURE_H
#define CW_PICTURE_PICTURE_H

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/text.h"

enum cw_picture {
    CW_PICTURE_SETUPS, /* CdA of every run by setup, with intervals and means */
    CW_PICTURE_ROAD,   /* virtual elevation over the road's profile, residual under it */
    CW_PICTURE_SPEED,  /* speed along the road by run and setup */
    CW_PICTURE_GAINED, /* time gained and lost along the road between setups */
    CW_PICTURE_GROUND, /* the runs' lines in plan, gates, scale bar, north */
    CW_PICTURE_TIMED,  /* times between gates and run-outs, with scatter */
    CW_PICTURE_BUDGET, /* error budget as bars */
    CW_PICTURES
};

/* The name that --picture takes ("setups", "road", ...) and a title for people. */
const char *cw_picture_name(enum cw_picture picture);
const char *cw_picture_title(enum cw_picture picture);

/* The style sheet that every picture carries in a <style> element of its own, word for word the
 * same: a page lets it through by its checksum. So a picture has no style attribute, no script and
 * no handler. Names in it go through report/markup.h. Dark only for `screen`: paper stays white. */
const char *cw_picture_style(void);

/* Adds the picture of one outing (compare over all of them where it concerns it) as an <svg>
 * element. id_prefix makes its ids unique on a page. CW_E_DATA with a sentence saying why there is
 * nothing to draw. */
enum cw_status cw_picture_add(enum cw_picture picture, const struct cw_analysis *analysis,
                              size_t outing, const char *id_prefix, struct cw_text *text,
                              struct cw_error *error);

#endif
