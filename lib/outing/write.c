#define _XOPEN_SOURCE 700 /* realpath */
#include "outing/write.h"

#include <errno.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "base/text.h"
#include "base/utf8.h"
#include "base/wasi.h"
#include "base/write.h"
#include "outing/keys.h"
#include "outing/lines.h"
#include "outing/update.h"

struct writing {
    const struct cw_outing *outing;
    const char *path;
    const struct cw_outing_comments *comments;
    bool from_here; /* relative paths are from where the program runs */
    struct cw_text *text;
    struct cw_text name; /* of the file asked for last, as it stands in this one */
    struct cw_error *error;
};

/* Where comments stand that are behind something, if there is room. */
enum { COMMENT_COLUMN = 30 };

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
    if (status == CW_OK) cw_text_add(w->text, "%s = %s\n", name, value);
    return status;
}

static bool ends_name(char c) {
    return !c || c == '/';
}

/* The way from one folder to another, both absolute and without links in them. */
static void add_way(struct cw_text *text, const char *from, const char *to) {
    size_t same = 0; /* bytes of the folder that both lie in */
    for (size_t at = 0;; at++) {
        if (ends_name(from[at]) && ends_name(to[at])) same = at;
        if (!from[at] || from[at] != to[at]) break;
    }
    for (const char *c = from + same; *c; c++)
        if (*c == '/' && c[1]) cw_text_add(text, "../");
    if (to[same] && to[same + 1]) cw_text_add(text, "%s/", to + same + 1);
}

/* The folder that path names, as it really is; to be freed. NULL where there is none; text fails
 * where memory ran out. */
static char *real_folder(const char *path, struct cw_text *text) {
    struct cw_text folder = {0};
    cw_text_add(&folder, "%.*s.", (int)cw_path_folder(path), path);
    char *real = folder.failed ? NULL : realpath(folder.bytes, NULL);
    if (folder.failed || (!real && errno == ENOMEM)) text->failed = true;
    cw_text_free(&folder);
    return real;
}

/* What would begin a comment or a section on a line of its own begins with "./". */
void cw_outing_path_add(struct cw_text *text, const char *outing_path, const char *path,
                        bool from_here) {
    size_t folder = cw_path_folder(outing_path), start = text->length;
    if (!strncmp(path, outing_path, folder)) {
        path += folder;
    } else if (from_here && *path != '/') {
        char *from = real_folder(outing_path, text), *to = real_folder(path, text);
        if (from && to) {
            add_way(text, from, to);
            path = cw_path_name(path);
        }
        free(from);
        free(to);
    }
    if (text->length == start && strchr(" ;#[", *path)) cw_text_add(text, "./");
    cw_text_add(text, "%s", path);
}

/* A file's path as it stands in the outing file. */
static const char *beside(struct writing *w, const char *path) {
    w->name.length = 0;
    cw_outing_path_add(&w->name, w->path, path, w->from_here);
    if (w->name.failed) w->text->failed = true;
    return w->name.failed ? "" : w->name.bytes;
}

static enum cw_status add_recordings(struct writing *w) {
    for (size_t i = 0; i < w->outing->n_recordings; i++) {
        const char *recording = beside(w, w->outing->recordings[i]);
        enum cw_status status = check_value(w, "recordings", recording);
        if (status != CW_OK) return status;
        if (strchr(recording, ','))
            return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                                "recording \"%s\" holds a comma", recording);
        cw_text_add(w->text, "%s%s", i ? ",\n    " : "recordings = ", recording);
    }
    if (w->outing->n_recordings) cw_text_add(w->text, "\n");
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

