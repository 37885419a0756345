/* What begins with "{" is read as a result, whatever it is. Of anything else four bytes each are an
 * edit of a saved outing, where and to what, which then carries a checksum: it is refused, or taken
 * and compared, timed, explained and told in every form. So the corpus outlives what is saved.
 * Built as a fuzzer with -Dfuzz=true, and by replay.c for every test run. */
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/outings.h"
#include "analysis/results.h"
#include "analysis/saved.h"
#include "base/pack.h"
#include "base/utf8.h"
#include "base/version.h"
#include "made.h"
#include "report/compare_report.h"

enum { RUNS = 3 };

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

/* A small outing, as it was packed. */
static const struct cw_text *whole(void) {
    static struct cw_pack pack;
    if (pack.reads) return &pack.bytes;
    struct made made;
    struct cw_error error;
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_text word = {0};
    options.n_order = RUNS;
    for (size_t i = 0; i < RUNS; i++) options.order[i] = i % 2;
    promise(made_fit(&made, &options, &error) >= 0);
    promise(cw_analysis_compare(&made.analysis, NULL, &error) >= 0);
    promise(cw_analysis_time(&made.analysis, &error) >= 0);
    cw_analysed_save(made.of, &word);
    size_t head = strlen(cw_version()) + 1;
    promise(cw_pack_open(&pack, word.bytes + head, word.length - head));
    cw_text_free(&word);
    made_free(&made);
    return &pack.bytes;
}

static void check_text(struct cw_text *text, enum cw_status status) {
    promise(status != CW_OK || text->failed ||
            (text->bytes && cw_utf8_valid(text->bytes, text->length)));
    cw_text_free(text);
}

static void compare(struct cw_analysis *analysis) {
    const struct cw_look look = {.columns = 80, .utf8 = true};
    struct cw_text text = {0};
    if (cw_analysis_find(analysis, NULL) < 0 || cw_analysis_fit(analysis, NULL) < 0 ||
        !cw_analysis_has_setups(analysis) || cw_analysis_compare(analysis, NULL, NULL) < 0 ||
        cw_analysis_time(analysis, NULL) < 0 || cw_analysis_explain(analysis, NULL) < 0)
        return;
    check_text(&text, cw_report_compare_table(analysis, true, &look, &text, NULL));
    check_text(&text, cw_report_compare_json(analysis, &text, NULL));
    check_text(&text, cw_report_compare_csv(analysis, &text, NULL));
}

static void read_result(const uint8_t *bytes, size_t length) {
    struct cw_source *source = NULL;
    struct cw_analysed *outings = NULL;
    struct cw_error error = {0};
    size_t n = 0;
    if (cw_source_open_memory(bytes, length, "fuzz", &source, NULL) < 0) return;
    enum cw_status status = cw_result_read(source, &outings, &n, &error);
    promise(status >= 0 ? n > 0 : error.code == status && *error.message);
    cw_source_close(source);
    for (size_t i = 0; i < n; i++) cw_analysed_free(&outings[i]);
    free(outings);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    const struct cw_text *from = whole();
    struct cw_pack edited = {0};
    struct cw_text word = {0};
    struct cw_analysis analysis;
    if (length && *bytes == '{') {
        read_result(bytes, length);
        return 0;
    }
    if (length < 4) return 0;
    cw_text_add_bytes(&edited.bytes, from->bytes, from->length);
    for (size_t i = 0; i + 4 <= length && !edited.bytes.failed; i += 4) {
        size_t at = (size_t)bytes[i] << 16 | (size_t)bytes[i + 1] << 8 | bytes[i + 2];
        edited.bytes.bytes[at % from->length] = (char)bytes[i + 3];
    }
    cw_text_add(&word, "%s.", cw_version());
    cw_pack_add(&edited, &word);
    cw_analysis_begin(&analysis, NULL);
    analysis.outings = calloc(1, sizeof *analysis.outings);
    analysis.n = analysis.outings != NULL;
    if (analysis.n &&
        cw_analysed_restore(word.bytes, word.length, "fuzz", 1, analysis.outings, NULL) >= 0)
        compare(&analysis);
    cw_analysis_free(&analysis);
    cw_text_free(&word);
    cw_pack_free(&edited);
    return 0;
}
