#include "outing/read.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "base/text.h"
#include "outing/keys.h"
#include "outing/parse.h"
#include "outing/read_source.h"

/* ---- lists ---- */

static bool resolve_recordings(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_items *items = &r->recordings;
    size_t folder = cw_path_folder(outing->file);
    outing->recordings = calloc(items->n + 1, sizeof *outing->recordings);
    if (!outing->recordings) return cw_reading_no_memory(r);
    for (size_t i = 0; i < items->n; i++) {
        const char *word = items->at[i].word;
        long line = items->at[i].line;
        struct cw_text path = {0};
        if (*word != '/') cw_text_add_bytes(&path, outing->file, folder);
        /* A file of that name, not standard input. */
        if (!strcmp(word, "-") && !folder) cw_text_add(&path, "./");
        cw_text_add(&path, "%s", word);
        if (path.failed) {
            cw_text_free(&path);
            return cw_reading_no_memory(r);
        }
        outing->recordings[outing->n_recordings++] = path.bytes;
        for (size_t j = 0; j < i; j++)
            if (!strcmp(outing->recordings[j], path.bytes))
                return cw_reading_wrong(r, line, "recording \"%s\" is named twice", word);
        if (access(path.bytes, R_OK)) {
            r->status = cw_error_set(r->error, CW_E_READ, outing->file, line,
                                     "recording \"%s\" cannot be read: %s", word, strerror(errno));
            return false;
        }
    }
    return true;
}

/* A section is of the recording that is named as it is in the list. */
static bool resolve_own_air(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_items *items = &r->recordings;
    const char **names = malloc((items->n + 1) * sizeof *names);
    if (!names) return cw_reading_no_memory(r);
    bool fine = true;
    for (size_t i = 0; i < items->n; i++) names[i] = items->at[i].word;
    for (size_t k = 0; k < outing->n_own_air && fine; k++) {
        const struct cw_own_air_lines *own = &r->own_air_lines[k];
        size_t at = 0;
        while (at < items->n && strcmp(names[at], own->name)) at++;
        outing->own_air[k].recording = at;
        if (at == items->n)
            fine = cw_reading_wrong(
                r, own->line, "[air %s] is of no recording of this outing; the nearest is \"%s\"",
                own->name, cw_nearest(own->name, names, items->n));
    }
    free(names);
    return fine;
}

static bool resolve_order(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_items *items = &r->order;
    if (!items->n) return true;
    outing->order = calloc(items->n, sizeof *outing->order);
    if (!outing->order) return cw_reading_no_memory(r);
    const char *names[CW_OUTING_SETUPS_MAX];
    for (size_t i = 0; i < outing->n_setups; i++) names[i] = outing->setups[i].name;
    for (size_t i = 0; i < items->n; i++) {
        const char *word = items->at[i].word;
        size_t setup = 0;
        while (setup < outing->n_setups && strcmp(names[setup], word)) setup++;
        if (setup == outing->n_setups) {
            const char *nearest = cw_nearest(word, names, outing->n_setups);
            return cw_reading_wrong(r, items->at[i].line,
                                    "order names setup \"%s\", which no [setup %s] declares%s%s%s",
                                    word, word, nearest ? "; the nearest is \"" : "",
                                    nearest ? nearest : "", nearest ? "\"" : "");
        }
        outing->order[outing->n_order++] = setup;
    }
    return true;
}

static bool resolve_skip(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_items *items = &r->skip;
    if (!items->n) return true;
    outing->skip = calloc(items->n, sizeof *outing->skip);
    if (!outing->skip) return cw_reading_no_memory(r);
    for (size_t i = 0; i < items->n; i++) {
        const char *word = items->at[i].word;
        long number;
        if (!cw_integer_read(word, strlen(word), &number) || number < 1)
            return cw_reading_wrong(r, items->at[i].line,
                                    "skip holds \"%s\": give run numbers, from 1", word);
        for (size_t j = 0; j < outing->n_skip; j++)
            if (outing->skip[j] == number)
                return cw_reading_wrong(r, items->at[i].line, "skip names run %ld twice", number);
        outing->skip[outing->n_skip++] = number;
    }
    return true;
}

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

/* Fills in one number that was not given and says so. */
static bool default_number(struct cw_reading *r, const struct cw_outing_key *key,
                           const struct cw_key_lines *lines, const char *section, double *number) {
    double value = key->fallback;
    if (key->of) {
        const struct cw_outing_key *of = cw_outing_key_find(key->section, key->of);
        if (!lines->of[cw_reading_key_index(of)]) value = key->fallback_without;
    }
    *number = value;
    if (key->fallback_text)
        return add_default(r, "[%s] %s: %s", section, key->name, key->fallback_text);
    if (isnan(value)) return true;
    return add_default(r, "[%s] %s: %g%s%s", section, key->name, value, *key->unit ? " " : "",
                       key->unit);
}

static bool default_name(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const char *base = outing->file + cw_path_folder(outing->file);
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

/* The defaults of one section: the keys of the table whose lines are 0. */
static bool fill_in(struct cw_reading *r, const char *section, const char *title,
                    const struct cw_key_lines *lines, void *base) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    bool fine = true;
    for (size_t i = 0; i < n && fine; i++) {
        const struct cw_outing_key *key = &keys[i];
        if (strcmp(key->section, section) || lines->of[i]) continue;
        void *field = (char *)base + key->offset;
        if (key->required)
            fine = cw_reading_wrong(r, 0, "%s is missing from [%s]: add a line \"%s = ...\"",
                                    key->name, section, key->name);
        else if (key->kind == CW_KEY_NUMBER)
            fine = default_number(r, key, lines, title, field);
        else if (key->kind == CW_KEY_TEXT)
            fine = default_text(r, key, title, field);
    }
    return fine;
}

