#include "recording/xml.h"

#include <errno.h>
#include <libxml/globals.h>
#include <libxml/parser.h>
#include <libxml/threads.h>
#include <libxml/xmlerror.h>
#include <stdbool.h>
#include <string.h>

#include "base/once.h"
#include "recording/ascii.h"
#include "recording/recording.h"
#include "recording/tags.h"

#define CHUNK_SIZE 32768
#define PIECE_SIZE 256  /* of a beginning, of which the root element is all that counts */
#define NAMES_MAX 10000 /* different names in a file: the parser keeps all, and searches them */

/* The library's callbacks get const errors from 2.12 on. */
#if LIBXML_VERSION >= 21200
typedef const xmlError *error_pointer;
#else
typedef xmlErrorPtr error_pointer;
#endif

/* Whoever hears, in this thread, of faults that are no parser's. */
struct hearer {
    xmlStructuredErrorFunc function;
    void *context;
};

struct reader {
    xmlParserCtxtPtr parser;
    struct hearer before;
    const char *file;
    const struct cw_xml_handler *handler;
    void *state;
    struct cw_warnings *warnings;
    struct cw_error *error;
    struct cw_xml xml;
    struct cw_ascii ascii;
    struct cw_tags tags;
    enum cw_status status;
    bool finished; /* the root element has ended */
    bool stopped;  /* nothing that follows counts */
    bool at_end;   /* there are no more bytes */
    size_t text_length;
    char text[CW_XML_TEXT_MAX];
};

static long line_of(const struct reader *reader) {
    return xmlSAX2GetLineNumber(reader->parser);
}

/* The parser cannot be stopped from within its own callbacks without pulling its buffers from
 * under it; it is left to run to the end of the chunk, unheard. */
static void refuse(struct reader *reader, enum cw_status status) {
    reader->status = status;
    reader->stopped = true;
}

/* Nothing counts from a fault on. */
static void break_off(struct reader *reader, long line, const char *what) {
    if (reader->finished)
        cw_warning_add(reader->warnings, CW_RECORDING_XML_TRAILING, line,
                       "something stands after the end of the recording: left out");
    else
        cw_warning_add(reader->warnings, CW_RECORDING_XML_BROKEN, line,
                       "not well-formed XML (%s): read up to there", what);
    reader->stopped = true;
}

static void on_start(void *context, const xmlChar *name, const xmlChar *prefix, const xmlChar *uri,
                     int namespace_count, const xmlChar **namespaces, int attribute_count,
                     int defaulted, const xmlChar **attributes) {
    (void)prefix, (void)uri, (void)namespaces, (void)defaulted;
    struct reader *reader = context;
    if (reader->stopped) return;
    struct cw_xml *xml = &reader->xml;
    xml->line = line_of(reader);
    if (xml->depth == CW_XML_DEPTH_MAX) {
        break_off(reader, xml->line, "elements nested too deep");
        return;
    }
    if (attribute_count > CW_XML_ATTRIBUTES_MAX || namespace_count > CW_XML_ATTRIBUTES_MAX) {
        break_off(reader, xml->line, "too many attributes");
        return;
    }
    xml->path[xml->depth++] = (const char *)name;
    xml->attribute_count = attribute_count;
    xml->attributes = attributes;
    reader->text_length = 0;
    enum cw_status status = reader->handler->start(reader->state, xml, reader->error);
    if (status) refuse(reader, status);
}

static void on_end(void *context, const xmlChar *name, const xmlChar *prefix, const xmlChar *uri) {
    (void)name, (void)prefix, (void)uri;
    struct reader *reader = context;
    if (reader->stopped) return;
    struct cw_xml *xml = &reader->xml;
    xml->line = line_of(reader);
    size_t length = reader->text_length <= CW_XML_TEXT_MAX ? reader->text_length : 0;
    enum cw_status status =
        reader->handler->end(reader->state, xml, reader->text, length, reader->error);
    if (status) refuse(reader, status);
    reader->text_length = 0;
    if (--xml->depth == 0) reader->finished = true;
}

static void on_text(void *context, const xmlChar *text, int length) {
    struct reader *reader = context;
    if (reader->text_length + (size_t)length > CW_XML_TEXT_MAX) {
        reader->text_length = CW_XML_TEXT_MAX + 1; /* and stays so */
        return;
    }
    memcpy(reader->text + reader->text_length, text, (size_t)length);
    reader->text_length += (size_t)length;
}

/* Faults that leave the elements around them whole: '&' in a name, HTML's entities. */
static bool is_stray(int code) {
    return code == XML_ERR_NAME_REQUIRED || code == XML_ERR_ENTITYREF_SEMICOL_MISSING ||
           code == XML_ERR_UNDECLARED_ENTITY || code == XML_WAR_UNDECLARED_ENTITY ||
           code == XML_ERR_INVALID_CHARREF || code == XML_ERR_INVALID_HEX_CHARREF ||
           code == XML_ERR_INVALID_DEC_CHARREF || code == XML_ERR_INVALID_CHAR;
}

