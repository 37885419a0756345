#include "outing/update.h"

#include <stdlib.h>
#include <string.h>

#include "outing/parse.h"

/* The lines of a file, as cw_lines counts them; owns its array. */
struct rows {
    const char *bytes;
    size_t length, n, *start; /* of each line; one more, the end of the last */
};

static enum cw_status rows_make(const char *bytes, size_t length, struct rows *rows,
                                struct cw_error *error) {
    size_t ends = 1;
    for (size_t i = 0; i < length; i++) ends += bytes[i] == '\n' || bytes[i] == '\r';
    *rows = (struct rows){.bytes = bytes, .length = length};
    rows->start = calloc(ends + 1, sizeof *rows->start);
    if (!rows->start) return cw_error_memory(error);
    for (size_t i = 0; i < length;) {
        rows->start[rows->n++] = i;
        while (i < length && bytes[i] != '\n' && bytes[i] != '\r') i++;
        if (i + 1 < length && bytes[i] == '\r' && bytes[i + 1] == '\n') i++;
        if (i < length) i++;
    }
    rows->start[rows->n] = length;
    return CW_OK;
}

/* The bytes of a line, from 1, without its end and blanks before that. */
static size_t row_length(const struct rows *rows, size_t row) {
    size_t first = rows->start[row - 1], last = rows->start[row];
    while (last > first && strchr("\r\n \t", rows->bytes[last - 1])) last--;
    return last - first;
}

static const char *row_text(const struct rows *rows, size_t row) {
    return rows->bytes + rows->start[row - 1];
}

/* Where an addition goes: behind a line, in the place of one, or (0) into a new section. */
struct spot {
    size_t behind;
    bool instead;
};

/* The last line of the section, before that of the next. */
static size_t section_end(const struct cw_reading *r, const struct rows *rows,
                          const struct cw_section *section) {
    size_t end = rows->n;
    for (size_t i = 0; i < r->n_sections; i++)
        if (r->sections[i].line > section->line && (size_t)r->sections[i].line - 1 < end)
            end = (size_t)r->sections[i].line - 1;
    return end;
}

/* The last line that a list stands in; 0 where it does not. */
static size_t list_end(const struct cw_reading *r, const struct cw_section *section,
                       const char *key) {
    size_t n;
    const struct cw_item *items = cw_reading_items(r, section, key, &n);
    return n ? (size_t)items[n - 1].line : 0;
}

/* The section's last line that holds a key or a piece of a list; its head where it has none. */
static size_t keys_end(const struct cw_reading *r, const struct cw_section *section) {
    long end = section->line;
    for (size_t i = 0; i < CW_OUTING_KEY_COUNT; i++)
        if (section->keys.of[i] > end) end = section->keys.of[i];
    for (size_t i = section->first; i < section->last; i++)
        if (r->items[i].line > end) end = r->items[i].line;
    return (size_t)end;
}

static bool find_spot(struct cw_reading *r, const struct rows *rows,
                      const struct cw_outing_addition *addition, struct spot *spot) {
    const struct cw_section *section = cw_reading_section(r, addition->section, addition->name);
    *spot = (struct spot){0};
    if (!section) return true;
    size_t end = section_end(r, rows, section), head = (size_t)section->line;
    const struct cw_outing_key *key =
        addition->key ? cw_outing_key_find(addition->section, addition->key) : NULL;
    long given = key ? section->keys.of[cw_reading_key_index(key)] : 0;
    if (given && !addition->goes_on)
        return cw_reading_wrong(r, given, "%s stands here already: change it in this line",
                                addition->key);
    spot->behind = given ? list_end(r, section, addition->key) : keys_end(r, section);
    if (given) return true;
    for (size_t row = head + 1; row <= end && addition->after; row++)
        if (row_length(rows, row) >= strlen(addition->after) && row > spot->behind &&
            !strncmp(row_text(rows, row), addition->after, strlen(addition->after)))
            spot->behind = row;
    for (size_t row = head + 1; row <= end && addition->instead; row++)
        if (row_length(rows, row) == strlen(addition->instead) &&
            !strncmp(row_text(rows, row), addition->instead, strlen(addition->instead)))
            *spot = (struct spot){.behind = row, .instead = true};
    return true;
}

