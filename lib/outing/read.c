#include "outing/read.h"

#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/path.h"
#include "base/print.h"
#include "base/text.h"
#include "outing/keys.h"
#include "outing/parse.h"
#include "outing/read_source.h"
#include "outing/update.h"

/* ---- defaults ---- */

static bool add_default(struct cw_reading *r, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static bool add_default(struct cw_reading *r, const char *format, ...) {
    struct cw_outing *outing = r->outing;
    char sentence[256];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    char **defaults = realloc(outing->defaults, (outing->n_defaults + 1) * sizeof *defaults);
    if (!defaults) return cw_reading_no_memory(r);
    outing->defaults = defaults;
    defaults[outing->n_defaults] = strdup(sentence);
    if (!defaults[outing->n_defaults]) return cw_reading_no_memory(r);
    outing->n_defaults++;
    return true;
}

/* A hall's floor, a track's or a towpath's edge keeps its level to a decimetre. Common practice, no
 * source. */
static const double level_uncertainty_m = 0.1;

static bool default_level(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    if (outing->elevation != CW_ELEVATION_LEVEL || !isnan(outing->elevation_uncertainty_m))
        return true;
    outing->elevation_uncertainty_m = level_uncertainty_m;
    return add_default(r, "[outing] elevation_uncertainty_m: %g m over the road",
                       level_uncertainty_m);
}

static bool says_by(const struct cw_section *section, const char *name) {
    const struct cw_outing_key *key = cw_outing_key_find(section->kind->name, name);
    return section->keys.of[cw_reading_key_index(key)] != 0;
}

/* Whether a section says it, by that key or in other words. */
static bool says(const struct cw_section *section, const char *name) {
    const struct cw_outing_key *key = cw_outing_key_find(section->kind->name, name);
    return says_by(section, name) || cw_section_otherwise(section, key);
}

/* Fills in one number that was not given and says so. */
static bool default_number(struct cw_reading *r, const struct cw_outing_key *key,
                           const struct cw_section *section, const char *title, double *number) {
    double value = key->fallback;
    if (key->of && !says(section, key->of)) value = key->fallback_without;
    if (key->reduced && says_by(section, key->reduced)) value = key->fallback_reduced;
    *number = value;
    if (key->fallback_text)
        return add_default(r, "[%s] %s: %s", title, key->name, key->fallback_text);
    if (isnan(value)) return true;
    return add_default(r, "[%s] %s: %g%s%s", title, key->name, value, *key->unit ? " " : "",
                       key->unit);
}

static bool default_name(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const char *base = cw_path_name(outing->file);
    size_t length = strlen(base);
    if (length > 4 && !strcmp(base + length - 4, ".ini")) length -= 4;
    outing->name = strndup(base, length);
    if (!outing->name) return cw_reading_no_memory(r);
    return add_default(r, "[outing] name: %s", outing->name);
}

static bool default_text(struct cw_reading *r, const struct cw_outing_key *key, const char *section,
                         char **text) {
    if (!strcmp(key->section, "outing")) return default_name(r);
    *text = strdup(key->fallback_text ? key->fallback_text : "");
    if (!*text) return cw_reading_no_memory(r);
    if (!key->fallback_text) return true;
    return add_default(r, "[%s] %s: %s", section, key->name, key->fallback_text);
}

/* The section's title as it stands in the file. */
static void title_of(const struct cw_section *section, char title[CW_LINE_LONGEST + 16]) {
    cw_print(title, CW_LINE_LONGEST + 16, "%s%s%s", section->kind->name, *section->name ? " " : "",
             section->name);
}

static bool is_given(const struct cw_reading *r, const char *section, const char *name) {
    const struct cw_section *of = cw_reading_section(r, section, "");
    return of && says(of, name);
}

/* Says that a key is missing, and of the rider's own masses what adds them. */
static bool missing(struct cw_reading *r, const struct cw_outing_key *key,
                    const struct cw_section *section, const char *title) {
    struct cw_text command = {0};
    bool mass = !strcmp(key->name, "mass_kg") && !*section->name && strcmp(r->outing->file, "-");
    if (mass) {
        cw_text_add(&command, ", or type: coastwise start --update ");
        cw_text_add_word(&command, r->outing->file);
        if (!is_given(r, "rider", "mass_kg")) cw_text_add(&command, " --rider-kg KG");
        if (!is_given(r, "bike", "mass_kg")) cw_text_add(&command, " --bike-kg KG");
    }
    cw_reading_wrong(r, 0, "%s is missing from [%s]: add a line \"%s = ...\"%s", key->name, title,
                     key->name, command.bytes && !command.failed ? command.bytes : "");
    cw_text_free(&command);
    return false;
}

/* The defaults of one section: the keys that were not given. */
static bool fill_in(struct cw_reading *r, const struct cw_section *section) {
    char title[CW_LINE_LONGEST + 16];
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    bool fine = true;
    title_of(section, title);
    for (size_t i = 0; i < n && fine; i++) {
        const struct cw_outing_key *key = &keys[i];
        if (strcmp(key->section, section->kind->name) || section->keys.of[i]) continue;
        void *field = (char *)cw_reading_base(r, section) + key->offset;
        const struct cw_outing_key *other = cw_section_otherwise(section, key);
        if (!other && key->instead) other = cw_outing_key_find(key->section, key->instead);
        if (other && other->offset != key->offset) *(double *)field = NAN;
        if (other || key->instead) continue;
        if (key->required && r->unfinished && key->kind == CW_KEY_NUMBER)
            *(double *)field = NAN;
        else if (key->required)
            fine = missing(r, key, section, title);
        else if (key->kind == CW_KEY_NUMBER)
            fine = default_number(r, key, section, title, field);
        else if (key->kind == CW_KEY_TEXT)
            fine = default_text(r, key, title, field);
    }
    return fine;
}

/* What a recording's own air says nothing of is the outing's; an uncertainty of what it does say
 * has a default. */
static bool fill_in_own_air(struct cw_reading *r, const struct cw_section *section) {
    char title[CW_LINE_LONGEST + 16];
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    title_of(section, title);
    for (size_t k = 0; k < n; k++) {
        if (strcmp(keys[k].section, "air") || keys[k].of_whole || !keys[k].of) continue;
        bool given = section->keys.of[k] != 0;
        bool of_given = says(section, keys[k].of);
        if (given && !of_given)
            return cw_reading_wrong(r, section->keys.of[k],
                                    "%s stands without %s: give both or neither", keys[k].name,
                                    keys[k].of);
        double *field = (double *)(void *)((char *)cw_reading_base(r, section) + keys[k].offset);
        if (!given && of_given && !default_number(r, &keys[k], section, title, field)) return false;
    }
    return true;
}

static bool default_setup(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    if (outing->n_setups) return true;
    outing->setups = calloc(1, sizeof *outing->setups);
    if (!outing->setups) return cw_reading_no_memory(r);
    outing->n_setups = 1;
    struct cw_setup *setup = outing->setups;
    setup->name = strdup("all");
    setup->description = strdup("");
    setup->tyres = strdup("all");
    setup->pressure_kpa = NAN;
    setup->drag = strdup("");
    if (!setup->name || !setup->description || !setup->tyres || !setup->drag)
        return cw_reading_no_memory(r);
    return add_default(r, "[setup]: every run is of one setup, \"all\", with a load of 0 kg");
}

/* The section of that kind and name, or one without keys where the file has none. */
static struct cw_section section_or_none(const struct cw_reading *r,
                                         const struct cw_outing_section *kind, char *name,
                                         size_t index) {
    const struct cw_section *section = cw_reading_section(r, kind->name, name);
    return section ? *section : (struct cw_section){.kind = kind, .name = name, .index = index};
}

/* A set of tyres is one as it is pumped up. */
static bool check_pressures(struct cw_reading *r) {
    for (size_t s = 0; s < r->n_sections; s++) {
        const struct cw_section *section = &r->sections[s];
        if (strcmp(section->kind->name, "setup")) continue;
        const struct cw_setup *setup = &r->outing->setups[section->index];
        double kpa = cw_outing_pressure_kpa(r->outing, setup->tyres);
        if (isnan(setup->pressure_kpa) || fabs(setup->pressure_kpa - kpa) < 0.5) continue;
        return cw_reading_wrong(r, section->line,
                                "setup %s has its tyres \"%s\" at %.0f kPa, and another has them "
                                "at %.0f kPa: give them a name for each pressure (tyres = ...)",
                                setup->name, setup->tyres, setup->pressure_kpa, kpa);
    }
    return true;
}

static bool fill_in_all(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    size_t n;
    const struct cw_outing_section *kinds = cw_outing_sections(&n);
    char nameless[] = "";
    for (size_t i = 0; i < n; i++) {
        bool of_rider = !strcmp(kinds[i].name, "rider") || !strcmp(kinds[i].name, "bike");
        if (kinds[i].plain) {
            struct cw_section section = section_or_none(r, &kinds[i], nameless, 0);
            if (!fill_in(r, &section)) return false;
        }
        for (size_t k = 0; of_rider && k < outing->n_companions; k++) {
            struct cw_section section =
                section_or_none(r, &kinds[i], outing->companions[k].name, k + 1);
            if (!fill_in(r, &section)) return false;
        }
        for (size_t k = 0; k < r->n_sections; k++) {
            const struct cw_section *section = &r->sections[k];
            if (section->kind != &kinds[i] || !*section->name || of_rider) continue;
            if (strcmp(kinds[i].name, "air") ? !fill_in(r, section) : !fill_in_own_air(r, section))
                return false;
        }
    }
    return default_level(r) && default_setup(r) && check_pressures(r);
}

/* ---- the whole ---- */

static long line_given(const struct cw_reading *r, const char *section, const char *name) {
    const struct cw_section *of = cw_reading_section(r, section, "");
    return of ? of->keys.of[cw_reading_key_index(cw_outing_key_find(section, name))] : 0;
}

/* Lists that hold something; an uncertainty of what is given. */
static bool check_section(struct cw_reading *r, const struct cw_section *section) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++) {
        size_t items;
        long line = section->keys.of[i];
        if (!line) continue;
        if (cw_key_is_list(&keys[i]) &&
            (cw_reading_items(r, section, keys[i].name, &items), !items))
            return cw_reading_wrong(r, line, "%s is empty: give a value or remove the line",
                                    keys[i].name);
        const struct cw_outing_key *of =
            keys[i].of ? cw_outing_key_find(keys[i].section, keys[i].of) : NULL;
        if (of && isnan(keys[i].fallback_without) && !section->keys.of[cw_reading_key_index(of)])
            return cw_reading_wrong(r, line, "%s stands without %s: give both or neither",
                                    keys[i].name, of->name);
    }
    return true;
}