/* What a recording's own air says nothing of is the outing's; an uncertainty of what it does say
 * has a default. */
static bool fill_in_own_air(struct cw_reading *r, size_t i) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    const struct cw_own_air_lines *own = &r->own_air_lines[i];
    char *base = (char *)&r->outing->own_air[i].air - offsetof(struct cw_outing, air);
    for (size_t k = 0; k < n; k++) {
        if (!keys[k].of_recording || !keys[k].of) continue;
        bool given = own->keys.of[k] != 0;
        bool of_given =
            own->keys.of[cw_reading_key_index(cw_outing_key_find(keys[k].section, keys[k].of))] !=
            0;
        char title[CW_SECTION_LONGEST + 8];
        cw_print(title, sizeof title, "air %s", own->name);
        if (given && !of_given)
            return cw_reading_wrong(r, own->keys.of[k],
                                    "%s stands without %s: give both or neither", keys[k].name,
                                    keys[k].of);
        if (!given && of_given &&
            !default_number(r, &keys[k], &own->keys, title,
                            (double *)(void *)(base + keys[k].offset)))
            return false;
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
    if (!setup->name || !setup->description || !setup->tyres) return cw_reading_no_memory(r);
    return add_default(r, "[setup]: every run is of one setup, \"all\", with a load of 0 kg");
}

static bool fill_in_all(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++) {
        const char *section = keys[i].section;
        if ((i && !strcmp(section, keys[i - 1].section)) || !strcmp(section, "setup")) continue;
        if (!fill_in(r, section, section, &r->key_lines, outing)) return false;
    }
    for (size_t i = 0; r->setup_key_lines && i < outing->n_setups; i++) {
        char title[80];
        cw_print(title, sizeof title, "setup %s", outing->setups[i].name);
        if (!fill_in(r, "setup", title, &r->setup_key_lines[i], &outing->setups[i])) return false;
    }
    for (size_t i = 0; i < outing->n_own_air; i++)
        if (!fill_in_own_air(r, i)) return false;
    return default_level(r) && default_setup(r);
}

/* ---- the whole ---- */

static long line_given(const struct cw_reading *r, const char *section, const char *name) {
    return r->key_lines.of[cw_reading_key_index(cw_outing_key_find(section, name))];
}

/* What no single key shows. */
static bool check_whole(struct cw_reading *r) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    const struct cw_items *lists[] = {
        [CW_KEY_RECORDINGS] = &r->recordings, [CW_KEY_ORDER] = &r->order, [CW_KEY_SKIP] = &r->skip};
    for (size_t i = 0; i < n; i++)
        if (cw_key_is_list(&keys[i]) && r->key_lines.of[i] && !lists[keys[i].kind]->n)
            return cw_reading_wrong(r, r->key_lines.of[i],
                                    "%s is empty: give a value or remove the line", keys[i].name);
    long line = line_given(r, "rolling", "crr_uncertainty");
    if (line && !line_given(r, "rolling", "crr"))
        return cw_reading_wrong(r, line,
                                "crr_uncertainty stands without crr: give both or neither");
    enum cw_elevation elevation = r->outing->elevation;
    line = line_given(r, "outing", "elevation_uncertainty_m");
    if (line && elevation != CW_ELEVATION_LEVEL && elevation != CW_ELEVATION_TERRAIN)
        return cw_reading_wrong(r, line,
                                "elevation_uncertainty_m is of a level road's or a map's heights: "
                                "write elevation = level or terrain, or remove the line");
    return true;
}

enum cw_status cw_outing_read_memory(const char *bytes, size_t length, const char *path,
                                     struct cw_outing *outing, struct cw_error *error) {
    struct cw_reading r = {.outing = outing, .error = error};
    *outing =
        (struct cw_outing){.elevation_uncertainty_m = NAN, .crr = NAN, .crr_uncertainty = NAN};
    outing->file = strdup(path);
    if (!outing->file) return cw_error_memory(error);
    size_t blank = 0;
    while (blank < length && (bytes[blank] == ' ' || bytes[blank] == '\t' || bytes[blank] == '\r' ||
                              bytes[blank] == '\n'))
        blank++;
    if (blank < length && bytes[blank] == '<')
        return cw_error_set(
            error, CW_E_FORMAT, path, 0,
            "looks like a recording, not an outing file: \"coastwise runs\" shows the "
            "runs in it and the outing file to write");
    if (length > CW_OUTING_BYTES_MAX)
        return cw_error_set(error, CW_E_FORMAT, path, 0,
                            "is larger than 1 MiB: this is no outing file");
    cw_reading_parse(&r, bytes, length);
    outing->order_line = line_given(&r, "runs", "order");
    outing->skip_line = line_given(&r, "runs", "skip");
    if (r.status == CW_OK && check_whole(&r) && resolve_order(&r) && resolve_skip(&r) &&
        resolve_recordings(&r) && resolve_own_air(&r))
        fill_in_all(&r);
    cw_reading_free(&r);
    return r.status;
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
    if (!status) status = cw_outing_read_source(source, outing, error);
    cw_source_close(source);
    return status;
}
