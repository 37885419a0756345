#include "picture/picture.h"

#include "picture/chart.h"
#include "picture/pictures.h"

static const struct {
    const char *name, *title;
    cw_picture_maker *make;
} pictures[CW_PICTURES] = {
    [CW_PICTURE_SETUPS] = {"setups", "CdA of every run, by setup", cw_picture_setups},
    [CW_PICTURE_ROAD] = {"road", "Virtual elevation along the road", cw_picture_road},
    [CW_PICTURE_SPEED] = {"speed", "Speed along the road", cw_picture_speed},
    [CW_PICTURE_GAINED] = {"gained", "Time gained and lost along the road", cw_picture_gained},
    [CW_PICTURE_GROUND] = {"ground", "The runs on the ground", cw_picture_ground},
    [CW_PICTURE_TIMED] = {"timed", "Times and run-outs as measured", cw_picture_timed},
    [CW_PICTURE_BUDGET] = {"budget", "What the uncertainty is made of", cw_picture_budget},
};

const char *cw_picture_name(enum cw_picture picture) {
    return pictures[picture].name;
}

const char *cw_picture_title(enum cw_picture picture) {
    return pictures[picture].title;
}

enum cw_status cw_picture_add(enum cw_picture picture, const struct cw_analysis *analysis,
                              size_t outing, const char *id_prefix, struct cw_text *text,
                              struct cw_error *error) {
    struct cw_scene scene;
    size_t length = text->length;
    enum cw_status status = cw_scene_make(analysis, outing, &scene, error);
    if (status >= 0) status = pictures[picture].make(&scene, id_prefix, text, error);
    cw_scene_free(&scene);
    if (status < 0 && text->length > length) { /* whole or not at all */
        text->length = length;
        text->bytes[length] = '\0';
    }
    return status;
}

const char *cw_picture_style(void) {
    return cw_chart_sheet();
}
