#include "outing/write.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "base/text.h"
#include "base/utf8.h"
#include "base/write.h"
#include "outing/keys.h"
#include "outing/lines.h"

struct writing {
    const struct cw_outing *outing;
    const char *path;
    struct cw_text text;
    struct cw_error *error;
};

/* The fewest decimals that read back the same, or as many as a number may have. */
static void add_number(struct cw_text *text, double number) {
    size_t start = text->length;
    for (int decimals = 0; decimals <= 17; decimals++) {
        double read;
        text->length = start;
        cw_text_add_number(text, number, decimals);
        if (text->failed) return;
        if (cw_number_read(text->bytes + start, text->length - start, &read) && read == number)
            return;
    }
}

/* Whether value stands in the file as it is: no line end or other control character, no blank at
 * its ends, nothing that starts a comment. */
static enum cw_status check_value(struct writing *w, const char *name, const char *value) {
    size_t length = strlen(value);
    bool fine = cw_utf8_valid(value, length) && length + strlen(name) + 3 <= CW_LINE_LONGEST &&
                value[0] != ' ' && value[0] != ';' && value[length - 1] != ' ' &&
                !strstr(value, " ;");
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)value[i] < 0x20 || value[i] == 0x7f) fine = false;
    return fine ? CW_OK
                : cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                               "%s \"%s\" cannot stand in an outing file", name, value);
}

static enum cw_status add_text(struct writing *w, const char *name, const char *value) {
    if (!value || !*value) return CW_OK;
    enum cw_status status = check_value(w, name, value);
    if (status == CW_OK) cw_text_add(&w->text, "%s = %s\n", name, value);
    return status;
}

static enum cw_status add_recordings(struct writing *w) {
    size_t folder = cw_path_folder(w->path);
    for (size_t i = 0; i < w->outing->n_recordings; i++) {
        const char *recording = w->outing->recordings[i];
        if (!strncmp(recording, w->path, folder)) recording += folder;
        enum cw_status status = check_value(w, "recordings", recording);
        if (status != CW_OK) return status;
        if (strchr(recording, ','))
            return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                                "recording \"%s\" holds a comma", recording);
        cw_text_add(&w->text, "%s%s", i ? ",\n    " : "recordings = ", recording);
    }
    if (w->outing->n_recordings) cw_text_add(&w->text, "\n");
    return CW_OK;
}

/* Adds one word of a list, on a new line where the present one would grow past 78 bytes. */
static void add_word(struct cw_text *text, size_t *column, const char *word) {
    size_t length = strlen(word) + 1;
    if (*column + length > 78) {
        cw_text_add(text, "\n   ");
        *column = 3;
    }
    cw_text_add(text, " %s", word);
    *column += length;
}

static void add_order(struct writing *w) {
    size_t column = 7;
    if (!w->outing->n_order) return;
    cw_text_add(&w->text, "order =");
    for (size_t i = 0; i < w->outing->n_order; i++)
        add_word(&w->text, &column, w->outing->setups[w->outing->order[i]].name);
    cw_text_add(&w->text, "\n");
}

static void add_skip(struct writing *w) {
    size_t column = 6;
    if (!w->outing->n_skip) return;
    cw_text_add(&w->text, "skip =");
    for (size_t i = 0; i < w->outing->n_skip; i++) {
        char number[32];
        cw_print(number, sizeof number, "%ld", w->outing->skip[i]);
        add_word(&w->text, &column, number);
    }
    cw_text_add(&w->text, "\n");
}

