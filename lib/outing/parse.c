#include "outing/parse.h"

#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

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

const struct cw_section *cw_reading_section(const struct cw_reading *r, const char *kind,
                                            const char *name) {
    for (size_t i = 0; i < r->n_sections; i++)
        if (!strcmp(r->sections[i].kind->name, kind) && !strcmp(r->sections[i].name, name))
            return &r->sections[i];
    return NULL;
}

void *cw_reading_base(const struct cw_reading *r, const struct cw_section *section) {
    struct cw_outing *outing = r->outing;
    const char *kind = section->kind->name;
    size_t i = section->index;
    if (!strcmp(kind, "setup")) return &outing->setups[i];
    if (!strcmp(kind, "rider") || !strcmp(kind, "bike"))
        return i ? &outing->companions[i - 1] : &outing->rider;
    if (!strcmp(kind, "recording")) return &outing->own_recordings[i];
    if (*section->name) /* the keys of `air` lie in a recording's own as they do in the outing's */
        return (char *)&outing->own_air[i].air - offsetof(struct cw_outing, air);
    return outing;
}

static struct cw_section *here(struct cw_reading *r) {
    return r->n_sections ? &r->sections[r->n_sections - 1] : NULL;
}

/* Makes room for one more thing of an array; NULL without memory. */
static void *one_more(struct cw_reading *r, void *array, size_t n, size_t size) {
    void *more = realloc(array, (n + 1) * size);
    if (!more) cw_reading_no_memory(r);
    return more;
}

static bool begin_setup(struct cw_reading *r, struct cw_section *section) {
    struct cw_outing *outing = r->outing;
    if (strpbrk(section->name, " \t,"))
        return cw_reading_wrong(r, section->line,
                                "setup \"%s\": a setup's name is one word, without commas",
                                section->name);
    if (outing->n_setups == CW_OUTING_SETUPS_MAX)
        return cw_reading_wrong(r, section->line, "more than %d setups: split the outing",
                                CW_OUTING_SETUPS_MAX);
    struct cw_setup *setups = one_more(r, outing->setups, outing->n_setups, sizeof *setups);
    if (!setups) return false;
    outing->setups = setups;
    section->index = outing->n_setups++;
    setups[section->index] = (struct cw_setup){.name = strdup(section->name)};
    return setups[section->index].name ? true : cw_reading_no_memory(r);
}

/* [rider NAME] and [bike NAME] are of one companion, whichever comes first. */
static bool begin_rider(struct cw_reading *r, struct cw_section *section) {
    struct cw_outing *outing = r->outing;
    if (!*section->name) return true; /* the outing's own, index 0 */
    for (size_t i = 0; i < outing->n_companions && !section->index; i++)
        if (!strcmp(outing->companions[i].name, section->name)) section->index = i + 1;
    if (section->index) return true;
    if (outing->n_companions == CW_OUTING_SETUPS_MAX)
        return cw_reading_wrong(r, section->line, "more than %d riders: split the outing",
                                CW_OUTING_SETUPS_MAX);
    struct cw_rider *riders = one_more(r, outing->companions, outing->n_companions, sizeof *riders);
    if (!riders) return false;
    outing->companions = riders;
    riders[outing->n_companions] = (struct cw_rider){.name = strdup(section->name)};
    section->index = ++outing->n_companions;
    return riders[section->index - 1].name ? true : cw_reading_no_memory(r);
}

/* Which recording these are of is seen when all are known. */
static bool begin_own_air(struct cw_reading *r, struct cw_section *section) {
    struct cw_outing *outing = r->outing;
    if (!*section->name) return true;
    struct cw_own_air *own = one_more(r, outing->own_air, outing->n_own_air, sizeof *own);
    if (!own) return false;
    outing->own_air = own;
    section->index = outing->n_own_air++;
    own[section->index] = (struct cw_own_air){.air = CW_AIR_UNSAID};
    return true;
}