/* What no single key shows. */
static bool check_whole(struct cw_reading *r) {
    for (size_t i = 0; i < r->n_sections; i++)
        if (!check_section(r, &r->sections[i])) return false;
    long line;
    enum cw_elevation elevation = r->outing->elevation;
    line = line_given(r, "outing", "elevation_uncertainty_m");
    if (line && elevation != CW_ELEVATION_LEVEL && elevation != CW_ELEVATION_TERRAIN)
        return cw_reading_wrong(r, line,
                                "elevation_uncertainty_m is of a level road's or a map's heights: "
                                "write elevation = level or terrain, or remove the line");
    return true;
}

/* A command line that begins with `begins` and names a file. */
static void add_command(struct cw_text *text, const char *begins, const char *path) {
    cw_text_add(text, "%s %s", begins, *path == '-' && path[1] ? "./" : "");
    cw_text_add_word(text, path);
}

static enum cw_status refuse_recording(const char *path, struct cw_error *error) {
    struct cw_text command = {0};
    add_command(&command, "coastwise start", strcmp(path, "-") ? path : "RECORDING");
    cw_error_set(error, CW_E_FORMAT, path, 0,
                 "looks like a recording, not an outing file; to begin one from it, type: %s",
                 command.bytes ? command.bytes : "coastwise start");
    cw_text_free(&command);
    return CW_E_FORMAT;
}

