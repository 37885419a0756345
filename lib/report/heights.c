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

/* What the recordings show of it. */
static void add_kind(const struct cw_height_kind *kind, struct cw_text *text) {
    cw_text_add(text, "%s (",
                kind->told ? from(kind->kind) : "where the heights come from is not told");
    if (kind->told && kind->kind == CW_ELEVATION_TERRAIN)
        cw_text_add(text, "passes of the same place agree within %.2f m", kind->apart_m);
    else if (kind->told)
        cw_text_add(text, "passes of the same place drift apart by %.1f m within a minute",
                    kind->drift_m);
    else if (!(kind->drift_m > 0))
        cw_text_add(text, "too little was passed twice");
    else
        cw_text_add(text,
                    "passes of the same place differ by %.2f m and drift apart by %.1f m within a "
                    "minute, which several kinds do",
                    kind->apart_m, kind->drift_m);
    cw_text_add(text, ")");
}

/* A difference needs the road's heights, which all runs have in common; CdA itself needs them
 * right. */
static bool is_poor(enum cw_elevation kind) {
    return kind == CW_ELEVATION_SATELLITE || kind == CW_ELEVATION_TERRAIN;
}

static enum cw_elevation kind_used(const struct cw_analysed *of) {
    if (of->has_file) return of->outing.elevation;
    return of->heights.told ? of->heights.kind : CW_ELEVATION_BAROMETRIC;
}

/* Beyond the first it is said that a level leans on what riders have; beyond the second, that it is
 * not known. */
static const double much_usual = 0.2, most_usual = 0.5;
/* An interval wider than this part of its value either way only pretends to tell something. */
static const double most_part = 0.75;

bool cw_level_is_told(const struct cw_setup_result *setup) {
    const struct cw_estimate *cda = &setup->cda_m2;
    return setup->level_told && setup->usual_part <= most_usual &&
           0.5 * (cda->high - cda->low) <= most_part * cda->value;
}

static void add_level(const struct cw_compare *compare, bool poor, struct cw_text *text) {
    double low = INFINITY, high = -INFINITY, percent = 0, usual = 0;
    bool told = compare->n_told > 0;
    for (size_t s = 0; s < compare->n_told; s++) {
        const struct cw_setup_result *setup = &compare->setups[s];
        const struct cw_estimate *cda = &setup->cda_m2;
        told = told && cw_level_is_told(setup);
        low = fmin(low, cda->low);
        high = fmax(high, cda->high);
        percent = fmax(percent, 100 * 0.5 * (cda->high - cda->low) / cda->value);
        usual = fmax(usual, setup->usual_part);
    }
    if (!told) {
        cw_text_add(text, "CdA itself isn't known from these %s", poor ? "heights" : "runs");
        if (low <= high)
            cw_text_add(text, ": %.2f to %.2f m², little more than what riders on bicycles have",
                        low, high);
        return;
    }
    cw_text_add(text, "CdA itself is known to ± %.*f %%", percent < 1 ? 1 : 0, percent);
    if (usual > much_usual)
        cw_text_add(text, ", leaning on what riders on bicycles have by %.0f %%", 100 * usual);
}

bool cw_coast_tells(const struct cw_fit_run *run) {
    return run->together_identifiable && run->together_cda_m2.low > 0;
}

static bool any_told(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->fit.n_runs; i++)
        if (cw_coast_tells(&of->fit.runs[i])) return true;
    return false;
}

void cw_heights_say(const struct cw_analysed *of, const struct cw_compare *compare,
                    struct cw_text *text) {
    enum cw_elevation kind = kind_used(of);
    bool given = of->has_file && of->outing.elevation_given;
    bool seen = of->heights.told && of->heights.kind == kind;
    if (kind == CW_ELEVATION_LEVEL)
        cw_text_add(text, "a level road, as the outing file says (heights are not looked at)");
    else if (given && !seen)
        cw_text_add(text, "%s, as the outing file says", from(kind));
    else
        add_kind(&of->heights, text);
    cw_text_add(text, ": ");
    if (!given && !seen) cw_text_add(text, "they are taken to be from a pressure sensor; ");
    bool alone = compare && !compare->n_comparisons; /* nothing to tell a difference of */
    if (is_poor(kind) && !alone)
        cw_text_add(text, "a difference between setups is as sure as with a pressure sensor, ");
    if (alone && !compare->n_told && any_told(of))
        cw_text_add(text, "CdA is told by single coasts only, as each of them has it");
    else if (compare)
        add_level(compare, is_poor(kind), text);
    else if (is_poor(kind))
        cw_text_add(text, "CdA itself is hardly known");
    else
        cw_text_add(text, "differences between setups can be told, and CdA itself");
}

void cw_heights_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    for (size_t o = 0; o < analysis->n; o++) {
        struct cw_text text = {0};
        if (analysis->n > 1) cw_text_add(&text, "%s: ", analysis->outings[o].outing.name);
        cw_heights_say(&analysis->outings[o], analysis->n > 1 ? NULL : compare, &text);
        cw_sentences_take(sentences, &text);
    }
}

void cw_heights_default(const struct cw_analysed *of, struct cw_sentences *defaults) {
    if (of->outing.elevation_given) return;
    cw_sentences_add(defaults, "[outing] elevation: %s%s", cw_elevation_text(of->outing.elevation),
                     of->heights.told ? ", as the recordings show" : "");
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

json_t *cw_heights_json(const struct cw_analysed *of, const struct cw_compare *compare,
                        bool *failed) {
    const struct cw_height_kind *kind = &of->heights;
    bool level = of->outing.elevation == CW_ELEVATION_LEVEL;
    struct cw_json object = cw_json_object(failed);
    struct cw_text text = {0}, said = {0};
    enum cw_elevation is = level ? CW_ELEVATION_LEVEL : kind->kind;
    if (level)
        cw_text_add(&text, "a level road, as the outing file says: heights are not looked at");
    else
        add_kind(kind, &text);
    cw_json_set(object, "kind",
                level || kind->told ? cw_json_string(cw_elevation_text(is)) : json_null());
    cw_json_set(object, "reason", cw_json_string(text.failed ? "" : text.bytes));
    cw_json_set(object, "apart_m", cw_json_number(kind->apart_m));
    cw_json_set(object, "drift_m", cw_json_number(kind->drift_m));
    cw_heights_say(of, compare, &said);
    cw_json_set(object, "said", cw_json_string(said.failed ? "" : said.bytes));
    if (text.failed || said.failed) *failed = true;
    cw_text_free(&text);
    cw_text_free(&said);
    return object.value;
}