static void add_lines(struct cw_text *text, const char *lines, const char *line_end) {
    while (*lines) {
        size_t length = strcspn(lines, "\n");
        cw_text_add(text, "%.*s%s", (int)length, lines, line_end);
        lines += length + (lines[length] == '\n');
    }
}

/* How the file ends its lines: as its first one. */
static const char *line_end_of(const char *bytes, size_t length) {
    size_t at = 0;
    while (at < length && bytes[at] != '\n' && bytes[at] != '\r') at++;
    if (at == length || bytes[at] == '\n') return "\n";
    return at + 1 < length && bytes[at + 1] == '\n' ? "\r\n" : "\r";
}

static bool same_section(const struct cw_outing_addition *one,
                         const struct cw_outing_addition *other) {
    return !strcmp(one->section, other->section) && !strcmp(one->name, other->name);
}

/* The sections that the file does not have yet, each once. */
static void add_sections(const struct cw_outing_addition *additions, const struct spot *spots,
                         size_t n, const char *line_end, struct cw_text *text) {
    for (size_t i = 0; i < n; i++) {
        size_t before = 0;
        while (before < i && !same_section(&additions[before], &additions[i])) before++;
        if (spots[i].behind || before < i) continue;
        cw_text_add(text, "%s[%s%s%s]%s", line_end, additions[i].section,
                    *additions[i].name ? " " : "", additions[i].name, line_end);
        for (size_t k = i; k < n; k++)
            if (same_section(&additions[i], &additions[k]))
                add_lines(text, additions[k].lines, line_end);
    }
}

static void add_all(const struct rows *rows, const struct cw_outing_addition *additions,
                    const struct spot *spots, size_t n, struct cw_text *text) {
    const char *line_end = line_end_of(rows->bytes, rows->length);
    for (size_t row = 1; row <= rows->n; row++) {
        bool gives_way = false;
        for (size_t i = 0; i < n; i++)
            if (spots[i].behind == row && spots[i].instead) gives_way = true;
        size_t first = rows->start[row - 1], last = rows->start[row];
        if (!gives_way) cw_text_add_bytes(text, rows->bytes + first, last - first);
        if (!gives_way && !strchr("\r\n", rows->bytes[last - 1])) cw_text_add(text, "%s", line_end);
        for (size_t i = 0; i < n; i++)
            if (spots[i].behind == row) add_lines(text, additions[i].lines, line_end);
    }
    add_sections(additions, spots, n, line_end, text);
}

enum cw_status cw_outing_update(const char *bytes, size_t length, const char *path,
                                const struct cw_outing_addition *additions, size_t n,
                                struct cw_text *text, struct cw_error *error) {
    struct cw_outing outing = {.file = strdup(path)};
    struct cw_reading r = {.outing = &outing, .error = error};
    struct rows rows = {0};
    struct spot *spots = calloc(n + 1, sizeof *spots);
    if (!outing.file || !spots || rows_make(bytes, length, &rows, error) < 0)
        r.status = cw_error_memory(error);
    else
        cw_reading_parse(&r, bytes, length);
    for (size_t i = 0; i < n && r.status == CW_OK; i++)
        find_spot(&r, &rows, &additions[i], &spots[i]);
    if (r.status == CW_OK) add_all(&rows, additions, spots, n, text);
    if (r.status == CW_OK && text->failed) r.status = cw_error_memory(error);
    enum cw_status status = r.status;
    cw_reading_free(&r);
    cw_outing_free(&outing);
    free(rows.start);
    free(spots);
    return status;
}
