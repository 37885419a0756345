#include "picture/picture.h"

#include <string.h>

#include "fit/workings.h"
#include "picture/chart.h"
#include "picture/names.h"
#include "picture/pictures.h"
#include "picture/scene.h"
#include "report/history.h"

static const struct cw_picture pictures[] = {
#define ROW(name, heading, title, caption, needs, of, numbers)                                     \
    {#name, heading, title, caption, needs, of, numbers, cw_picture_##name},
    CW_PICTURE_LIST(ROW)
#undef ROW
};

const char *const cw_picture_names[] = {
#define NAME(name, ...) #name,
    CW_PICTURE_LIST(NAME)
#undef NAME
        NULL};

const struct cw_picture *cw_pictures(size_t *n) {
    *n = sizeof pictures / sizeof *pictures;
    return pictures;
}

const struct cw_picture *cw_picture_named(const char *name) {
    for (size_t i = 0; i < sizeof pictures / sizeof *pictures; i++)
        if (!strcmp(pictures[i].name, name)) return &pictures[i];
    return NULL;
}

/* What the picture needs and the scene has not; NULL if there is nothing. */
static const char *missing(const struct cw_scene *scene, unsigned needs) {
    const struct cw_fit *fit = &scene->of->fit;
    const struct cw_compare *compare = cw_analysis_compared(scene->analysis);
    if ((needs & CW_PICTURE_NEEDS_POSITIONS) &&
        (!fit->n_roads || !fit->workings->roads || fit->workings->roads[scene->road].n < 2))
        return "the recordings hold no positions";
    if ((needs & CW_PICTURE_NEEDS_SETUPS) && scene->n_setups < 2) return "there is one setup only";
    if ((needs & CW_PICTURE_NEEDS_TIMES) && !scene->of->timed.n)
        return *scene->of->untimed ? scene->of->untimed : "nothing was timed";
    if ((needs & CW_PICTURE_NEEDS_BUDGET) && (!compare || !compare->n_causes))
        return "there is no setup to take the budget of";
    if ((needs & CW_PICTURE_NEEDS_TYRES) && (!compare || !cw_compare_tells_rolling(compare)))
        return "no two setups are on different tyres, their drag not said to be the same";
    if ((needs & CW_PICTURE_NEEDS_HISTORY) && !cw_history_told(scene->analysis))
        return "no setup is in several outings";
    if ((needs & CW_PICTURE_NEEDS_WINDS) && !cw_scene_saw_winds(scene))
        return "of the winds nothing was noted or logged, and no companion met them";
    if ((needs & CW_PICTURE_NEEDS_PRESSURES) && cw_scene_pumped(scene) < CW_PICTURE_PRESSURES_LEAST)
        return "pressures were noted of fewer than three sets of tyres whose Crr is told";
    return NULL;
}

/* The outing's name, or all of theirs. */
static void add_whose(const struct cw_scene *scene, enum cw_picture_of of, struct cw_text *text) {
    const struct cw_analysis *analysis = scene->analysis;
    if (of == CW_PICTURE_OF_OUTING)
        cw_text_add(text, "%s", scene->of->outing.name);
    else
        for (size_t o = 0; o < analysis->n; o++)
            cw_text_add(text, "%s%s", o ? ", " : "", analysis->outings[o].outing.name);
}

static enum cw_status draw(const struct cw_picture *picture, const struct cw_scene *scene,
                           bool titled, enum cw_units units, const char *id_prefix,
                           struct cw_text *text, struct cw_error *error) {
    struct cw_chart chart;
    struct cw_text description = {0}, whose = {0};
    const char *without = missing(scene, picture->needs);
    if (without)
        return cw_error_set(error, CW_E_DATA, scene->of->outing.file, 0, "%s: nothing to draw",
                            without);
    cw_chart_begin(&chart, units);
    enum cw_status status = picture->draw(scene, &chart, &description, error);
    if (status < 0) {
        cw_text_free(&chart.body);
        goto cleanup;
    }
    add_whose(scene, picture->of, &whose);
    chart.fails |= description.failed || whose.failed;
    const struct cw_chart_head head = {.id_prefix = id_prefix,
                                       .name = picture->name,
                                       .title = picture->title,
                                       .subtitle = whose.bytes,
                                       .untitled = !titled,
                                       .description = description.bytes ? description.bytes : ""};
    status = cw_chart_finish(&chart, &head, text, error);
cleanup:
    cw_text_free(&description);
    cw_text_free(&whose);
    return status;
}

enum cw_status cw_picture_add(const struct cw_picture *picture, const struct cw_analysis *analysis,
                              size_t outing, bool titled, enum cw_units units,
                              const char *id_prefix, struct cw_text *text, struct cw_error *error) {
    struct cw_scene scene;
    size_t length = text->length;
    enum cw_status status = cw_scene_make(analysis, outing, &scene, error);
    if (status >= 0) status = draw(picture, &scene, titled, units, id_prefix, text, error);
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