static enum cw_status refuse_result(const char *path, struct cw_error *error) {
    struct cw_text command = {0};
    add_command(&command, "coastwise compare --from", path);
    cw_error_set(error, CW_E_FORMAT, path, 0,
                 "looks like a result of comparing, not an outing file; to compare its outings "
                 "again, type: %s",
                 command.bytes ? command.bytes : "coastwise compare --from FILE");
    cw_text_free(&command);
    return CW_E_FORMAT;
}

/* Says how a file that is not there is begun: an outing file, or, by its name, a result. */
static void say_begin(const char *path, struct cw_error *error) {
    struct cw_text command = {0};
    struct cw_error fault = error ? *error : (struct cw_error){0};
    const char *dot = strrchr(path, '.');
    if (!error || fault.code != CW_E_READ || access(path, F_OK) == 0) return;
    if (dot && (!strcmp(dot, ".json") || !strcmp(dot, ".jsonl"))) {
        cw_error_set(error, fault.code, fault.file, fault.line,
                     "%s; a result is what \"coastwise compare --json OUTING\" writes",
                     fault.message);
        return;
    }
    add_command(&command, "coastwise start RECORDING... -o", path);
    cw_error_set(error, fault.code, fault.file, fault.line,
                 "%s; to begin one from recordings, type: %s", fault.message,
                 command.bytes ? command.bytes : "coastwise start");
    cw_text_free(&command);
}

