#include "recording/unknown.h"

#include <string.h>

#include "recording/ascii.h"
#include "recording/format.h"
#include "recording/xml.h"

/* A root that was not looked as far as may be of any format. */
struct root {
    const char *file;
    bool late;
};

static enum cw_status refuse_root(void *state, const struct cw_xml *xml, struct cw_error *error) {
    const struct root *root = state;
    char any[CW_FORMAT_TEXT];
    if (root->late)
        return cw_error_set(error, CW_E_FORMAT, root->file, xml->line,
                            "more than 64 KiB stand before <%.40s>: take them out", xml->path[0]);
    return cw_error_set(error, CW_E_FORMAT, root->file, xml->line,
                        "is XML, but its root is <%.40s>: export the ride as %s", xml->path[0],
                        cw_format_names(" or ", any));
}

/* Never comes to be called: the root's start is refused. */
static enum cw_status pass(void *state, const struct cw_xml *xml, const char *text, size_t length,
                           struct cw_error *error) {
    (void)state, (void)xml, (void)text, (void)length, (void)error;
    return CW_OK;
}

static bool begins(const char *head, size_t length, size_t at, const char *sign, size_t size) {
    return length >= at + size && !memcmp(head + at, sign, size);
}

/* Whether the file begins as XML does, and whether there is anything in it but blank space. */
static void look(const char *head, size_t length, bool *xml, bool *blank) {
    struct cw_ascii ascii = {0};
    char part[64];
    for (size_t at = 0; at < length && !ascii.begun && !ascii.not_xml; at += sizeof part) {
        size_t size = length - at < sizeof part ? length - at : sizeof part;
        memcpy(part, head + at, size);
        cw_ascii_feed(&ascii, part, size);
    }
    *xml = ascii.begun;
    *blank = !ascii.begun && !ascii.not_xml;
}

enum cw_status cw_unknown_refuse(struct cw_source *source, struct cw_points *points,
                                 struct cw_error *error) {
    static const struct cw_xml_handler handler = {refuse_root, pass};
    const char *head, *file = points->file;
    size_t length;
    bool xml, blank;
    char any[CW_FORMAT_TEXT], none[CW_FORMAT_TEXT];
    enum cw_status status = cw_source_peek(source, &head, &length, error);
    if (status) return status;
    cw_format_names(" or ", any);
    if (!length && cw_source_fault(source) != CW_SOURCE_WHOLE)
        return cw_error_set(error, CW_E_FORMAT, file, 0,
                            "the gzip is %s before anything can be unpacked: copy the file again",
                            cw_source_fault(source) == CW_SOURCE_CUT ? "cut short" : "damaged");
    if (!length) return cw_error_set(error, CW_E_FORMAT, file, 0, "is empty");
    if (begins(head, length, 0, "PK\3\4", 4))
        return cw_error_set(error, CW_E_FORMAT, file, 0,
                            "is a ZIP archive: unpack it and give the recording in it");
    if (begins(head, length, 8, ".FIT", 4))
        return cw_error_set(error, CW_E_FORMAT, file, 0,
                            "is a FIT file, which is not read: export the ride as %s", any);
    if (begins(head, length, 0, "\x1f\x8b", 2))
        return cw_error_set(error, CW_E_FORMAT, file, 0, "is compressed twice: unpack it once");
    look(head, length, &xml, &blank);
    if (xml) {
        struct root root = {.file = file};
        bool seen;
        status = cw_xml_has_root(head, length, NULL, &seen, error);
        root.late = !seen;
        return status ? status : cw_xml_read(source, &handler, &root, points->warnings, error);
    }
    if (blank && length < CW_SOURCE_PEEK_MAX)
        return cw_error_set(error, CW_E_FORMAT, file, 0, "holds nothing but blank space");
    return cw_error_set(error, CW_E_FORMAT, file, 0, "is neither %s: export the ride as %s",
                        cw_format_names(" nor ", none), any);
}