static bool begin_own_recording(struct cw_reading *r, struct cw_section *section) {
    struct cw_outing *outing = r->outing;
    struct cw_own_recording *own =
        one_more(r, outing->own_recordings, outing->n_own_recordings, sizeof *own);
    if (!own) return false;
    outing->own_recordings = own;
    section->index = outing->n_own_recordings++;
    own[section->index] = (struct cw_own_recording){.setup = CW_NO_SETUP};
    return true;
}

static bool unknown_section(struct cw_reading *r, const char *name) {
    size_t n;
    const struct cw_outing_section *kinds = cw_outing_sections(&n);
    const char *names[CW_OUTING_KEY_COUNT];
    char first[CW_LINE_LONGEST + 1];
    for (size_t i = 0; i < n; i++) names[i] = kinds[i].name;
    cw_print(first, sizeof first, "%.*s", (int)strcspn(name, " \t"), name);
    size_t at = 0;
    char guess[CW_GUESS_TEXT];
    cw_guess(first, names, n, "", "", guess);
    while (at < n && strcmp(kinds[at].name, guess)) at++;
    if (at == n)
        return cw_reading_wrong(r, r->lines.line,
                                "unknown section [%s]: remove it, or see OUTING FILE in \"man "
                                "coastwise\"",
                                name);
    return cw_reading_wrong(r, r->lines.line, "unknown section [%s]; the nearest known is [%s%s%s]",
                            name, guess, kinds[at].plain ? "" : " ",
                            kinds[at].plain ? "" : kinds[at].of);
}

/* The section that begins with the line [title]. */
static bool begin_section(struct cw_reading *r, const char *title) {
    long line = r->lines.line;
    size_t n, word = strcspn(title, " \t"), at = 0;
    const struct cw_outing_section *kinds = cw_outing_sections(&n);
    const char *name = title + word;
    name += strspn(name, " \t");
    r->key = NULL;
    while (at < n && (strlen(kinds[at].name) != word || strncmp(kinds[at].name, title, word))) at++;
    if (at == n || (*name && !kinds[at].of)) return unknown_section(r, title);
    if (!*name && !kinds[at].plain)
        return cw_reading_wrong(r, line, "the %s has no name: write [%s %s]", kinds[at].name,
                                kinds[at].name, kinds[at].of);
    const struct cw_section *before = cw_reading_section(r, kinds[at].name, name);
    if (before && !strcmp(kinds[at].name, "setup"))
        return cw_reading_wrong(r, line, "setup \"%s\" is declared twice, first in line %ld", name,
                                before->line);
    if (before)
        return cw_reading_wrong(r, line, "section [%s] appears twice, first in line %ld: join them",
                                title, before->line);
    if (r->n_sections == CW_OUTING_ITEMS_MAX)
        return cw_reading_wrong(r, line, "more than %d sections", CW_OUTING_ITEMS_MAX);
    struct cw_section *sections = one_more(r, r->sections, r->n_sections, sizeof *sections);
    if (!sections) return false;
    r->sections = sections;
    struct cw_section *section = &sections[r->n_sections];
    *section = (struct cw_section){.kind = &kinds[at],
                                   .name = strdup(name),
                                   .line = line,
                                   .first = r->n_items,
                                   .last = r->n_items};
    if (!section->name) return cw_reading_no_memory(r);
    r->n_sections++;
    const char *kind = section->kind->name;
    if (!strcmp(kind, "setup")) return begin_setup(r, section);
    if (!strcmp(kind, "rider") || !strcmp(kind, "bike")) return begin_rider(r, section);
    if (!strcmp(kind, "recording")) return begin_own_recording(r, section);
    return strcmp(kind, "air") ? true : begin_own_air(r, section);
}

/* ---- values ---- */

static bool add_item(struct cw_reading *r, const char *word, size_t length) {
    if (r->n_in_list++ == CW_OUTING_ITEMS_MAX)
        return cw_reading_wrong(r, r->lines.line, "more than %d entries", CW_OUTING_ITEMS_MAX);
    if (r->n_items == r->capacity) {
        size_t capacity = r->capacity ? 2 * r->capacity : 16;
        struct cw_item *items = realloc(r->items, capacity * sizeof *items);
        if (!items) return cw_reading_no_memory(r);
        r->items = items;
        r->capacity = capacity;
    }
    char *copy = strndup(word, length);
    if (!copy) return cw_reading_no_memory(r);
    r->items[r->n_items++] = (struct cw_item){copy, r->lines.line, r->key};
    here(r)->last = r->n_items;
    return true;
}