static enum cw_status read_memory(const char *bytes, size_t length, const char *path,
                                  bool unfinished, struct cw_outing *outing,
                                  struct cw_error *error) {
    struct cw_reading r = {.outing = outing, .error = error, .unfinished = unfinished};
    *outing =
        (struct cw_outing){.elevation_uncertainty_m = NAN, .crr = NAN, .crr_uncertainty = NAN};
    outing->file = strdup(path);
    if (!outing->file) return cw_error_memory(error);
    size_t blank = 0;
    while (blank < length && (bytes[blank] == ' ' || bytes[blank] == '\t' || bytes[blank] == '\r' ||
                              bytes[blank] == '\n'))
        blank++;
    if (blank < length && bytes[blank] == '<') return refuse_recording(path, error);
    if (blank < length && bytes[blank] == '{') return refuse_result(path, error);
    if (length > CW_OUTING_BYTES_MAX)
        return cw_error_set(error, CW_E_FORMAT, path, 0,
                            "is larger than 1 MiB: this is no outing file");
    cw_reading_parse(&r, bytes, length);
    outing->wind_given = line_given(&r, "air", "wind_along_ms") != 0;
    if (r.status == CW_OK && check_whole(&r) && cw_reading_resolve(&r)) fill_in_all(&r);
    cw_reading_free(&r);
    return r.status;
}

enum cw_status cw_outing_read_memory(const char *bytes, size_t length, const char *path,
                                     struct cw_outing *outing, struct cw_error *error) {
    return read_memory(bytes, length, path, false, outing, error);
}

enum cw_status cw_outing_read_unfinished(const char *bytes, size_t length, const char *path,
                                         struct cw_outing *outing, struct cw_error *error) {
    return read_memory(bytes, length, path, true, outing, error);
}

enum cw_status cw_outing_read_source(struct cw_source *source, struct cw_outing *outing,
                                     struct cw_error *error) {
    const char *path = cw_source_name(source);
    struct cw_text bytes = {0};
    enum cw_status status = CW_OK;
    char block[16384];
    size_t got = 1;
    *outing = (struct cw_outing){0};
    while (!status && got && bytes.length <= CW_OUTING_BYTES_MAX) {
        status = cw_source_read(source, block, sizeof block, &got, error);
        if (!status) cw_text_add_bytes(&bytes, block, got);
    }
    if (!status && bytes.failed) status = cw_error_memory(error);
    if (!status && bytes.length <= CW_OUTING_BYTES_MAX &&
        cw_source_fault(source) != CW_SOURCE_WHOLE)
        status = cw_error_set(error, CW_E_FORMAT, path, 0,
                              "the gzip is cut short or damaged: copy the file again");
    if (!status)
        status = cw_outing_read_memory(bytes.bytes ? bytes.bytes : "", bytes.length, path, outing,
                                       error);
    cw_text_free(&bytes);
    return status;
}

enum cw_status cw_outing_read(const char *path, struct cw_outing *outing, struct cw_error *error) {
    struct cw_source *source = NULL;
    *outing = (struct cw_outing){0};
    enum cw_status status = cw_source_open(path, &source, error);
    if (status) say_begin(path, error);
    if (!status) status = cw_outing_read_source(source, outing, error);
    cw_source_close(source);
    return status;
}
