#include "outing/parse.h"

#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <ini.h>

#include "base/number.h"
#include "base/print.h"

/* ---- errors ---- */

bool cw_reading_wrong(struct cw_reading *r, long line, const char *format, ...) {
    if (r->status == CW_OK) {
        char message[400];
        va_list arguments;
        va_start(arguments, format);
        cw_print_v(message, sizeof message, format, arguments);
        va_end(arguments);
        r->status = cw_error_set(r->error, CW_E_FORMAT, r->outing->file, line, "%s", message);
    }
    return false;
}

bool cw_reading_no_memory(struct cw_reading *r) {
    if (r->status == CW_OK) r->status = cw_error_memory(r->error);
    return false;
}

/* ---- sections ---- */

size_t cw_reading_key_index(const struct cw_outing_key *key) {
    size_t n;
    return (size_t)(key - cw_outing_keys(&n));
}

static struct cw_key_lines *lines_here(struct cw_reading *r) {
    if (r->own) return &r->own_air_lines[r->outing->n_own_air - 1].keys;
    return strcmp(r->section, "setup") ? &r->key_lines
                                       : &r->setup_key_lines[r->outing->n_setups - 1];
}

static bool begin_setup(struct cw_reading *r, const char *name) {
    struct cw_outing *outing = r->outing;
    long line = r->lines.line;
    name += strspn(name, " \t");
    if (!*name) return cw_reading_wrong(r, line, "the setup has no name: write [setup NAME]");
    if (strpbrk(name, " \t,"))
        return cw_reading_wrong(r, line, "setup \"%s\": a setup's name is one word, without commas",
                                name);
    for (size_t i = 0; i < outing->n_setups; i++)
        if (!strcmp(outing->setups[i].name, name))
            return cw_reading_wrong(r, line, "setup \"%s\" is declared twice, first in line %ld",
                                    name, r->setup_line[i]);
    size_t n = outing->n_setups;
    if (n == CW_OUTING_SETUPS_MAX)
        return cw_reading_wrong(r, line, "more than %d setups: split the outing",
                                CW_OUTING_SETUPS_MAX);
    struct cw_setup *setups = realloc(outing->setups, (n + 1) * sizeof *setups);
    if (!setups) return cw_reading_no_memory(r);
    outing->setups = setups;
    struct cw_key_lines *key_lines = realloc(r->setup_key_lines, (n + 1) * sizeof *key_lines);
    if (!key_lines) return cw_reading_no_memory(r);
    r->setup_key_lines = key_lines;
    key_lines[n] = (struct cw_key_lines){0};
    setups[n] = (struct cw_setup){.name = strdup(name)};
    if (!setups[n].name) return cw_reading_no_memory(r);
    r->setup_line[n] = line;
    outing->n_setups++;
    strcpy(r->section, "setup");
    return true;
}

/* Which recording it is of is seen when all are known. */
static bool begin_own_air(struct cw_reading *r, const char *name) {
    struct cw_outing *outing = r->outing;
    size_t n = outing->n_own_air;
    name += strspn(name, " \t");
    for (size_t i = 0; i < n; i++)
        if (!strcmp(r->own_air_lines[i].name, name))
            return cw_reading_wrong(r, r->lines.line,
                                    "section [air %s] appears twice, first in line %ld: join them",
                                    name, r->own_air_lines[i].line);
    if (n == CW_OUTING_ITEMS_MAX)
        return cw_reading_wrong(r, r->lines.line, "more than %d sections [air RECORDING]",
                                CW_OUTING_ITEMS_MAX);
    struct cw_own_air *own = realloc(outing->own_air, (n + 1) * sizeof *own);
    if (!own) return cw_reading_no_memory(r);
    outing->own_air = own;
    struct cw_own_air_lines *lines = realloc(r->own_air_lines, (n + 1) * sizeof *lines);
    if (!lines) return cw_reading_no_memory(r);
    r->own_air_lines = lines;
    own[n] = (struct cw_own_air){.air = {NAN, NAN, NAN, NAN, NAN, NAN}};
    lines[n] = (struct cw_own_air_lines){.line = r->lines.line};
    cw_print(lines[n].name, sizeof lines[n].name, "%s", name);
    outing->n_own_air++;
    r->own = true;
    strcpy(r->section, "air");
    return true;
}

/* The distinct section names of the table; returns how many. */
static size_t section_names(const char *names[CW_OUTING_KEY_COUNT]) {
    size_t n, sections = 0;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++)
        if (!i || strcmp(keys[i].section, keys[i - 1].section)) names[sections++] = keys[i].section;
    return sections;
}

