/* Virtual elevation of runs along the road, and how far it is off the road's profile. */
#ifndef CW_PICTURE_VIRTUAL_ELEVATION_H
#define CW_PICTURE_VIRTUAL_ELEVATION_H

#include <stddef.h>

#include "base/error.h"
#include "picture/scene.h"

struct cw_virtual {
    size_t n;
    double *s_m;        /* along the road */
    double *height_m;   /* virtual elevation, at the profile's level */
    double *residual_m; /* height_m less the profile */
};
void cw_virtual_free(struct cw_virtual *line);

/* Of a fitted run, by the CdA about which the fit takes it, its setup's, and its tyres' Crr; it
 * begins at the profile's height. A run whose air was not its fellows' leaves the profile where
 * that happens, by the height that it took.
 * CW_E_MEMORY. Free with cw_virtual_free, also after an error. */
enum cw_status cw_virtual_of_run(const struct cw_scene *scene, const struct cw_scene_run *run,
                                 struct cw_virtual *line, struct cw_error *error);

/* Of a run that was turned down, on road 0, by the mean CdA of the runs kept and no load; it
 * begins at the profile's height. n is 0 where it has no place on the road. */
enum cw_status cw_virtual_of_turned_down(const struct cw_scene *scene, const struct cw_run *run,
                                         struct cw_virtual *line, struct cw_error *error);

#endif