/* Each entry on a line of its own, with what is said of its run. */
static void add_order_by_line(struct writing *w, const struct cw_setup_order *order) {
    const struct cw_setup *setups = w->outing->setups;
    size_t width = 0;
    for (size_t i = 0; i < order->n; i++) {
        size_t length = strlen(setups[order->setup[i]].name);
        if (length > width && length < COMMENT_COLUMN) width = length;
    }
    cw_text_add(w->text, "order =\n");
    for (size_t i = 0; i < order->n; i++) {
        const char *name = setups[order->setup[i]].name, *run = w->comments->runs[i];
        cw_text_add(w->text, "    %s", name);
        if (strlen(name) + strlen(run) + COMMENT_COLUMN < CW_LINE_LONGEST)
            cw_text_add(w->text, "%*s  ; %s",
                        strlen(name) < width ? (int)(width - strlen(name)) : 0, "", run);
        cw_text_add(w->text, "\n");
    }
}

static void add_order(struct writing *w, const struct cw_setup_order *order) {
    size_t column = 7;
    if (!order->n) return;
    if (w->comments->runs && order == &w->outing->order) {
        add_order_by_line(w, order);
        return;
    }
    cw_text_add(w->text, "order =");
    for (size_t i = 0; i < order->n; i++)
        add_word(w->text, &column, w->outing->setups[order->setup[i]].name);
    cw_text_add(w->text, "\n");
}

static void add_skip(struct writing *w, const struct cw_run_numbers *skip) {
    size_t column = 6;
    if (!skip->n) return;
    cw_text_add(w->text, "skip =");
    for (size_t i = 0; i < skip->n; i++) {
        char number[32];
        cw_print(number, sizeof number, "%ld", skip->number[i]);
        add_word(w->text, &column, number);
    }
    cw_text_add(w->text, "\n");
}

static void add_notes(struct writing *w, const char *name, const struct cw_notes *notes) {
    size_t column = strlen(name) + 2;
    if (!notes->n) return;
    cw_text_add(w->text, "%s =", name);
    for (size_t i = 0; i < notes->n; i++) {
        struct cw_text number = {0};
        if (isnan(notes->value[i]))
            cw_text_add(&number, "-");
        else
            add_number(&number, notes->value[i]);
        if (number.failed) w->text->failed = true;
        add_word(w->text, &column, number.bytes ? number.bytes : "-");
        cw_text_free(&number);
    }
    cw_text_add(w->text, "\n");
}

static enum cw_status add_file(struct writing *w, const char *name, const char *path) {
    return path ? add_text(w, name, beside(w, path)) : CW_OK;
}

/* Whether what the key is of was noted, where it is of notes. */
static bool noted(const struct cw_outing_key *key, const void *base) {
    const struct cw_outing_key *of = key->of ? cw_outing_key_find(key->section, key->of) : NULL;
    if (!of || of->kind != CW_KEY_NOTES) return true;
    return ((const struct cw_notes *)(const void *)((const char *)base + of->offset))->n > 0;
}

static enum cw_status add_key(struct writing *w, const struct cw_outing_key *key,
                              const void *base) {
    const void *field = (const char *)base + key->offset;
    if (key->instead && cw_outing_key_find(key->section, key->instead)->offset == key->offset)
        return CW_OK;
    switch (key->kind) {
    case CW_KEY_TEXT:
        return add_text(w, key->name, *(char *const *)field);
    case CW_KEY_NUMBER: {
        double number = *(const double *)field;
        /* 0 is outside the range of what is said in other words, and stands for not given. */
        if (isnan(number) || !noted(key, base) || (key->instead && number == 0)) return CW_OK;
        cw_text_add(w->text, "%s = ", key->name);
        add_number(w->text, number);
        cw_text_add(w->text, "\n");
        return CW_OK;
    }
    case CW_KEY_ELEVATION:
        return w->outing->elevation_given
                   ? add_text(w, key->name, cw_elevation_text(w->outing->elevation))
                   : CW_OK;
    case CW_KEY_RECORDINGS:
        return add_recordings(w);
    case CW_KEY_FILE:
        return add_file(w, key->name, *(char *const *)field);
    case CW_KEY_OFFSET: {
        double minutes = *(const double *)field / 60;
        if (!w->outing->utc_offset_given) return CW_OK;
        cw_text_add(w->text, "%s = %c%02.0f:%02.0f\n", key->name, minutes < 0 ? '-' : '+',
                    floor(fabs(minutes) / 60), fmod(fabs(minutes), 60));
        return CW_OK;
    }
    case CW_KEY_ORDER:
        add_order(w, field);
        return CW_OK;
    case CW_KEY_SKIP:
        add_skip(w, field);
        return CW_OK;
    case CW_KEY_NOTES:
        add_notes(w, key->name, field);
        return CW_OK;
    case CW_KEY_RIDER: {
        size_t rider = *(const size_t *)field;
        return rider ? add_text(w, key->name, cw_outing_rider(w->outing, rider)->name) : CW_OK;
    }
    case CW_KEY_SETUP: {
        size_t setup = *(const size_t *)field;
        return setup == CW_NO_SETUP ? CW_OK : add_text(w, key->name, w->outing->setups[setup].name);
    }
    case CW_KEY_START:
        return *(const bool *)field ? add_text(w, key->name, "mark") : CW_OK;
    }
    return CW_OK;
}

