#include "report/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/locale.h"
#include "base/number.h"
#include "base/utf8.h"
#include "base/version.h"

struct cw_json cw_json_object(bool *failed) {
    return (struct cw_json){json_object(), failed};
}

struct cw_json cw_json_document(const char *command, bool *failed) {
    struct cw_json document = cw_json_object(failed);
    cw_json_set(document, "coastwise", cw_json_string(cw_version()));
    cw_json_set(document, "command", cw_json_string(command));
    return document;
}

struct cw_json cw_json_array(bool *failed) {
    return (struct cw_json){json_array(), failed};
}

void cw_json_set(struct cw_json object, const char *key, json_t *value) {
    if (json_object_set_new(object.value, key, value)) *object.failed = true;
}

void cw_json_append(struct cw_json array, json_t *value) {
    if (json_array_append_new(array.value, value)) *array.failed = true;
}

json_t *cw_json_number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *cw_json_string(const char *string) {
    struct cw_text repaired = {0};
    if (!string) return json_null();
    cw_text_add(&repaired, "%s", "");
    cw_utf8_add_repaired(&repaired, string);
    json_t *value = repaired.failed ? NULL : json_stringn(repaired.bytes, repaired.length);
    cw_text_free(&repaired);
    return value;
}

json_t *cw_json_time(double unix_s) {
    char text[40];
    if (!isfinite(unix_s)) return json_null();
    cw_time_write(unix_s, text, sizeof text);
    return json_string(text);
}

json_t *cw_json_estimate(struct cw_estimate estimate) {
    if (!isfinite(estimate.value)) return json_null();
    bool failed = false;
    struct cw_json object = cw_json_object(&failed);
    cw_json_set(object, "value", cw_json_number(estimate.value));
    cw_json_set(object, "standard_error", cw_json_number(estimate.standard_error));
    cw_json_set(object, "low", cw_json_number(estimate.low));
    cw_json_set(object, "high", cw_json_number(estimate.high));
    if (estimate.noise_standard_error > 0)
        cw_json_set(object, "noise_standard_error", cw_json_number(estimate.noise_standard_error));
    if (!failed) return object.value;
    json_decref(object.value);
    return NULL;
}

json_t *cw_json_warnings(const struct cw_warnings *warnings) {
    bool failed = false;
    struct cw_json array = cw_json_array(&failed);
    for (size_t i = 0; i < warnings->n; i++) {
        char text[CW_WARNING_TEXT];
        cw_warning_text(&warnings->at[i], true, text);
        cw_json_append(array, cw_json_string(text));
    }
    if (!failed) return array.value;
    json_decref(array.value);
    return NULL;
}

json_t *cw_json_sentences(struct cw_sentences *sentences, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    if (sentences->text.failed) *failed = true;
    for (const char *sentence = NULL; (sentence = cw_sentences_next(sentences, sentence));)
        cw_json_append(array, cw_json_string(sentence));
    cw_sentences_free(sentences);
    return array.value;
}

json_t *cw_json_budget(const struct cw_compare *compare, bool *failed) {
    struct cw_json array = cw_json_array(failed);
    for (size_t i = 0; compare && i < compare->n_causes; i++) {
        const struct cw_cause_effect *cause = &compare->causes[i];
        struct cw_json object = cw_json_object(failed);
        cw_json_set(object, "cause", cw_json_string(cause->name));
        cw_json_set(object, "cda_percent", cw_json_number(cause->cda_percent));
        cw_json_set(object, "difference_percent", cw_json_number(cause->difference_percent));
        cw_json_set(object, "crr", cw_json_number(cause->crr));
        cw_json_set(object, "uncertainty", cw_json_number(cause->uncertainty));
        cw_json_set(object, "unit", cw_json_string(cause->unit));
        cw_json_append(array, object.value);
    }
    return array.value;
}

/* Given whole characters. */
static int add_part(const char *bytes, size_t length, void *out) {
    cw_utf8_add_json(out, bytes, length);
    return 0;
}

enum cw_status cw_json_finish(struct cw_json document, struct cw_text *out,
                              struct cw_error *error) {
    locale_t before = cw_locale_plain();
    if (json_dump_callback(document.value, add_part, out, JSON_INDENT(1) | JSON_REAL_PRECISION(10)))
        *document.failed = true;
    cw_locale_restore(before);
    cw_text_add(out, "\n");
    json_decref(document.value);
    return *document.failed || out->failed ? cw_error_memory(error) : CW_OK;
}
