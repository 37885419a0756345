#include "outing/lines.h"

#include <string.h>

#include "base/utf8.h"

void cw_lines_start(struct cw_lines *lines, const char *bytes, size_t length, const char *file,
                    struct cw_error *error) {
    *lines = (struct cw_lines){.bytes = bytes, .length = length, .file = file, .error = error};
    if (length >= 3 && !memcmp(bytes, "\xef\xbb\xbf", 3)) lines->at = 3;
}

static char *refuse(struct cw_lines *lines, const char *message) {
    lines->status =
        cw_error_set(lines->error, CW_E_FORMAT, lines->file, lines->line, "%s", message);
    return NULL;
}

/* What is wrong with the section line text[0..length), which starts with '['; NULL if nothing. */
static const char *section_fault(const char *text, size_t length) {
    const char *close = memchr(text, ']', length);
    if (!close) return "the section has no \"]\": write it as [section]";
    const char *rest = close + 1;
    while (rest < text + length && (*rest == ' ' || *rest == '\t')) rest++;
    if (rest < text + length && *rest != ';' && *rest != '#')
        return "text follows the section's name: put each key on a line of its own";
    return NULL;
}

char *cw_lines_next(char *buffer, int size, void *user) {
    struct cw_lines *lines = user;
    if (lines->stop || lines->status) return NULL;
    lines->announcing = lines->pending;
    lines->pending = false;
    if (lines->announcing) {
        lines->indented = false;
        return strcpy(buffer, "=\n");
    }
    if (lines->at >= lines->length) return NULL;
    const char *start = lines->bytes + lines->at;
    size_t left = lines->length - lines->at, length = 0;
    while (length < left && start[length] != '\n' && start[length] != '\r') length++;
    lines->at += length + (length < left);
    if (length + 1 < left && start[length] == '\r' && start[length + 1] == '\n') lines->at++;
    lines->line++;

    if (length > CW_LINE_LONGEST || length + 2 > (size_t)size)
        return refuse(lines, "the line is longer than 190 bytes: go on in indented lines");
    if (cw_utf8_has_control(start, length))
        return refuse(lines, "the line holds a control character: is this an outing file?");
    if (!cw_utf8_valid(start, length))
        return refuse(lines, "the line is not UTF-8: save the file as UTF-8");
    memcpy(buffer, start, length);
    buffer[length] = '\0';
    size_t blank = strspn(buffer, " \t");
    lines->indented = blank > 0;
    if (buffer[blank] == '[') {
        if (blank) return refuse(lines, "a section must start at the beginning of its line");
        const char *fault = section_fault(start, length);
        if (fault) return refuse(lines, fault);
        lines->pending = true;
        length = strcspn(buffer, "]");
        memcpy(lines->section, buffer + 1, length - 1);
        lines->section[length - 1] = 0;
        strcpy(buffer, "[-]"); /* any name that fits */
        length = 3;
    }
    buffer[length] = '\n';
    buffer[length + 1] = '\0';
    return buffer;
}