/* The parser's faults in words of our own. */
static const char *words_of(int code) {
    switch (code) {
    case XML_ERR_TAG_NAME_MISMATCH:
    case XML_ERR_TAG_NOT_FINISHED:
        return "a tag closes another element than the one that is open";
    case XML_ERR_GT_REQUIRED:
    case XML_ERR_LTSLASH_REQUIRED:
        return "a tag is not closed";
    case XML_ERR_ATTRIBUTE_NOT_STARTED:
    case XML_ERR_ATTRIBUTE_NOT_FINISHED:
    case XML_ERR_ATTRIBUTE_WITHOUT_VALUE:
    case XML_ERR_SPACE_REQUIRED:
    case XML_ERR_EQUAL_REQUIRED:
    case XML_ERR_LT_IN_ATTRIBUTE:
        return "an attribute is not NAME=\"VALUE\"";
    case XML_ERR_ATTRIBUTE_REDEFINED:
        return "an attribute is given twice";
    case XML_ERR_MISPLACED_CDATA_END:
        return "\"]]>\" stands in text";
    default:
        return "the tags make no sense";
    }
}

static void on_error(void *context, error_pointer fault) {
    struct reader *reader = context;
    if (reader->stopped || fault->domain == XML_FROM_NAMESPACE || fault->level < XML_ERR_ERROR ||
        fault->code == XML_ERR_NO_MEMORY) /* parse() says so */
        return;
    if (is_stray(fault->code) && !reader->finished)
        cw_warning_add(reader->warnings, CW_RECORDING_XML_STRAY, fault->line,
                       "a stray '&' or an unknown entity: left out");
    else if (!reader->at_end || reader->finished) /* at the end, read_end says so */
        break_off(reader, fault->line, words_of(fault->code));
}

/* Instead of having them printed. */
static void hear_nothing(void *context, error_pointer fault) {
    (void)context, (void)fault;
}

/* The document and its dictionary belong to the parser. */
static void end(struct reader *reader) {
    xmlParserCtxtPtr parser = reader->parser;
    if (parser && parser->myDoc) xmlFreeDoc(parser->myDoc);
    if (parser) xmlFreeParserCtxt(parser);
    xmlResetLastError();
    xmlSetStructuredErrorFunc(reader->before.context, reader->before.function);
}

/* What libxml2 sets up when it is first used it sets up without a lock that every thread asks. The
 * main thread has its words silenced before that; another has none to silence until then. */
static cw_once_flag set_up = CW_ONCE_FIRST;
static bool lacked_memory;

static void set_up_once(void) {
    bool main_thread = xmlIsMainThread();
    struct hearer before = {NULL, NULL};
    if (main_thread) {
        before = (struct hearer){xmlStructuredError, xmlStructuredErrorContext};
        xmlSetStructuredErrorFunc(NULL, hear_nothing);
    }
    errno = 0;
    xmlInitParser();
    lacked_memory = errno == ENOMEM;
    if (main_thread) {
        xmlResetLastError();
        xmlSetStructuredErrorFunc(before.context, before.function);
    }
}

enum cw_status cw_xml_ready(struct cw_error *error) {
    cw_once(&set_up, set_up_once);
    return lacked_memory ? cw_error_memory(error) : CW_OK;
}

/* To be followed by end() where it succeeds. */
static enum cw_status begin(struct reader *reader) {
    xmlSAXHandler sax = {.initialized = XML_SAX2_MAGIC,
                         .startElementNs = on_start,
                         .endElementNs = on_end,
                         .characters = on_text,
                         .cdataBlock = on_text,
                         .serror = on_error};
    enum cw_status status = cw_xml_ready(reader->error);
    if (status < 0) return status;
    /* What the library keeps for a thread it makes when first asked, and takes for granted. */
    if (!xmlIsMainThread() && !xmlGetGlobalState()) return cw_error_memory(reader->error);
    reader->before = (struct hearer){xmlStructuredError, xmlStructuredErrorContext};
    xmlSetStructuredErrorFunc(NULL, hear_nothing);
    errno = 0;
    reader->parser = xmlCreatePushParserCtxt(&sax, reader, NULL, 0, NULL);
    if (!reader->parser || errno == ENOMEM) {
        end(reader);
        return cw_error_memory(reader->error);
    }
    /* RECOVER: it is on_error that decides which fault ends the reading. */
    xmlCtxtUseOptions(reader->parser, XML_PARSE_NONET | XML_PARSE_IGNORE_ENC | XML_PARSE_RECOVER);
    return CW_OK;
}