static bool begin_section(struct cw_reading *r, const char *name) {
    long line = r->lines.line;
    r->key = NULL;
    r->own = false;
    size_t word = strcspn(name, " \t");
    if (word == 3 && name[word] && !strncmp(name, "air", 3)) return begin_own_air(r, name + 3);
    if (word == 5 && !strncmp(name, "setup", 5)) return begin_setup(r, name + 5);
    const char *names[CW_OUTING_KEY_COUNT];
    size_t n = section_names(names);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(name, names[i])) continue;
        if (r->section_line[i])
            return cw_reading_wrong(r, line,
                                    "section [%s] appears twice, first in line %ld: join them",
                                    name, r->section_line[i]);
        r->section_line[i] = line;
        strcpy(r->section, name);
        return true;
    }
    char first[CW_SECTION_LONGEST + 2];
    cw_print(first, sizeof first, "%.*s", (int)word, name);
    const char *nearest = cw_nearest(first, names, n);
    return cw_reading_wrong(r, line, "unknown section [%s]; the nearest known is [%s%s]", name,
                            nearest, strcmp(nearest, "setup") ? "" : " NAME");
}

/* ---- values ---- */

static bool add_item(struct cw_reading *r, struct cw_items *items, const char *word,
                     size_t length) {
    if (items->n == CW_OUTING_ITEMS_MAX)
        return cw_reading_wrong(r, r->lines.line, "more than %d entries", CW_OUTING_ITEMS_MAX);
    if (items->n == items->capacity) {
        size_t capacity = items->capacity ? 2 * items->capacity : 16;
        struct cw_item *at = realloc(items->at, capacity * sizeof *at);
        if (!at) return cw_reading_no_memory(r);
        items->at = at;
        items->capacity = capacity;
    }
    char *copy = strndup(word, length);
    if (!copy) return cw_reading_no_memory(r);
    items->at[items->n++] = (struct cw_item){copy, r->lines.line};
    return true;
}

static bool add_items(struct cw_reading *r, struct cw_items *items, const char *value,
                      const char *separators) {
    while (*value) {
        value += strspn(value, separators);
        value += strspn(value, " \t");
        size_t length = strcspn(value, separators), end = length;
        while (end && (value[end - 1] == ' ' || value[end - 1] == '\t')) end--;
        if (end && !add_item(r, items, value, end)) return false;
        value += length;
    }
    return true;
}

static void *field(struct cw_reading *r, const struct cw_outing_key *key) {
    char *base = (char *)r->outing;
    if (r->own) /* the keys of `air` lie in a recording's own as they do in the outing's */
        base = (char *)&r->outing->own_air[r->outing->n_own_air - 1].air -
               offsetof(struct cw_outing, air);
    if (!strcmp(key->section, "setup")) base = (char *)&r->outing->setups[r->outing->n_setups - 1];
    return base + key->offset;
}

/* " kg" or nothing, to stand behind a number. */
static const char *spaced_unit(const struct cw_outing_key *key, char unit[32]) {
    cw_print(unit, 32, "%s%s", *key->unit ? " " : "", key->unit);
    return unit;
}

static bool set_number(struct cw_reading *r, const struct cw_outing_key *key, const char *value) {
    double number;
    char unit[32];
    spaced_unit(key, unit);
    long line = r->lines.line;
    if (!cw_number_read(value, strlen(value), &number))
        return cw_reading_wrong(r, line, "%s is \"%s\": give a number from %g to %g%s", key->name,
                                value, key->low, key->high, unit);
    if (number < key->low || number > key->high)
        return cw_reading_wrong(r, line, "%s is %s%s: it must be from %g to %g%s", key->name, value,
                                unit, key->low, key->high, unit);
    *(double *)field(r, key) = number;
    return true;
}

static bool set_elevation(struct cw_reading *r, const char *value) {
    const char *names[8];
    size_t n = 0;
    const char *text;
    for (; (text = cw_elevation_text((enum cw_elevation)n)); n++) {
        names[n] = text;
        if (!strcmp(value, text)) {
            r->outing->elevation = (enum cw_elevation)n;
            r->outing->elevation_given = true;
            return true;
        }
    }
    return cw_reading_wrong(
        r, r->lines.line,
        "elevation is \"%s\": use barometric, satellite, surveyed, terrain (from "
        "a map) or level; the nearest is %s",
        value, cw_nearest(value, names, n));
}

static bool set_value(struct cw_reading *r, const struct cw_outing_key *key, const char *value) {
    switch (key->kind) {
    case CW_KEY_TEXT: {
        char **text = field(r, key);
        *text = strdup(value);
        return *text ? true : cw_reading_no_memory(r);
    }
    case CW_KEY_NUMBER:
        return set_number(r, key, value);
    case CW_KEY_ELEVATION:
        return set_elevation(r, value);
    case CW_KEY_RECORDINGS:
        return add_items(r, &r->recordings, value, ",");
    case CW_KEY_ORDER:
        return add_items(r, &r->order, value, ", \t");
    case CW_KEY_SKIP:
        return add_items(r, &r->skip, value, ", \t");
    }
    return false;
}

