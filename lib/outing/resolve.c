/* Names and lists of an outing file: what they stand for once all sections are known. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "base/reason.h"
#include "base/text.h"
#include "outing/parse.h"

/* ---- files ---- */

/* A file that the outing file names, made readable from where the program runs; NULL with
 * r->status set. */
static char *resolve_file(struct cw_reading *r, const struct cw_item *item, const char *what) {
    struct cw_outing *outing = r->outing;
    size_t folder = cw_path_folder(outing->file);
    struct cw_text path = {0};
    if (*item->word != '/') cw_text_add_bytes(&path, outing->file, folder);
    /* A file of that name, not standard input. */
    if (!strcmp(item->word, "-") && !folder) cw_text_add(&path, "./");
    cw_text_add(&path, "%s", item->word);
    if (path.failed) {
        cw_text_free(&path);
        cw_reading_no_memory(r);
        return NULL;
    }
    struct stat about;
    if (stat(path.bytes, &about) || access(path.bytes, R_OK))
        r->status = cw_error_set(r->error, CW_E_READ, outing->file, item->line,
                                 "%s \"%s\" cannot be read: %s; its place is counted from the "
                                 "outing file's folder",
                                 what, item->word, cw_reason_text(errno));
    else if (S_ISREG(about.st_mode))
        return path.bytes;
    else /* opening a pipe may never end, and reading a device */
        r->status = cw_error_set(r->error, CW_E_READ, outing->file, item->line,
                                 "%s \"%s\" is %s: name a file", what, item->word,
                                 S_ISDIR(about.st_mode) ? "a folder" : "a device or a pipe");
    cw_text_free(&path);
    return NULL;
}

static bool resolve_recordings(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_section *section = cw_reading_section(r, "outing", "");
    size_t n = 0;
    const struct cw_item *items = section ? cw_reading_items(r, section, "recordings", &n) : NULL;
    outing->recordings = calloc(n + 1, sizeof *outing->recordings);
    if (!outing->recordings) return cw_reading_no_memory(r);
    for (size_t i = 0; i < n; i++) {
        char *path = resolve_file(r, &items[i], "recording");
        if (!path) return false;
        outing->recordings[outing->n_recordings++] = path;
        for (size_t j = 0; j < i; j++)
            if (!strcmp(outing->recordings[j], path))
                return cw_reading_wrong(r, items[i].line, "recording \"%s\" is named twice",
                                        items[i].word);
    }
    return true;
}

static bool resolve_air_log(struct cw_reading *r) {
    const struct cw_section *section = cw_reading_section(r, "outing", "");
    size_t n = 0;
    const struct cw_item *item = section ? cw_reading_items(r, section, "air_log", &n) : NULL;
    if (!n) return true;
    r->outing->air_log_line = item->line;
    r->outing->air_log = resolve_file(r, item, "air log");
    return r->outing->air_log != NULL;
}

/* ---- names ---- */

/* The place of a name among n; n, with r->status set, where it is none of them. `what` says what
 * names it, `declare` what would make it one. */
static size_t place_of(struct cw_reading *r, long line, const char *name, const char *const *names,
                       size_t n, const char *what, const char *declare) {
    size_t at = 0;
    while (at < n && strcmp(names[at], name)) at++;
    if (at < n) return at;
    char guess[CW_GUESS_TEXT];
    cw_reading_wrong(r, line, "%s \"%s\", which %s%s", what, name, declare,
                     cw_guess(name, names, n, "; the nearest is \"", "\"", guess));
    return n;
}

static bool resolve_setup(struct cw_reading *r, const struct cw_item *item, size_t *setup) {
    const char *names[CW_OUTING_SETUPS_MAX];
    size_t n = r->outing->n_setups;
    char what[64], declare[CW_LINE_LONGEST + 64];
    for (size_t i = 0; i < n; i++) names[i] = r->outing->setups[i].name;
    cw_print(what, sizeof what, "%s names setup", item->key->name);
    cw_print(declare, sizeof declare, "no [setup %s] declares", item->word);
    *setup = place_of(r, item->line, item->word, names, n, what, declare);
    return *setup < n;
}

