#include "outing/lines.h"

#include <string.h>

#include "base/utf8.h"

void cw_lines_start(struct cw_lines *lines, const char *bytes, size_t length, const char *file,
                    struct cw_error *error) {
    *lines = (struct cw_lines){.bytes = bytes, .length = length, .file = file, .error = error};
    if (length >= 3 && !memcmp(bytes, "\xef\xbb\xbf", 3)) lines->at = 3;
}

static bool refuse(struct cw_lines *lines, const char *message) {
    lines->status =
        cw_error_set(lines->error, CW_E_FORMAT, lines->file, lines->line, "%s", message);
    return false;
}

/* Copies the next line, whatever it says. False at the end, and where it cannot be one. */
static bool take(struct cw_lines *lines) {
    if (lines->at >= lines->length) return false;
    const char *start = lines->bytes + lines->at;
    size_t left = lines->length - lines->at, length = 0;
    while (length < left && start[length] != '\n' && start[length] != '\r') length++;
    lines->at += length + (length < left);
    if (length + 1 < left && start[length] == '\r' && start[length + 1] == '\n') lines->at++;
    lines->line++;
    if (length > CW_LINE_LONGEST)
        return refuse(lines, "the line is longer than 190 bytes: go on in indented lines");
    if (cw_utf8_has_control(start, length))
        return refuse(lines, "the line holds a control character: is this an outing file?");
    if (!cw_utf8_valid(start, length))
        return refuse(lines, "the line is not UTF-8: save the file as UTF-8");
    memcpy(lines->text, start, length);
    lines->text[length] = '\0';
    return true;
}

static char *skip_blanks(char *text) {
    return text + strspn(text, " \t");
}

static void cut_blanks(char *text) {
    size_t length = strlen(text);
    while (length && (text[length - 1] == ' ' || text[length - 1] == '\t')) length--;
    text[length] = '\0';
}

/* Up to the comment behind a value, which a blank goes before. */
static size_t before_comment(const char *text) {
    size_t length = 0;
    while (text[length] && !(text[length] == ';' && (!length || strchr(" \t", text[length - 1]))))
        length++;
    return length;
}

static bool section(struct cw_lines *lines, char *text) {
    lines->in_key = false;
    lines->kind = CW_LINE_SECTION;
    if (text != lines->text)
        return refuse(lines, "a section must start at the beginning of its line");
    char *close = strchr(text, ']');
    if (!close) return refuse(lines, "the section has no \"]\": write it as [section]");
    const char *rest = skip_blanks(close + 1);
    if (*rest && *rest != ';' && *rest != '#')
        return refuse(lines, "text follows the section's name: put each key on a line of its own");
    *close = '\0';
    lines->name = text + 1;
    return true;
}

static bool key(struct cw_lines *lines, char *text) {
    char *value = text + strcspn(text, "=:");
    lines->kind = CW_LINE_KEY;
    lines->in_key = true;
    if (!*value || before_comment(text) < (size_t)(value - text))
        return refuse(lines, "the line is neither a section nor key = value");
    *value++ = '\0';
    cut_blanks(text);
    value = skip_blanks(value);
    value[before_comment(value)] = '\0';
    cut_blanks(value);
    lines->name = text;
    lines->value = value;
    return true;
}

static bool more(struct cw_lines *lines, char *text) {
    text[before_comment(text)] = '\0';
    cut_blanks(text);
    lines->kind = CW_LINE_MORE;
    lines->value = text;
    return true;
}

bool cw_lines_next(struct cw_lines *lines) {
    char *text;
    do {
        if (lines->status || !take(lines)) return false;
        text = skip_blanks(lines->text);
    } while (!*text || *text == ';' || *text == '#');
    if (*text == '[') return section(lines, text);
    return lines->in_key && text > lines->text ? more(lines, text) : key(lines, text);
}
