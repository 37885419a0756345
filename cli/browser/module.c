/* The library as the page calls it: an analysis, a step a call, and its answers as text.
 *
 * The page puts files into a system of its own (system.js) and names them here. Each call returns a
 * status (base/error.h); what it has to say stands in cw_browser_text() and _length(), or, below 0,
 * in cw_browser_error_*(). Numbers of the page's fields are not read here: the page writes an
 * outing file, and the library reads it. */
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "module.h"

#include "analysis/inputs.h"
#include "base/text.h"
#include "base/version.h"
#include "outing/input.h"
#include "outing/keys.h"
#include "outing/lines.h"
#include "page/page.h"
#include "picture/thin.h"
#include "report/compare_report.h"
#include "report/fit_report.h"
#include "report/runs_report.h"
#include "report/units.h"

/* What is told while a call is under way: what is being done, item i of n, a file. */
__attribute__((import_module("page"), import_name("progress"))) void
cw_browser_progress(const char *doing, size_t i, size_t n, const char *file);
/* A warning, or what was left out: enum cw_notice_kind. */
__attribute__((import_module("page"), import_name("notice"))) void
cw_browser_notice(int kind, const char *file, long line, const char *message);

struct cw_browser cw_browser;

SHOWN("text") const char *cw_browser_text(void) {
    return cw_browser.text.bytes;
}

SHOWN("length") size_t cw_browser_length(void) {
    return cw_browser.text.length;
}

SHOWN("error_file") const char *cw_browser_error_file(void) {
    return cw_browser.error.file;
}

SHOWN("error_line") long cw_browser_error_line(void) {
    return cw_browser.error.line;
}

SHOWN("error_message") const char *cw_browser_error_message(void) {
    return cw_browser.error.message;
}

SHOWN("version") const char *cw_browser_version(void) {
    return cw_version();
}

/* ---- JSON of what no report has ---- */

void cw_browser_add_string(const char *string) {
    cw_text_add(&cw_browser.text, "\"");
    for (const char *at = string ? string : ""; *at; at++) {
        if (*at == '"' || *at == '\\')
            cw_text_add(&cw_browser.text, "\\%c", *at);
        else if ((unsigned char)*at < 0x20)
            cw_text_add(&cw_browser.text, "\\u%04x", (unsigned)*at);
        else
            cw_text_add_bytes(&cw_browser.text, at, 1);
    }
    cw_text_add(&cw_browser.text, "\"");
}

void cw_browser_add_member(const char *name, const char *string) {
    cw_text_add(&cw_browser.text, ",\"%s\":", name);
    if (string)
        cw_browser_add_string(string);
    else
        cw_text_add(&cw_browser.text, "null");
}

void cw_browser_add_number(const char *name, double number) {
    cw_text_add(&cw_browser.text, ",\"%s\":", name);
    cw_text_add_number(&cw_browser.text, number, 9); /* null for NaN */
}

enum cw_status cw_browser_whole(void) {
    return cw_browser.text.failed ? cw_error_memory(&cw_browser.error) : CW_OK;
}

void cw_browser_add_asked(const char *section, const char *name, double low, double high,
                          const char *meaning) {
    cw_text_add(&cw_browser.text, "%s{\"number\":true", cw_browser.text.length > 1 ? "," : "");
    cw_browser_add_member("section", section);
    cw_browser_add_member("name", name);
    cw_browser_add_member("meaning", meaning);
    cw_browser_add_number("low", low);
    cw_browser_add_number("high", high);
    cw_text_add(&cw_browser.text, "}");
}

/* The keys of an outing file, for fields: ranges, units, defaults, meanings. */
SHOWN("keys") enum cw_status cw_browser_keys(void) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
    for (size_t i = 0; i < n; i++) {
        const struct cw_outing_key *key = &keys[i];
        cw_text_add(&cw_browser.text, "%s{\"number\":%s", i ? "," : "",
                    key->kind == CW_KEY_NUMBER ? "true" : "false");
        cw_browser_add_member("section", key->section);
        cw_browser_add_member("name", key->name);
        cw_browser_add_member("unit", key->unit);
        cw_browser_add_member("instead", key->instead);
        cw_browser_add_member("fallback_text", key->fallback_text);
        cw_browser_add_member("meaning", key->meaning);
        cw_browser_add_member("of", key->of);
        if (key->instead) {
            cw_browser_add_number("times", key->times);
            cw_browser_add_number("plus", key->plus);
        }
        if (key->kind == CW_KEY_NUMBER) {
            cw_browser_add_number("low", key->low);
            cw_browser_add_number("high", key->high);
            cw_browser_add_number("fallback", key->fallback);
            cw_browser_add_number("fallback_without",
                                  key->of ? key->fallback_without : key->fallback);
        }
        cw_text_add(&cw_browser.text, "}");
    }
    cw_text_add(&cw_browser.text, "]");
    return cw_browser_whole();
}

/* An outing file's lines as they stand, in order: [["section"], ["key", "value"], ...], a list that
 * goes on in indented lines joined. bytes[0..length). */