static bool resolve_rider(struct cw_reading *r, const struct cw_item *item, size_t *rider) {
    const char *names[CW_OUTING_SETUPS_MAX];
    size_t n = r->outing->n_companions;
    char declare[CW_LINE_LONGEST + 64];
    for (size_t i = 0; i < n; i++) names[i] = r->outing->companions[i].name;
    cw_print(declare, sizeof declare, "no [rider %s] describes: add one with mass_kg = ...",
             item->word);
    size_t at = place_of(r, item->line, item->word, names, n, "rider is", declare);
    *rider = at + 1;
    return at < n;
}

/* A section [air RECORDING] or [recording RECORDING] is of the recording that is named as it is in
 * the list. */
static bool resolve_section(struct cw_reading *r, const struct cw_section *section,
                            const struct cw_item *recordings, size_t n, size_t *recording) {
    const char **names = calloc(n + 1, sizeof *names);
    if (!names) return cw_reading_no_memory(r);
    for (size_t i = 0; i < n; i++) names[i] = recordings[i].word;
    size_t at = 0;
    while (at < n && strcmp(names[at], section->name)) at++;
    *recording = at;
    char guess[CW_GUESS_TEXT];
    cw_guess(section->name, names, n, "; the nearest is \"", "\"", guess);
    bool fine =
        at < n || cw_reading_wrong(r, section->line, "[%s %s] is of no recording of this outing%s",
                                   section->kind->name, section->name,
                                   *guess ? guess : ": name one as it is under \"recordings\"");
    free(names);
    return fine;
}

/* ---- lists ---- */

static bool resolve_order(struct cw_reading *r, const struct cw_section *section,
                          struct cw_setup_order *order) {
    size_t n = 0;
    const struct cw_item *items = cw_reading_items(r, section, "order", &n);
    if (!n) return true;
    order->line = items->line;
    order->setup = calloc(n, sizeof *order->setup);
    if (!order->setup) return cw_reading_no_memory(r);
    for (size_t i = 0; i < n; i++)
        if (!resolve_setup(r, &items[i], &order->setup[order->n++])) return false;
    return true;
}

static bool resolve_skip(struct cw_reading *r, const struct cw_section *section,
                         struct cw_run_numbers *skip) {
    size_t n = 0;
    const struct cw_item *items = cw_reading_items(r, section, "skip", &n);
    if (!n) return true;
    skip->line = items->line;
    skip->number = calloc(n, sizeof *skip->number);
    if (!skip->number) return cw_reading_no_memory(r);
    for (size_t i = 0; i < n; i++) {
        const char *word = items[i].word;
        long number;
        if (!cw_integer_read(word, strlen(word), &number) || number < 1)
            return cw_reading_wrong(r, items[i].line, "skip holds \"%s\": give run numbers, from 1",
                                    word);
        for (size_t j = 0; j < skip->n; j++)
            if (skip->number[j] == number)
                return cw_reading_wrong(r, items[i].line, "skip names run %ld twice", number);
        skip->number[skip->n++] = number;
    }
    return true;
}

static bool resolve_notes(struct cw_reading *r, const struct cw_section *section,
                          const struct cw_outing_key *key, struct cw_notes *notes) {
    size_t n = 0;
    const struct cw_item *items = cw_reading_items(r, section, key->name, &n);
    if (!n) return true;
    notes->line = items->line;
    notes->value = calloc(n, sizeof *notes->value);
    if (!notes->value) return cw_reading_no_memory(r);
    for (size_t i = 0; i < n; i++) {
        const char *word = items[i].word;
        double *value = &notes->value[notes->n++];
        *value = NAN;
        if (!strcmp(word, "-")) continue;
        if (!cw_number_read(word, strlen(word), value))
            return cw_reading_wrong(r, items[i].line,
                                    "%s holds \"%s\": give a number of %s for each run, or - where "
                                    "there is none",
                                    key->name, word, key->unit);
        if (*value < key->low || *value > key->high)
            return cw_reading_wrong(r, items[i].line, "%s holds %s %s: it must be from %g to %g %s",
                                    key->name, word, key->unit, key->low, key->high, key->unit);
    }
    return true;
}

/* ---- sections ---- */

static bool resolve_runs(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    const struct cw_section *section = cw_reading_section(r, "runs", "");
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    if (!section) return true;
    if (!resolve_order(r, section, &outing->order) || !resolve_skip(r, section, &outing->skip))
        return false;
    for (size_t i = 0; i < n; i++)
        if (keys[i].kind == CW_KEY_NOTES &&
            !resolve_notes(r, section, &keys[i],
                           (struct cw_notes *)(void *)((char *)outing + keys[i].offset)))
            return false;
    return true;
}

