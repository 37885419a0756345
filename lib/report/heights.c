#include "report/heights.h"

#include <math.h>

#include "base/print.h"
#include "report/json.h"

static const char *from(enum cw_elevation kind) {
    switch (kind) {
    case CW_ELEVATION_SATELLITE:
        return "heights from satellites";
    case CW_ELEVATION_TERRAIN:
        return "heights from a map";
    case CW_ELEVATION_SURVEYED:
        return "surveyed heights";
    case CW_ELEVATION_LEVEL:
        return "a level road";
    case CW_ELEVATION_BAROMETRIC:
        break;
    }
    return "heights from a pressure sensor";
}

static void add_kind(const struct cw_height_kind *kind, struct cw_text *text) {
    if (kind->told && kind->kind == CW_ELEVATION_TERRAIN)
        cw_text_add(text, "%s: passes of the same place agree within %.2f m", from(kind->kind),
                    kind->apart_m);
    else if (kind->told)
        cw_text_add(text, "%s: passes of the same place drift apart by %.1f m within a minute",
                    from(kind->kind), kind->drift_m);
    else if (!(kind->drift_m > 0))
        cw_text_add(text, "where the heights come from is not told: too little was passed twice");
    else
        cw_text_add(text,
                    "where the heights come from is not told: passes of the same place differ by "
                    "%.2f m and drift apart by %.1f m within a minute, which several kinds do",
                    kind->apart_m, kind->drift_m);
}

void cw_heights_add(const struct cw_analysed *of, struct cw_text *text) {
    if (of->outing.elevation == CW_ELEVATION_LEVEL)
        cw_text_add(text, "a level road, as the outing file says: heights are not looked at");
    else
        add_kind(&of->heights, text);
}

void cw_heights_default(const struct cw_analysed *of, struct cw_sentences *defaults) {
    struct cw_text text = {0};
    if (of->outing.elevation_given) return;
    add_kind(&of->heights, &text);
    cw_sentences_add(defaults, "[outing] elevation: %s; %s",
                     cw_elevation_text(of->outing.elevation), text.failed ? "" : text.bytes);
    if (text.failed) defaults->text.failed = true;
    cw_text_free(&text);
}

void cw_heights_warning(const struct cw_analysed *of, struct cw_sentences *warnings) {
    const struct cw_height_kind *seen = &of->heights;
    enum cw_elevation said = of->outing.elevation;
    struct cw_text text = {0};
    /* Surveyed heights belong to the place as a map's do. */
    bool alike =
        said == seen->kind || (said == CW_ELEVATION_SURVEYED && seen->kind == CW_ELEVATION_TERRAIN);
    if (!of->outing.elevation_given || !seen->told || alike || said == CW_ELEVATION_LEVEL) return;
    add_kind(seen, &text);
    cw_sentences_add(warnings, "elevation = %s in [outing], but the recordings show %s",
                     cw_elevation_text(said), text.failed ? "" : text.bytes);
    if (text.failed) warnings->text.failed = true;
    cw_text_free(&text);
}

json_t *cw_heights_json(const struct cw_analysed *of, bool *failed) {
    const struct cw_height_kind *kind = &of->heights;
    bool level = of->outing.elevation == CW_ELEVATION_LEVEL;
    struct cw_json object = cw_json_object(failed);
    struct cw_text text = {0};
    enum cw_elevation is = level ? CW_ELEVATION_LEVEL : kind->kind;
    cw_heights_add(of, &text);
    cw_json_set(object, "kind",
                level || kind->told ? cw_json_string(cw_elevation_text(is)) : json_null());
    cw_json_set(object, "reason", cw_json_string(text.failed ? "" : text.bytes));
    cw_json_set(object, "apart_m", cw_json_number(kind->apart_m));
    cw_json_set(object, "drift_m", cw_json_number(kind->drift_m));
    if (text.failed) *failed = true;
    cw_text_free(&text);
    return object.value;
}
