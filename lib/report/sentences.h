/* Sentences gathered to be said: as a list on a terminal, on the page, in JSON. */
#ifndef CW_REPORT_SENTENCES_H
#define CW_REPORT_SENTENCES_H

#include <stddef.h>

#include "base/text.h"
#include "report/look.h"

/* Each ends in '\0'. Begin with all zeros. */
struct cw_sentences {
    size_t n;
    struct cw_text text;
};
void cw_sentences_add(struct cw_sentences *sentences, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds what stands in the text, and frees it. */
void cw_sentences_take(struct cw_sentences *sentences, struct cw_text *text);
void cw_sentences_free(struct cw_sentences *sentences);

/* The one after `before`, the first for NULL; NULL where there is no more. */
const char *cw_sentences_next(const struct cw_sentences *sentences, const char *before);

/* Adds them, each from a line of its own, and frees them. */
void cw_sentences_write(struct cw_sentences *sentences, const struct cw_look *look,
                        struct cw_text *out);

/* Adds them under a heading, if there are any, and frees them; those of the library hold a degree
 * sign and the like, which a plain terminal is spared. */
void cw_sentences_list(const char *title, struct cw_sentences *sentences,
                       const struct cw_look *look, struct cw_text *out);

/* Adds them as a list without a heading, and frees them. */
void cw_sentences_items(struct cw_sentences *sentences, const struct cw_look *look,
                        struct cw_text *out);
/* The same of no more than the first `most`; says how many are left for --all. */
void cw_sentences_list_some(const char *title, size_t most, struct cw_sentences *sentences,
                            const struct cw_look *look, struct cw_text *out);

#endif
