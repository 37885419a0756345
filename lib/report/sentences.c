#include "report/sentences.h"

#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include "base/print.h"
#include "report/plain.h"

void cw_sentences_add(struct cw_sentences *sentences, const char *format, ...) {
    char sentence[1024];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    cw_text_add(&sentences->text, "%s", sentence);
    cw_text_add_bytes(&sentences->text, "", 1);
    sentences->n++;
}

void cw_sentences_take(struct cw_sentences *sentences, struct cw_text *text) {
    if (text->failed)
        sentences->text.failed = true;
    else
        cw_sentences_add(sentences, "%s", text->bytes);
    cw_text_free(text);
}

void cw_sentences_free(struct cw_sentences *sentences) {
    cw_text_free(&sentences->text);
    sentences->n = 0;
}

const char *cw_sentences_next(const struct cw_sentences *sentences, const char *before) {
    const struct cw_text *text = &sentences->text;
    if (!before) return text->bytes;
    const char *next = before + strlen(before) + 1;
    return next < text->bytes + text->length ? next : NULL;
}

void cw_sentences_write(struct cw_sentences *sentences, const struct cw_look *look,
                        struct cw_text *out) {
    if (sentences->text.failed) out->failed = true;
    for (const char *sentence = NULL; (sentence = cw_sentences_next(sentences, sentence));)
        cw_wrapped_add(out, sentence, look, 0);
    cw_sentences_free(sentences);
}

static void add_items(const struct cw_sentences *sentences, size_t most, const struct cw_look *look,
                      struct cw_text *out) {
    const char *sentence = NULL;
    for (size_t i = 0; i < most && (sentence = cw_sentences_next(sentences, sentence)); i++) {
        cw_text_add(out, "- ");
        cw_wrapped_add(out, sentence, look, 2);
    }
}

void cw_sentences_items(struct cw_sentences *sentences, const struct cw_look *look,
                        struct cw_text *out) {
    if (sentences->text.failed) out->failed = true;
    add_items(sentences, SIZE_MAX, look, out);
    cw_sentences_free(sentences);
}

void cw_sentences_list_some(const char *title, size_t most, struct cw_sentences *sentences,
                            const struct cw_look *look, struct cw_text *out) {
    size_t left = sentences->n > most ? sentences->n - most : 0;
    if (sentences->text.failed) out->failed = true;
    if (sentences->n) cw_text_add(out, "\n%s\n", title);
    add_items(sentences, most, look, out);
    if (left) cw_text_add(out, "- and %zu more; --all lists them\n", left);
    cw_sentences_free(sentences);
}

void cw_sentences_list(const char *title, struct cw_sentences *sentences,
                       const struct cw_look *look, struct cw_text *out) {
    cw_sentences_list_some(title, SIZE_MAX, sentences, look, out);
}