static enum cw_status add_key(struct writing *w, const struct cw_outing_key *key,
                              const void *base) {
    const void *field = (const char *)base + key->offset;
    switch (key->kind) {
    case CW_KEY_TEXT:
        return add_text(w, key->name, *(char *const *)field);
    case CW_KEY_NUMBER: {
        double number = *(const double *)field;
        if (isnan(number)) return CW_OK;
        cw_text_add(&w->text, "%s = ", key->name);
        add_number(&w->text, number);
        cw_text_add(&w->text, "\n");
        return CW_OK;
    }
    case CW_KEY_ELEVATION:
        return w->outing->elevation_given
                   ? add_text(w, key->name, cw_elevation_text(w->outing->elevation))
                   : CW_OK;
    case CW_KEY_RECORDINGS:
        return add_recordings(w);
    case CW_KEY_ORDER:
        add_order(w);
        return CW_OK;
    case CW_KEY_SKIP:
        add_skip(w);
        return CW_OK;
    }
    return CW_OK;
}

/* The section's head, and below it the keys that have a value; no head without keys unless kept. */
static enum cw_status add_section(struct writing *w, const char *section, const char *head,
                                  bool keep, const void *base) {
    size_t n, start = w->text.length;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    cw_text_add(&w->text, "\n[%s]\n", head);
    size_t empty = w->text.length;
    for (size_t i = 0; i < n; i++) {
        if (strcmp(keys[i].section, section)) continue;
        enum cw_status status = add_key(w, &keys[i], base);
        if (status != CW_OK) return status;
    }
    if (!keep && w->text.length == empty && !w->text.failed) w->text.length = start;
    return CW_OK;
}

static enum cw_status add_setups(struct writing *w) {
    for (size_t i = 0; i < w->outing->n_setups; i++) {
        const struct cw_setup *setup = &w->outing->setups[i];
        char head[CW_SECTION_LONGEST + 1];
        int length = cw_print(head, sizeof head, "setup %s", setup->name);
        if (length >= (int)sizeof head || !*setup->name || strpbrk(setup->name, " \t,];"))
            return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                                "setup \"%s\" cannot stand in an outing file", setup->name);
        enum cw_status status = check_value(w, "setup", setup->name);
        if (status == CW_OK) status = add_section(w, "setup", head, true, setup);
        if (status != CW_OK) return status;
    }
    return CW_OK;
}

/* The recordings' own air, each under the name that its recording has in the list. */
static enum cw_status add_own_air(struct writing *w) {
    size_t n, folder = cw_path_folder(w->path);
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < w->outing->n_own_air; i++) {
        const struct cw_own_air *own = &w->outing->own_air[i];
        const char *recording = w->outing->recordings[own->recording];
        if (!strncmp(recording, w->path, folder)) recording += folder;
        if (strlen(recording) + 4 > CW_SECTION_LONGEST || strpbrk(recording, "];"))
            return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                                "\"%s\" cannot be the name of a section", recording);
        cw_text_add(&w->text, "\n[air %s]\n", recording);
        for (size_t k = 0; k < n; k++) {
            if (!keys[k].of_recording) continue;
            add_key(w, &keys[k], (const char *)&own->air - offsetof(struct cw_outing, air));
        }
    }
    return CW_OK;
}

static void add_heading(struct cw_text *text, const char *heading) {
    while (heading && *heading) {
        size_t length = strcspn(heading, "\n");
        cw_text_add(text, "; %.*s\n", (int)length, heading);
        heading += length + (heading[length] == '\n');
    }
}

enum cw_status cw_outing_write(const struct cw_outing *outing, const char *path,
                               const char *heading, struct cw_error *error) {
    struct writing w = {.outing = outing, .path = path, .error = error};
    enum cw_status status = CW_OK;
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    add_heading(&w.text, heading);
    for (size_t i = 0; i < n && status == CW_OK; i++) {
        const char *section = keys[i].section;
        if (i && !strcmp(section, keys[i - 1].section)) continue;
        status = strcmp(section, "setup") ? add_section(&w, section, section, false, outing)
                                          : add_setups(&w);
        if (status == CW_OK && !strcmp(section, "air")) status = add_own_air(&w);
    }
    if (status == CW_OK && w.text.failed) status = cw_error_memory(error);
    if (status == CW_OK) status = cw_file_write(path, w.text.bytes, w.text.length, error);
    cw_text_free(&w.text);
    return status;
}