static bool add_items(struct cw_reading *r, const char *value, const char *separators) {
    while (*value) {
        value += strspn(value, separators);
        value += strspn(value, " \t");
        size_t length = strcspn(value, separators), end = length;
        while (end && (value[end - 1] == ' ' || value[end - 1] == '\t')) end--;
        if (end && !add_item(r, value, end)) return false;
        value += length;
    }
    return true;
}

const struct cw_item *cw_reading_items(const struct cw_reading *r, const struct cw_section *section,
                                       const char *key, size_t *n) {
    size_t first = section->first, last;
    while (first < section->last && strcmp(r->items[first].key->name, key)) first++;
    for (last = first; last < section->last && !strcmp(r->items[last].key->name, key);) last++;
    *n = last - first;
    return *n ? r->items + first : NULL;
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
    if (key->instead) number = number * key->times + key->plus;
    *(double *)(void *)((char *)cw_reading_base(r, here(r)) + key->offset) = number;
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
    char guess[CW_GUESS_TEXT];
    return cw_reading_wrong(
        r, r->lines.line,
        "elevation is \"%s\": use barometric, satellite, surveyed, terrain (from "
        "a map) or level%s",
        value, cw_guess(value, names, n, "; the nearest is ", "", guess));
}

static bool set_offset(struct cw_reading *r, const struct cw_outing_key *key, const char *value) {
    r->outing->utc_offset_given = true;
    if (cw_offset_read(value, strlen(value), &r->outing->utc_offset_s)) return true;
    return cw_reading_wrong(r, r->lines.line,
                            "%s is \"%s\": give local time's offset from UTC as +01:00", key->name,
                            value);
}

static bool set_value(struct cw_reading *r, const struct cw_outing_key *key, const char *value) {
    switch (key->kind) {
    case CW_KEY_TEXT: {
        char **text = (char **)(void *)((char *)cw_reading_base(r, here(r)) + key->offset);
        *text = strdup(value);
        return *text ? true : cw_reading_no_memory(r);
    }
    case CW_KEY_NUMBER:
        return set_number(r, key, value);
    case CW_KEY_ELEVATION:
        return set_elevation(r, value);
    case CW_KEY_OFFSET:
        return set_offset(r, key, value);
    case CW_KEY_RECORDINGS:
        return add_items(r, value, ",");
    case CW_KEY_ORDER:
    case CW_KEY_SKIP:
    case CW_KEY_NOTES:
        return add_items(r, value, ", \t");
    case CW_KEY_FILE:
    case CW_KEY_RIDER:
    case CW_KEY_SETUP:
        return add_item(r, value, strlen(value));
    case CW_KEY_START:
        r->outing->starts_at_mark = !strcmp(value, "mark");
        if (r->outing->starts_at_mark) return true;
        return cw_reading_wrong(r, r->lines.line,
                                "start is \"%s\": write mark where every run began standing at one "
                                "and the same mark, or remove the line",
                                value);
    }
    return false;
}

static bool says_the_same(const struct cw_outing_key *a, const struct cw_outing_key *b) {
    return (a->instead && !strcmp(a->instead, b->instead ? b->instead : b->name)) ||
           (b->instead && !strcmp(b->instead, a->name));
}

const struct cw_outing_key *cw_section_otherwise(const struct cw_section *section,
                                                 const struct cw_outing_key *key) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++)
        if (section->keys.of[i] && &keys[i] != key && !strcmp(keys[i].section, key->section) &&
            says_the_same(&keys[i], key))
            return &keys[i];
    return NULL;
}