bool cw_key_is_list(const struct cw_outing_key *key) {
    return key->kind == CW_KEY_RECORDINGS || key->kind == CW_KEY_ORDER || key->kind == CW_KEY_SKIP;
}

static bool unknown_key(struct cw_reading *r, const char *name) {
    size_t n, here = 0;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    const char *names[CW_OUTING_KEY_COUNT];
    for (size_t i = 0; i < n; i++) {
        if (!strcmp(keys[i].name, name))
            return cw_reading_wrong(
                r, r->lines.line, "key \"%s\" is not of [%s]: it belongs in [%s%s]", name,
                r->section, keys[i].section, strcmp(keys[i].section, "setup") ? "" : " NAME");
        if (!strcmp(keys[i].section, r->section)) names[here++] = keys[i].name;
    }
    return cw_reading_wrong(r, r->lines.line,
                            "unknown key \"%s\" in [%s]; the nearest known is \"%s\"", name,
                            r->section, cw_nearest(name, names, here));
}

/* An indented line. libinih leaves a comment at its end in place; other lines lose theirs there. */
static bool go_on(struct cw_reading *r, const char *value) {
    char copy[CW_LINE_LONGEST + 1];
    size_t length = 0;
    if (!cw_key_is_list(r->key))
        return cw_reading_wrong(r, r->lines.line,
                                "%s takes one line: start a key at the beginning of its line",
                                r->key->name);
    while (value[length] &&
           !(value[length] == ';' && (!length || strchr(" \t", value[length - 1]))))
        length++;
    cw_print(copy, sizeof copy, "%.*s", (int)length, value);
    return set_value(r, r->key, copy);
}

static bool take_key(struct cw_reading *r, const char *name, const char *value) {
    long line = r->lines.line;
    if (!*name) return cw_reading_wrong(r, line, "no key stands before \"=\": write key = value");
    if (!*r->section)
        return cw_reading_wrong(
            r, line, "key \"%s\" stands before any section: put [outing] above it", name);
    const struct cw_outing_key *key = cw_outing_key_find(r->section, name);
    if (!key) return unknown_key(r, name);
    if (r->own && !key->of_recording)
        return cw_reading_wrong(r, line, "%s is of the whole outing: it belongs in [%s]", name,
                                r->section);
    long *given = &lines_here(r)->of[cw_reading_key_index(key)];
    if (*given)
        return cw_reading_wrong(r, line, "key \"%s\" is given twice, first in line %ld", name,
                                *given);
    *given = line;
    r->key = key;
    /* A list may begin on the next line; whether it holds anything is seen at the end. */
    if (!*value && !cw_key_is_list(key))
        return cw_reading_wrong(r, line, "%s is empty: give a value or remove the line", name);
    return set_value(r, key, value);
}

static int handle(void *user, const char *section, const char *name, const char *value) {
    struct cw_reading *r = user;
    bool fine;
    if (r->lines.announcing)
        fine = begin_section(r, section);
    else if (r->key && r->lines.indented)
        fine = go_on(r, value);
    else
        fine = take_key(r, name, value);
    r->lines.stop = !fine;
    return fine;
}

/* The line of the file that the nth line handed to libinih stands for. */
static long line_of(const struct cw_reading *r, const char *bytes, size_t length, int nth) {
    struct cw_lines lines;
    char buffer[CW_LINE_LONGEST + 3];
    cw_lines_start(&lines, bytes, length, r->outing->file, NULL);
    for (int i = 0; i < nth; i++)
        if (!cw_lines_next(buffer, sizeof buffer, &lines)) break;
    return lines.line;
}

void cw_reading_parse(struct cw_reading *r, const char *bytes, size_t length) {
    struct cw_error line_error = {0}, *error = r->error;
    struct cw_error key_error = {0};
    cw_lines_start(&r->lines, bytes, length, r->outing->file, &line_error);
    r->error = &key_error;
    int nth = ini_parse_stream(cw_lines_next, &r->lines, handle, r);
    r->error = error;
    /* Three may find a fault: libinih (no "=" in the line), a key, the line itself. libinih reads
     * on after its own, so the earliest line counts; a key's fault ends the reading. */
    if (nth < 0) {
        cw_reading_no_memory(r);
        return;
    }
    long line = nth > 0 ? line_of(r, bytes, length, nth) : 0;
    if (r->status && (!line || line >= key_error.line)) {
        if (error) *error = key_error;
    } else if (line) {
        r->status = CW_OK;
        cw_reading_wrong(r, line, "the line is neither a section nor key = value");
    } else if (r->lines.status) {
        r->status = r->lines.status;
        if (error) *error = line_error;
    }
}

static void free_items(struct cw_items *items) {
    for (size_t i = 0; i < items->n; i++) free(items->at[i].word);
    free(items->at);
}

void cw_reading_free(struct cw_reading *r) {
    free_items(&r->recordings);
    free_items(&r->order);
    free_items(&r->skip);
    free(r->setup_key_lines);
    free(r->own_air_lines);
}