static void add_lines(struct cw_text *text, const char *lines) {
    while (lines && *lines) {
        size_t length = strcspn(lines, "\n");
        cw_text_add(text, "%s%.*s\n", length ? "; " : ";", (int)length, lines);
        lines += length + (lines[length] == '\n');
    }
}

/* What is said of a key, or of a section; NULL: nothing. */
static const struct cw_outing_comment *comment_of(const struct writing *w, const char *section,
                                                  const char *key) {
    for (size_t i = 0; i < w->comments->n; i++) {
        const struct cw_outing_comment *comment = &w->comments->at[i];
        if (!strcmp(comment->section, section) &&
            (key && comment->key ? !strcmp(comment->key, key) : key == comment->key))
            return comment;
    }
    return NULL;
}

/* Puts words behind the line that ends the text. */
static void add_behind(struct cw_text *text, size_t start, const char *words) {
    if (text->failed || text->length == start) return;
    size_t line = text->length - 1;
    while (line > start && text->bytes[line - 1] != '\n') line--;
    size_t column = text->length - 1 - line;
    if (column + strlen(words) + 4 > CW_LINE_LONGEST) return;
    text->length--;
    cw_text_add(text, "%*s ; %s\n", column < COMMENT_COLUMN ? (int)(COMMENT_COLUMN - column) : 0,
                "", words);
}

static enum cw_status add_commented(struct writing *w, const struct cw_outing_key *key,
                                    bool has_name, const void *base) {
    const struct cw_outing_comment *comment =
        has_name ? NULL : comment_of(w, key->section, key->name);
    if (comment) add_lines(w->text, comment->above);
    size_t start = w->text->length;
    enum cw_status status = add_key(w, key, base);
    if (status == CW_OK && comment && comment->behind) add_behind(w->text, start, comment->behind);
    return status;
}

/* The section's head, and below it the keys that have a value; no head without keys unless kept. */
static enum cw_status add_section(struct writing *w, const struct cw_outing_section *section,
                                  const char *name, bool keep, const void *base) {
    size_t n, start = w->text->length;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    if (*name && (strlen(section->name) + strlen(name) + 3 > CW_LINE_LONGEST ||
                  strpbrk(name, "];") || check_value(w, section->name, name) != CW_OK))
        return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                            "\"%s\" cannot be the name of a section [%s %s]", name, section->name,
                            section->of);
    cw_text_add(w->text, "\n[%s%s%s]\n", section->name, *name ? " " : "", name);
    size_t empty = w->text->length;
    const struct cw_outing_comment *comment = *name ? NULL : comment_of(w, section->name, NULL);
    if (comment) add_lines(w->text, comment->above);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(keys[i].section, section->name) || (*name && keys[i].of_whole)) continue;
        enum cw_status status = add_commented(w, &keys[i], *name, base);
        if (status != CW_OK) return status;
    }
    if (!keep && w->text->length == empty && !w->text->failed) w->text->length = start;
    return CW_OK;
}

