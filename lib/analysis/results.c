#include "analysis/results.h"

#include <stdlib.h>
#include <string.h>

#include "analysis/outings.h"
#include "analysis/saved.h"
#include "base/text.h"

static const char blanks[] = " \t\r\n";

enum cw_status cw_result_begins(struct cw_source *source, bool *begins, struct cw_error *error) {
    const char *head;
    size_t length, at = 0;
    *begins = false;
    enum cw_status status = cw_source_peek(source, &head, &length, error);
    if (status < 0) return status;
    while (at < length && memchr(blanks, head[at], sizeof blanks - 1)) at++;
    *begins = at < length && head[at] == '{';
    return CW_OK;
}

/* The outings of a file, as they are found. */
struct reading {
    const char *file;
    struct cw_analysed *outings;
    size_t n, room;
};

static enum cw_status take(struct reading *reading, const char *word, size_t length, long line,
                           struct cw_error *error) {
    if (reading->n == CW_OUTING_ITEMS_MAX)
        return cw_error_set(error, CW_E_FORMAT, reading->file, line, "holds more than %d outings",
                            CW_OUTING_ITEMS_MAX);
    if (reading->n == reading->room) {
        size_t room = reading->room ? 2 * reading->room : 1;
        struct cw_analysed *more = realloc(reading->outings, room * sizeof *more);
        if (!more) return cw_error_memory(error);
        reading->outings = more;
        reading->room = room;
    }
    struct cw_analysed *of = &reading->outings[reading->n++];
    memset(of, 0, sizeof *of);
    return cw_analysed_restore(word, length, reading->file, line, of, error);
}

static enum cw_status cut(const struct reading *reading, long line, struct cw_error *error) {
    return cw_error_set(error, CW_E_FORMAT, reading->file, line,
                        "is cut short, or no JSON: compare its outings anew");
}

/* Where the string that begins at at, behind its quote, ends: the other quote, or the end. */
static size_t string_end(const char *bytes, size_t length, size_t at) {
    while (at < length && bytes[at] != '"' && bytes[at] != '\n')
        at += bytes[at] == '\\' && at + 1 < length ? 2 : 1;
    return at;
}

/* Strings and brackets are all of JSON (RFC 8259) that is looked at: in what is JSON the key of a
 * word is found so, whoever wrote it anew, and where what is there was cut shows by what is left
 * open. A checksum stands for the word. */
static enum cw_status find_outings(const char *bytes, size_t length, struct reading *reading,
                                   struct cw_error *error) {
    static const char key[] = CW_RESULT_KEY;
    size_t depth = 0;
    long line = 1;
    bool is_key = false, is_word = false; /* the string before was the key; and its colon came */
    enum cw_status status = CW_OK;
    for (size_t at = 0; at < length && status >= 0; at++) {
        char c = bytes[at];
        line += c == '\n';
        if (memchr(blanks, c, sizeof blanks - 1)) continue;
        if (!depth && c != '{') return cut(reading, line, error);
        if (c == '"') {
            size_t end = string_end(bytes, length, at + 1), size = end - at - 1;
            if (end >= length || bytes[end] != '"') return cut(reading, line, error);
            if (is_word) status = take(reading, bytes + at + 1, size, line, error);
            is_key = size == sizeof key - 1 && !memcmp(bytes + at + 1, key, size);
            is_word = false;
            at = end;
            continue;
        }
        is_word = is_key && c == ':';
        is_key = false;
        if (c == '{' || c == '[') depth++;
        if (c == '}' || c == ']') depth--; /* it is not 0 */
    }
    if (status >= 0 && depth) status = cut(reading, line, error);
    if (status >= 0 && !reading->n)
        status = cw_error_set(error, CW_E_FORMAT, reading->file, 0,
                              "holds no outing that can be compared: give what \"coastwise compare "
                              "--json OUTING\" or --json-lines wrote");
    return status;
}

static enum cw_status read_all(struct cw_source *source, struct cw_text *text,
                               struct cw_error *error) {
    char buffer[65536];
    size_t length;
    enum cw_status status;
    do {
        status = cw_source_read(source, buffer, sizeof buffer, &length, error);
        if (status < 0) return status;
        cw_text_add_bytes(text, buffer, length);
    } while (length == sizeof buffer && !text->failed);
    return text->failed ? cw_error_memory(error) : CW_OK;
}

enum cw_status cw_result_read(struct cw_source *source, struct cw_analysed **outings, size_t *n,
                              struct cw_error *error) {
    struct reading reading = {.file = cw_source_name(source)};
    struct cw_text text = {0};
    enum cw_status status = read_all(source, &text, error);
    if (status >= 0)
        status = find_outings(text.bytes ? text.bytes : "", text.length, &reading, error);
    cw_text_free(&text);
    struct cw_analysed *more =
        status >= 0 ? realloc(*outings, (*n + reading.n) * sizeof *more) : NULL;
    if (status >= 0 && !more) status = cw_error_memory(error);
    if (status >= 0) {
        memcpy(more + *n, reading.outings, reading.n * sizeof *more);
        *outings = more;
        *n += reading.n;
    }
    for (size_t i = 0; status < 0 && i < reading.n; i++) cw_analysed_free(&reading.outings[i]);
    free(reading.outings);
    return status;
}
