/* XML as a recording needs it: one streaming pass, local names only, no entities, nothing fetched,
 * bounded memory. Hides the XML library. */
#ifndef CW_RECORDING_XML_H
#define CW_RECORDING_XML_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/warning.h"
#include "recording/source.h"

#define CW_XML_DEPTH_MAX 64
#define CW_XML_TEXT_MAX 256      /* longest text of an element that is handed on */
#define CW_XML_ATTRIBUTES_MAX 64 /* of an element; its namespaces are counted apart */

/* Where the parser is. path[0] is the root, path[depth - 1] the element started or ended. */
struct cw_xml {
    const char *path[CW_XML_DEPTH_MAX]; /* local names */
    int depth;
    long line;
    int attribute_count;
    const void *attributes; /* the library's own; read with cw_xml_attribute */
};

/* What to do with the elements. A status other than CW_OK stops the reading, the error filled. */
struct cw_xml_handler {
    enum cw_status (*start)(void *state, const struct cw_xml *xml, struct cw_error *error);
    /* text[0..length): the element's text after its last child; length is 0 if it was longer than
     * CW_XML_TEXT_MAX. */
    enum cw_status (*end)(void *state, const struct cw_xml *xml, const char *text, size_t length,
                          struct cw_error *error);
};

/* Sets the library up; reading does so too. Whoever reads in several threads calls it first, for in
 * others than the main one the library could not be kept from saying that it lacks memory.
 * CW_E_MEMORY. */
enum cw_status cw_xml_ready(struct cw_error *error);

/* The value of an attribute of the element just started, by local name; NULL if it is not there.
 * It does not end in '\0'. */
const char *cw_xml_attribute(const struct cw_xml *xml, const char *name, size_t *length);

/* Name of the element that holds the one started or ended; "" for the root. */
const char *cw_xml_parent(const struct cw_xml *xml);

/* *has: whether head[0..length) begins an XML document whose root element has that local name;
 * NULL: any. CW_E_MEMORY. */
enum cw_status cw_xml_has_root(const char *head, size_t length, const char *name, bool *has,
                               struct cw_error *error);

/* Reads source to the end of its root element. What is wrong after usable elements is a warning
 * (CW_RECORDING_XML_...), and what was handed on before it stands. CW_E_FORMAT: not XML at all, or
 * entities are declared. */
enum cw_status cw_xml_read(struct cw_source *source, const struct cw_xml_handler *handler,
                           void *state, struct cw_warnings *warnings, struct cw_error *error);

#endif
