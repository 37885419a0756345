/* JSON values the way every report writes them, over jansson. Inside the room only: no public
 * header knows jansson. A value that cannot be made for want of memory is NULL, and what it is put
 * into notes that. */
#ifndef CW_REPORT_JSON_H
#define CW_REPORT_JSON_H

#include <stdbool.h>

#include <jansson.h>

#include "base/error.h"
#include "base/estimate.h"
#include "base/text.h"
#include "base/warning.h"
#include "compare/compare.h"
#include "report/sentences.h"

/* An object or array under way. */
struct cw_json {
    json_t *value;
    bool *failed; /* shared by all parts of a document */
};

/* The object that every answer is: it opens with the version and the command that it answers. */
struct cw_json cw_json_document(const char *command, bool *failed);
struct cw_json cw_json_object(bool *failed);
struct cw_json cw_json_array(bool *failed);
/* Puts value into the object under key, or at the end of the array; value is then owned by it. */
void cw_json_set(struct cw_json object, const char *key, json_t *value);
void cw_json_append(struct cw_json array, json_t *value);

json_t *cw_json_number(double value);       /* NaN and infinities are null */
json_t *cw_json_string(const char *string); /* what is not UTF-8 becomes U+FFFD; NULL is null */
json_t *cw_json_time(double unix_s);        /* ISO 8601 UTC; NaN is null */
/* {"value", "standard_error", "low", "high"}; null when there is no value. */
json_t *cw_json_estimate(struct cw_estimate estimate);
json_t *cw_json_warnings(const struct cw_warnings *warnings);
/* An array of them; they are freed. */
json_t *cw_json_sentences(struct cw_sentences *sentences, bool *failed);
/* What each systematic cause does; an empty array where compare is NULL. */
json_t *cw_json_budget(const struct cw_compare *compare, bool *failed);

/* Adds the document to out, indented, with a line end, and frees it. CW_E_MEMORY when any part
 * could not be made; out is then not whole. */
enum cw_status cw_json_finish(struct cw_json document, struct cw_text *out, struct cw_error *error);

#endif