/* What is said of sections that only stand with names. */
static void add_said(struct writing *w, const struct cw_outing_section *section) {
    const struct cw_outing_comment *comment =
        section->plain ? NULL : comment_of(w, section->name, NULL);
    if (!comment) return;
    cw_text_add(w->text, "\n");
    add_lines(w->text, comment->above);
}

/* The sections of one kind that have names. */
static enum cw_status add_named(struct writing *w, const struct cw_outing_section *section) {
    const struct cw_outing *outing = w->outing;
    const char *kind = section->name;
    enum cw_status status = CW_OK;
    if (!strcmp(kind, "rider") || !strcmp(kind, "bike"))
        for (size_t i = 0; i < outing->n_companions && status == CW_OK; i++)
            status =
                add_section(w, section, outing->companions[i].name, true, &outing->companions[i]);
    if (!strcmp(kind, "air")) /* the keys lie in a recording's own as they do in the outing's */
        for (size_t i = 0; i < outing->n_own_air && status == CW_OK; i++)
            status = add_section(
                w, section, beside(w, outing->recordings[outing->own_air[i].recording]), true,
                (const char *)&outing->own_air[i].air - offsetof(struct cw_outing, air));
    if (!strcmp(kind, "recording"))
        for (size_t i = 0; i < outing->n_own_recordings && status == CW_OK; i++)
            status = add_section(w, section,
                                 beside(w, outing->recordings[outing->own_recordings[i].recording]),
                                 true, &outing->own_recordings[i]);
    if (!strcmp(kind, "setup"))
        for (size_t i = 0; i < outing->n_setups && status == CW_OK; i++) {
            const struct cw_setup *setup = &outing->setups[i];
            if (!*setup->name || strpbrk(setup->name, " \t,];") || strchr("#[", *setup->name))
                return cw_error_set(w->error, CW_E_ARGUMENT, w->path, 0,
                                    "setup \"%s\" cannot stand in an outing file", setup->name);
            status = add_section(w, section, setup->name, true, setup);
        }
    return status;
}

static enum cw_status write_text(struct writing *w) {
    const struct cw_outing *outing = w->outing;
    enum cw_status status = CW_OK;
    size_t n;
    const struct cw_outing_section *sections = cw_outing_sections(&n);
    add_lines(w->text, w->comments->heading);
    for (size_t i = 0; i < n && status == CW_OK; i++) {
        if (sections[i].plain) {
            bool of_rider = !strcmp(sections[i].name, "rider") || !strcmp(sections[i].name, "bike");
            status = add_section(w, &sections[i], "", false,
                                 of_rider ? (const void *)&outing->rider : outing);
        }
        add_said(w, &sections[i]);
        if (status == CW_OK) status = add_named(w, &sections[i]);
    }
    cw_text_free(&w->name);
    return status == CW_OK && w->text->failed ? cw_error_memory(w->error) : status;
}

enum cw_status cw_outing_write_text(const struct cw_outing *outing, const char *path,
                                    const struct cw_outing_comments *comments, struct cw_text *text,
                                    struct cw_error *error) {
    struct writing w = {.outing = outing,
                        .path = path,
                        .comments = comments,
                        .from_here = true,
                        .text = text,
                        .error = error};
    return write_text(&w);
}

enum cw_status cw_outing_write(const struct cw_outing *outing, const char *path,
                               const char *heading, struct cw_error *error) {
    struct cw_outing_comments comments = {.heading = heading};
    struct cw_text text = {0};
    struct writing w = {
        .outing = outing, .path = path, .comments = &comments, .text = &text, .error = error};
    enum cw_status status = write_text(&w);
    if (status == CW_OK) status = cw_file_write(path, text.bytes, text.length, error);
    cw_text_free(&text);
    return status;
}