SHOWN("entries")
enum cw_status cw_browser_entries(const char *bytes, size_t length, const char *file) {
    struct cw_lines lines;
    bool open = false; /* a value that may go on */
    cw_lines_start(&lines, bytes, length, file, &cw_browser.error);
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
    struct cw_text value = {0};
    const char *between = "";
    for (bool more = true; more;) {
        more = cw_lines_next(&lines);
        if (more && lines.kind == CW_LINE_MORE) {
            cw_text_add(&value, "%s%s", value.length ? " " : "", lines.value);
            continue;
        }
        if (open) {
            cw_browser_add_string(value.bytes);
            cw_text_add(&cw_browser.text, "]");
            cw_text_free(&value);
        }
        open = more && lines.kind == CW_LINE_KEY;
        if (!more) break;
        cw_text_add(&cw_browser.text, "%s[", between);
        between = ",";
        cw_browser_add_string(lines.name);
        cw_text_add(&cw_browser.text, open ? "," : "]");
        if (open) cw_text_add(&value, "%s", lines.value);
    }
    if (value.failed) cw_browser.text.failed = true;
    cw_text_free(&value);
    cw_text_add(&cw_browser.text, "]");
    return lines.status ? lines.status : cw_browser_whole();
}

/* What one file is, as it is chosen: an outing file, or a recording with its samples. What is wrong
 * within an outing file is seen when it is opened with its recordings. */
SHOWN("look") enum cw_status cw_browser_look(const char *path) {
    struct cw_input input;
    enum cw_status status = cw_input_read(path, &input, &cw_browser.error);
    cw_text_free(&cw_browser.text);
    if (status >= 0 || input.is_outing) {
        cw_text_add(&cw_browser.text, "{\"outing\":%s,\"samples\":%zu}",
                    input.is_outing ? "true" : "false",
                    input.is_outing ? 0 : input.recording.samples.n);
        status = cw_browser_whole();
    }
    cw_input_free(&input);
    return status;
}

/* ---- the analysis ---- */

static void progress(void *caller, const char *doing, size_t i, size_t n, const char *file) {
    (void)caller;
    cw_browser_progress(doing, i, n, file);
}

static void notice(void *caller, const struct cw_notice *of) {
    (void)caller;
    cw_browser_notice(of->kind, of->file, of->line, of->message);
}

void cw_browser_begin(struct cw_analysis *analysis) {
    /* An input, unpacked. Memory of a page is 2 GB at most, and a telephone has less. */
    const double limit_mb = 400;
    cw_analysis_free(analysis);
    cw_analysis_begin(analysis, &(struct cw_analysis_options){
                                    .notice = notice, .progress = progress, .limit_mb = limit_mb});
}

/* An outing file with its recordings. */
SHOWN("open_outing") enum cw_status cw_browser_open_outing(const char *path) {
    cw_browser_begin(&cw_browser.analysis);
    return cw_analysis_open_outings(&cw_browser.analysis, &path, 1, &cw_browser.error);
}

/* Recordings without an outing file: n names, a line each. */
SHOWN("open_recordings") enum cw_status cw_browser_open_recordings(char *names, size_t n) {
    const char **paths = calloc(n ? n : 1, sizeof *paths);
    if (!paths) return cw_error_memory(&cw_browser.error);
    for (size_t i = 0; i < n; i++) {
        size_t length = strcspn(names, "\n");
        paths[i] = names;
        names += length;
        if (*names) *names++ = '\0';
    }
    cw_browser_begin(&cw_browser.analysis);
    enum cw_status status =
        cw_analysis_open_files(&cw_browser.analysis, paths, n, &cw_browser.error);
    free(paths);
    return status;
}

SHOWN("find") enum cw_status cw_browser_find(void) {
    return cw_analysis_find(&cw_browser.analysis, &cw_browser.error);
}

/* Whether the runs can be fitted, or compared. */
SHOWN("check") enum cw_status cw_browser_check(int with_setups) {
    return cw_analysed_check(&cw_browser.analysis.outings[0], with_setups, &cw_browser.error);
}

SHOWN("fit") enum cw_status cw_browser_fit(void) {
    return cw_analysis_fit(&cw_browser.analysis, &cw_browser.error);
}

/* Sets the setups against each other, where there are any, and times the runs. */
SHOWN("compare") enum cw_status cw_browser_compare(void) {
    if (cw_analysis_has_setups(&cw_browser.analysis)) {
        enum cw_status status = cw_analysis_compare(&cw_browser.analysis, NULL, &cw_browser.error);
        if (status < 0) return status;
    }
    enum cw_status status = cw_analysis_time(&cw_browser.analysis, &cw_browser.error);
    return status < 0 ? status : cw_analysis_explain(&cw_browser.analysis, &cw_browser.error);
}

/* Each setup on its own, as `fit` tells it; after all that compares, whose warnings it adds to. */
SHOWN("average") enum cw_status cw_browser_average(void) {
    return cw_analysis_average(&cw_browser.analysis, &cw_browser.error);
}

