/* An outing file, a form feed, and a recording, whatever both are, taken all the way: runs found
 * and labelled, fitted, compared, timed, explained and told in every form. It answers or is
 * refused, and an answer keeps its promises. Built as a fuzzer with -Dfuzz=true, and by replay.c
 * for every test run. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/analysis.h"
#include "base/utf8.h"
#include "outing/read.h"
#include "page/page.h"
#include "recording/read.h"
#include "report/compare_report.h"
#include "report/explain_report.h"
#include "report/fit_report.h"
#include "report/runs_report.h"

enum { SAMPLES_MOST = 1000, RUNS_MOST = 4 }; /* so that many are tried in a minute */

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

static void check_estimate(const struct cw_estimate *e) {
    if (isnan(e->value)) return;
    promise(isfinite(e->value));
    promise(isnan(e->low) || isnan(e->high) || e->low <= e->high);
    promise(isnan(e->standard_error) || e->standard_error >= 0);
}

static void check_runs(const struct cw_analysed *of) {
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        promise(run->recording < of->n_recordings && run->first <= run->last &&
                run->last < of->recordings[run->recording].samples.n);
        promise(run->number == (long)i + 1 && isfinite(run->duration_s) && run->duration_s >= 0);
        promise(run->kept == !run->reasons);
    }
}

static void check_fit(const struct cw_fit *fit) {
    for (size_t i = 0; i < fit->n_runs; i++) {
        if (fit->runs[i].together_identifiable) check_estimate(&fit->runs[i].together_cda_m2);
        if (fit->runs[i].identifiable) check_estimate(&fit->runs[i].alone_cda_m2);
    }
}

static void check_compare(const struct cw_compare *compare) {
    for (size_t s = 0; s < compare->n_setups; s++) check_estimate(&compare->setups[s].cda_m2);
    for (size_t i = 0; i < compare->n_comparisons; i++) {
        const struct cw_comparison *c = &compare->comparisons[i];
        promise(c->setup < compare->n_setups && c->reference < compare->n_setups);
        check_estimate(&c->percent);
        check_estimate(&c->time_over_road_s);
        promise(isnan(c->p_value) || (c->p_value >= 0 && c->p_value <= 1));
    }
}

static void check_text(struct cw_text *text, enum cw_status status) {
    promise(status != CW_OK || text->failed ||
            (text->bytes && cw_utf8_valid(text->bytes, text->length)));
    cw_text_free(text);
}

static void tell(const struct cw_analysis *analysis, bool compared) {
    const struct cw_look look = {.columns = 80, .utf8 = true};
    const struct cw_page_origin origin = {.version = "0"};
    struct cw_text text = {0};
    check_text(&text, cw_report_fit_table(analysis, true, &look, &text, NULL));
    check_text(&text, cw_report_fit_json(analysis, &text, NULL));
    check_text(&text, cw_report_fit_csv(analysis, &text, NULL));
    if (!compared) return;
    check_text(&text, cw_report_compare_table(analysis, true, &look, &text, NULL));
    check_text(&text, cw_report_compare_json(analysis, &text, NULL));
    check_text(&text, cw_report_compare_csv(analysis, &text, NULL));
    check_text(&text, cw_page_add(analysis, CW_UNITS_METRIC, &origin, &text, NULL));
}

static void take(struct cw_analysis *analysis) {
    struct cw_analysed *of = &analysis->outings[0];
    const struct cw_look look = {.columns = 60};
    struct cw_text text = {0};
    size_t kept = 0;
    if (cw_analysis_find(analysis, NULL) < 0) return;
    check_runs(of);
    check_text(&text, cw_report_runs_table(of, true, &look, &text, NULL));
    check_text(&text, cw_report_runs_json(of, &text, NULL));
    for (size_t i = 0; i < of->runs.n; i++) kept += of->runs.at[i].kept;
    if (kept > RUNS_MOST || cw_analysed_check(of, false, NULL) < 0 ||
        cw_analysis_fit(analysis, NULL) < 0)
        return;
    check_fit(&of->fit);
    bool compared = cw_analysis_has_setups(analysis) && cw_analysis_average(analysis, NULL) >= 0 &&
                    cw_analysis_compare(analysis, NULL, NULL) >= 0;
    if (compared) check_compare(&analysis->compare);
    compared = compared && cw_analysis_time(analysis, NULL) >= 0;
    if (compared) cw_analysis_explain(analysis, NULL);
    tell(analysis, compared);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    struct cw_analysis analysis;
    struct cw_outing outing = {0};
    struct cw_recording *recording = calloc(1, sizeof *recording);
    const uint8_t *end = length ? memchr(bytes, '\f', length) : NULL;
    if (!recording || !end) {
        free(recording);
        return 0;
    }
    size_t of_outing = (size_t)(end - bytes);
    cw_analysis_begin(&analysis, NULL);
    enum cw_status status =
        cw_outing_read_memory((const char *)bytes, of_outing, "fuzz", &outing, NULL);
    if (status >= 0 && outing.n_recordings == 1)
        status = cw_recording_read_memory(end + 1, length - of_outing - 1, "ride", recording, NULL);
    if (status >= 0 && outing.n_recordings == 1 && recording->samples.n <= SAMPLES_MOST) {
        if (cw_analysis_take(&analysis, &outing, recording, 1, NULL) >= 0) take(&analysis);
    } else {
        cw_outing_free(&outing);
        cw_recording_free(recording);
        free(recording);
    }
    cw_analysis_free(&analysis);
    return 0;
}