bool cw_key_is_list(const struct cw_outing_key *key) {
    return key->kind == CW_KEY_RECORDINGS || key->kind == CW_KEY_ORDER ||
           key->kind == CW_KEY_SKIP || key->kind == CW_KEY_NOTES;
}

static bool unknown_key(struct cw_reading *r, const char *name) {
    const char *section = here(r)->kind->name;
    size_t n, n_kinds, near = 0;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    const struct cw_outing_section *kinds = cw_outing_sections(&n_kinds);
    const char *names[CW_OUTING_KEY_COUNT];
    for (size_t i = 0; i < n; i++) {
        if (!strcmp(keys[i].name, name)) {
            size_t at = 0;
            while (strcmp(kinds[at].name, keys[i].section)) at++;
            return cw_reading_wrong(r, r->lines.line,
                                    "key \"%s\" is not of [%s]: it belongs in [%s%s%s]", name,
                                    section, keys[i].section, kinds[at].plain ? "" : " ",
                                    kinds[at].plain ? "" : kinds[at].of);
        }
        if (!strcmp(keys[i].section, section)) names[near++] = keys[i].name;
    }
    char guess[CW_GUESS_TEXT];
    cw_guess(name, names, near, "; the nearest known is \"", "\"", guess);
    return cw_reading_wrong(r, r->lines.line, "unknown key \"%s\" in [%s]%s", name, section,
                            *guess ? guess
                                   : ": remove it, or see OUTING FILE in \"man coastwise\"");
}

static bool go_on(struct cw_reading *r, const char *value) {
    if (!cw_key_is_list(r->key))
        return cw_reading_wrong(r, r->lines.line,
                                "%s takes one line: start a key at the beginning of its line",
                                r->key->name);
    return set_value(r, r->key, value);
}

static bool take_key(struct cw_reading *r, const char *name, const char *value) {
    long line = r->lines.line;
    if (!*name) return cw_reading_wrong(r, line, "no key stands before \"=\": write key = value");
    if (!here(r))
        return cw_reading_wrong(
            r, line, "key \"%s\" stands before any section: put [outing] above it", name);
    const struct cw_outing_key *key = cw_outing_key_find(here(r)->kind->name, name);
    if (!key) return unknown_key(r, name);
    if (*here(r)->name && key->of_whole)
        return cw_reading_wrong(r, line, "%s is of the whole outing: it belongs in [%s]", name,
                                key->section);
    long *given = &here(r)->keys.of[cw_reading_key_index(key)];
    if (*given)
        return cw_reading_wrong(r, line, "key \"%s\" is given twice, first in line %ld", name,
                                *given);
    const struct cw_outing_key *other = cw_section_otherwise(here(r), key);
    if (other)
        return cw_reading_wrong(r, line, "%s is what line %ld says as %s: give one of them", name,
                                here(r)->keys.of[cw_reading_key_index(other)], other->name);
    *given = line;
    r->n_in_list = 0;
    r->key = key;
    /* A list may begin on the next line; whether it holds anything is seen at the end. */
    if (!*value && !cw_key_is_list(key))
        return cw_reading_wrong(r, line, "%s is empty: give a value or remove the line", name);
    return set_value(r, key, value);
}

static bool take_line(struct cw_reading *r) {
    const struct cw_lines *line = &r->lines;
    switch (line->kind) {
    case CW_LINE_SECTION:
        return begin_section(r, line->name);
    case CW_LINE_KEY:
        return take_key(r, line->name, line->value);
    case CW_LINE_MORE:
        return go_on(r, line->value);
    }
    return false;
}

void cw_reading_parse(struct cw_reading *r, const char *bytes, size_t length) {
    cw_lines_start(&r->lines, bytes, length, r->outing->file, r->error);
    while (cw_lines_next(&r->lines) && take_line(r)) {
    }
    if (r->lines.status) r->status = r->lines.status;
}

void cw_reading_free(struct cw_reading *r) {
    for (size_t i = 0; i < r->n_items; i++) free(r->items[i].word);
    for (size_t i = 0; i < r->n_sections; i++) free(r->sections[i].name);
    free(r->items);
    free(r->sections);
}