/* Whether its setups tell a CdA that predictions can be made of. */
SHOWN("averaged") int cw_browser_averaged(void) {
    const struct cw_analysed *of = &cw_browser.analysis.outings[0];
    return of->averaged && of->average.n_told > 0;
}

SHOWN("compared") int cw_browser_compared(void) {
    return cw_browser.analysis.compared;
}

/* ---- answers ---- */

enum cw_status cw_browser_made(enum cw_status status) {
    return status < 0 ? status : cw_browser_whole();
}

SHOWN("runs_json") enum cw_status cw_browser_runs_json(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_runs_json(&cw_browser.analysis.outings[0], &cw_browser.text, &cw_browser.error));
}

SHOWN("runs_csv") enum cw_status cw_browser_runs_csv(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_runs_csv(&cw_browser.analysis.outings[0], &cw_browser.text, &cw_browser.error));
}

SHOWN("fit_json") enum cw_status cw_browser_fit_json(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_fit_json(&cw_browser.analysis, &cw_browser.text, &cw_browser.error));
}

SHOWN("fit_csv") enum cw_status cw_browser_fit_csv(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_fit_csv(&cw_browser.analysis, &cw_browser.text, &cw_browser.error));
}

SHOWN("compare_json") enum cw_status cw_browser_compare_json(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_compare_json(&cw_browser.analysis, &cw_browser.text, &cw_browser.error));
}

SHOWN("compare_csv") enum cw_status cw_browser_compare_csv(void) {
    cw_text_free(&cw_browser.text);
    return cw_browser_made(
        cw_report_compare_csv(&cw_browser.analysis, &cw_browser.text, &cw_browser.error));
}

/* The units that pages, parts of them and sentences are in from now on. */
SHOWN("read_in") void cw_browser_read_in(int imperial) {
    cw_browser.units = imperial ? CW_UNITS_IMPERIAL : CW_UNITS_METRIC;
}

/* A sentence of the library's in those units; until the next call. It may be asked for while
 * another call is under way. */
SHOWN("sentence") const char *cw_browser_sentence(const char *sentence) {
    static struct cw_text said;
    cw_text_free(&said);
    cw_units_say(&said, sentence, cw_browser.units);
    return said.failed || !said.bytes ? sentence : said.bytes;
}

SHOWN("page") enum cw_status cw_browser_page(const char *path) {
    const char *const arguments[] = {"coastwise", "report", path};
    struct cw_analysis_input *inputs = NULL;
    struct cw_page_origin origin = {
        .version = cw_version(), .n_arguments = 3, .arguments = arguments};
    cw_text_free(&cw_browser.text);
    enum cw_status status =
        cw_analysis_list_inputs(&cw_browser.analysis, &inputs, &origin.n_inputs, &cw_browser.error);
    if (status < 0) return status;
    origin.inputs = inputs;
    status = cw_browser_made(cw_page_add(&cw_browser.analysis, cw_browser.units, &origin,
                                         &cw_browser.text, &cw_browser.error));
    free(inputs);
    return status;
}

/* A line of a recording's heights over its time, as a picture needs it: [[s, m], ...], null where
 * there is none. Times are from the recording's first sample. */
static enum cw_status add_heights(const struct cw_recording *recording,
                                  const struct cw_motion *motion) {
    const double tolerance_m = 0.5;
    size_t n = motion->n, kept;
    double *t = malloc((n ? n : 1) * sizeof *t);
    bool *keep = malloc(n ? n : 1);
    enum cw_status status = t && keep ? CW_OK : cw_error_memory(&cw_browser.error);
    for (size_t i = 0; i < n && t; i++)
        t[i] = recording->samples.time_s[i] - recording->samples.time_s[0];
    if (!status)
        status = cw_thin(n, t, motion->height_m, tolerance_m, keep, &kept, &cw_browser.error);
    cw_text_add(&cw_browser.text, "[");
    const char *between = "";
    for (size_t i = 0; i < n && status >= 0; i++) {
        if (!keep[i]) continue;
        cw_text_add(&cw_browser.text, "%s[", between);
        cw_text_add_number(&cw_browser.text, t[i], 1);
        cw_text_add(&cw_browser.text, ",");
        cw_text_add_number(&cw_browser.text, motion->height_m[i], 1);
        cw_text_add(&cw_browser.text, "]");
        between = ",";
    }
    cw_text_add(&cw_browser.text, "]");
    free(t);
    free(keep);
    return status;
}

/* The heights of each recording, in their order. */
SHOWN("heights_json") enum cw_status cw_browser_heights_json(void) {
    const struct cw_analysed *of = &cw_browser.analysis.outings[0];
    enum cw_status status = CW_OK;
    cw_text_free(&cw_browser.text);
    cw_text_add(&cw_browser.text, "[");
    for (size_t i = 0; i < of->n_recordings && status >= 0; i++) {
        cw_text_add(&cw_browser.text, i ? "," : "");
        status = add_heights(&of->recordings[i], &of->motions[i]);
    }
    cw_text_add(&cw_browser.text, "]");
    return cw_browser_made(status);
}
