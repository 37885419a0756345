/* One function a picture, as cw_picture_add calls them. */
#ifndef CW_PICTURE_PICTURES_H
#define CW_PICTURE_PICTURES_H

#include "base/error.h"
#include "base/text.h"
#include "picture/scene.h"

typedef enum cw_status cw_picture_maker(const struct cw_scene *scene, const char *id_prefix,
                                        struct cw_text *out, struct cw_error *error);
cw_picture_maker cw_picture_setups, cw_picture_road, cw_picture_speed, cw_picture_gained,
    cw_picture_ground, cw_picture_timed, cw_picture_budget;

#endif