static bool resolve_own_recording(struct cw_reading *r, const struct cw_section *section) {
    struct cw_own_recording *own = &r->outing->own_recordings[section->index];
    size_t n_rider = 0, n_setup = 0;
    const struct cw_item *rider = cw_reading_items(r, section, "rider", &n_rider);
    const struct cw_item *setup = cw_reading_items(r, section, "setup", &n_setup);
    if ((n_rider && !resolve_rider(r, rider, &own->rider)) ||
        (n_setup && !resolve_setup(r, setup, &own->setup)) ||
        !resolve_order(r, section, &own->order) || !resolve_skip(r, section, &own->skip))
        return false;
    if (own->setup != CW_NO_SETUP && own->order.n)
        return cw_reading_wrong(r, own->order.line,
                                "[recording %s] has a setup and an order: give one of them",
                                section->name);
    if (own->rider && own->setup == CW_NO_SETUP && !own->order.n)
        return cw_reading_wrong(r, section->line,
                                "rider \"%s\" rides [recording %s] in no setup: add setup = ..., "
                                "or order = ... with one for each of its runs",
                                rider->word, section->name);
    return true;
}

/* Setups are one rider's: of different riders they are never compared. */
static bool claim(struct cw_reading *r, bool *claimed, size_t setup, size_t rider, long line) {
    struct cw_setup *of = &r->outing->setups[setup];
    if (claimed[setup] && of->rider != rider)
        return cw_reading_wrong(r, line,
                                "setup \"%s\" is ridden by two riders: declare one for each of "
                                "them",
                                of->name);
    claimed[setup] = true;
    of->rider = rider;
    return true;
}

static bool claim_setups(struct cw_reading *r) {
    struct cw_outing *outing = r->outing;
    bool claimed[CW_OUTING_SETUPS_MAX] = {false}, *rides = NULL;
    bool fine = true;
    for (size_t i = 0; i < outing->order.n && fine; i++)
        fine = claim(r, claimed, outing->order.setup[i], 0, outing->order.line);
    rides = calloc(outing->n_companions + 1, sizeof *rides);
    if (!rides) return cw_reading_no_memory(r);
    for (size_t s = 0; s < r->n_sections && fine; s++) {
        const struct cw_section *section = &r->sections[s];
        if (strcmp(section->kind->name, "recording")) continue;
        const struct cw_own_recording *own = &outing->own_recordings[section->index];
        rides[own->rider] = true;
        if (own->setup != CW_NO_SETUP)
            fine = claim(r, claimed, own->setup, own->rider, section->line);
        for (size_t i = 0; i < own->order.n && fine; i++)
            fine = claim(r, claimed, own->order.setup[i], own->rider, own->order.line);
    }
    for (size_t i = 0; i < outing->n_companions && fine; i++)
        if (!rides[i + 1])
            fine = cw_reading_wrong(r, 0,
                                    "[rider %s] rides no recording: add [recording FILE] with "
                                    "rider = %s",
                                    outing->companions[i].name, outing->companions[i].name);
    free(rides);
    return fine;
}

bool cw_reading_resolve(struct cw_reading *r) {
    const struct cw_section *section = cw_reading_section(r, "outing", "");
    size_t n = 0;
    const struct cw_item *recordings =
        section ? cw_reading_items(r, section, "recordings", &n) : NULL;
    if (!resolve_runs(r)) return false;
    for (size_t s = 0; s < r->n_sections; s++) {
        const char *kind = r->sections[s].kind->name;
        if (!strcmp(kind, "recording") && !resolve_own_recording(r, &r->sections[s])) return false;
    }
    if (!claim_setups(r) || !resolve_recordings(r) || !resolve_air_log(r)) return false;
    for (size_t s = 0; s < r->n_sections; s++) {
        const char *kind = r->sections[s].kind->name;
        size_t at = r->sections[s].index;
        if (!*r->sections[s].name) continue;
        if (!strcmp(kind, "air") &&
            !resolve_section(r, &r->sections[s], recordings, n, &r->outing->own_air[at].recording))
            return false;
        if (!strcmp(kind, "recording") &&
            !resolve_section(r, &r->sections[s], recordings, n,
                             &r->outing->own_recordings[at].recording))
            return false;
    }
    return true;
}