/* Where the library lacks memory it says so, or something else, or nothing, and goes on without
 * what it had no room for. What always says so is the allocation. */
static void parse(struct reader *reader, const char *bytes, size_t length, bool last) {
    errno = 0;
    xmlParseChunk(reader->parser, bytes, (int)length, last);
    if (errno == ENOMEM) refuse(reader, cw_error_memory(reader->error));
}

static void read_end(struct reader *reader) {
    if (reader->stopped) return;
    reader->at_end = true;
    parse(reader, "", 0, true);
    if (!reader->finished && !reader->stopped) {
        long line = line_of(reader);
        cw_warning_add(reader->warnings, CW_RECORDING_XML_CUT, line,
                       "the file is cut short: read up to there");
    }
}

/* A chunk of the file, which is changed. */
static void read_chunk(struct reader *reader, char *chunk, size_t length) {
    char tags[CHUNK_SIZE + 1];
    size_t kept =
        cw_tags_feed(&reader->tags, chunk, cw_ascii_feed(&reader->ascii, chunk, length), tags);
    if (reader->ascii.not_xml) {
        refuse(reader, cw_error_set(reader->error, CW_E_FORMAT, reader->file, 0, "is not XML"));
        return;
    }
    if (kept) parse(reader, tags, kept, false);
    long line = reader->tags.lines + 1;
    if (reader->stopped) return;
    if (reader->tags.declares)
        refuse(reader, cw_error_set(reader->error, CW_E_FORMAT, reader->file, line,
                                    "its DOCTYPE declares things, which are not read: take the "
                                    "DOCTYPE out"));
    else if (reader->tags.fault)
        break_off(reader, line, reader->tags.fault);
    else if (xmlDictSize(reader->parser->dict) > NAMES_MAX)
        break_off(reader, line, "too many different names");
}

enum cw_status cw_xml_read(struct cw_source *source, const struct cw_xml_handler *handler,
                           void *state, struct cw_warnings *warnings, struct cw_error *error) {
    struct reader reader = {.file = cw_source_name(source),
                            .handler = handler,
                            .state = state,
                            .warnings = warnings,
                            .error = error};
    char chunk[CHUNK_SIZE];
    enum cw_status status = begin(&reader);
    if (status) return status;
    while (!reader.stopped) {
        size_t length;
        reader.status = cw_source_read(source, chunk, sizeof chunk, &length, error);
        if (reader.status || length == 0) break;
        read_chunk(&reader, chunk, length);
    }
    if (!reader.status && !reader.ascii.begun && !reader.stopped)
        reader.status = cw_error_set(error, CW_E_FORMAT, reader.file, 0, "is not XML");
    if (!reader.status) read_end(&reader);
    end(&reader);
    return reader.status;
}

struct root {
    const char *name;
    bool found;
};

/* Whatever it is, nothing after it is of interest. */
static enum cw_status see_root(void *state, const struct cw_xml *xml, struct cw_error *error) {
    (void)error;
    struct root *root = state;
    root->found = !root->name || strcmp(xml->path[0], root->name) == 0;
    return CW_E_FORMAT;
}

enum cw_status cw_xml_has_root(const char *head, size_t length, const char *name, bool *has,
                               struct cw_error *error) {
    static const struct cw_xml_handler handler = {see_root, NULL};
    struct root root = {.name = name};
    struct cw_warnings warnings = {0};
    struct reader reader = {.file = "", .handler = &handler, .state = &root, .warnings = &warnings};
    char piece[PIECE_SIZE];
    *has = false;
    enum cw_status status = begin(&reader);
    for (size_t at = 0; !status && at < length && !reader.stopped; at += sizeof piece) {
        size_t size = length - at < sizeof piece ? length - at : sizeof piece;
        memcpy(piece, head + at, size);
        read_chunk(&reader, piece, size);
    }
    if (!status) {
        read_end(&reader);
        end(&reader);
        *has = root.found;
    }
    return status || reader.status == CW_E_MEMORY ? cw_error_memory(error) : CW_OK;
}

const char *cw_xml_attribute(const struct cw_xml *xml, const char *name, size_t *length) {
    /* five pointers an attribute: local name, prefix, URI, value, its end */
    const xmlChar *const *at = xml->attributes;
    for (int i = 0; i < xml->attribute_count; i++, at += 5) {
        if (strcmp((const char *)at[0], name) == 0) {
            *length = (size_t)(at[4] - at[3]);
            return (const char *)at[3];
        }
    }
    return NULL;
}

const char *cw_xml_parent(const struct cw_xml *xml) {
    return xml->depth >= 2 ? xml->path[xml->depth - 2] : "";
}
