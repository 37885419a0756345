#include "analyse.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/number.h"
#include "options.h"
#include "output.h"
#include "report/runs_report.h"

static void say(void *caller, const struct cw_notice *notice) {
    (void)caller;
    if (notice->kind == CW_NOTICE_UNTIMED)
        cw_message(notice->file, notice->line, "no times as measured: %s", notice->message);
    else
        cw_message(notice->file, notice->line, "%s", notice->message);
}

static void say_but_warnings(void *caller, const struct cw_notice *notice) {
    if (notice->kind != CW_NOTICE_WARNING) say(caller, notice);
}

static void show_progress(void *caller, const char *doing, size_t i, size_t n, const char *file) {
    (void)caller;
    cw_progress(doing, i, n, file);
}

size_t cw_analyse_threads(const struct cw_files_options *reading) {
    long threads = reading->threads ? reading->threads : sysconf(_SC_NPROCESSORS_ONLN);
    return threads > 1 ? (size_t)threads : 1;
}

void cw_analyse_begin(struct cw_analysis *analysis, bool say_warnings,
                      const struct cw_files_options *reading) {
    struct cw_analysis_options options = {.notice = say_warnings ? say : say_but_warnings,
                                          .progress = show_progress,
                                          .limit_mb = (double)reading->limit_mb,
                                          .threads = cw_analyse_threads(reading)};
    cw_analysis_begin(analysis, &options);
}

bool cw_analyse_is_clock(const struct cw_command *command, const char *utc_offset,
                         enum cw_exit *status) {
    double offset_s;
    if (!utc_offset || cw_offset_read(utc_offset, strlen(utc_offset), &offset_s)) return true;
    *status = cw_usage_wrong(command, "--utc-offset is \"%s\": give it as +01:00", utc_offset);
    return false;
}

void cw_analyse_set_clock(struct cw_analysis *analysis, const char *utc_offset) {
    double offset_s;
    if (!utc_offset || !cw_offset_read(utc_offset, strlen(utc_offset), &offset_s)) return;
    for (size_t o = 0; o < analysis->n; o++) {
        analysis->outings[o].outing.utc_offset_s = offset_s;
        analysis->outings[o].outing.utc_offset_given = true;
    }
}

enum cw_exit cw_analyse_refuse(const struct cw_analysed *of, const struct cw_error *error) {
    /* One line among many files', or nothing to look at beside it. */
    if (cw_message_is_held() || of->saved) return cw_message_error(error);
    struct cw_text text = {0};
    struct cw_look look = cw_output_look();
    enum cw_exit status = CW_EXIT_ANSWERED;
    if (cw_report_runs_table(of, false, &look, &text, NULL) != CW_OK) text.failed = true;
    cw_text_add(&text, "\n");
    status = cw_output_explain(&text, status);
    return status == CW_EXIT_ANSWERED ? cw_message_error(error) : status;
}

enum cw_exit cw_analyse_outings(struct cw_analysis *analysis, char *const *paths, size_t n) {
    struct cw_error error;
    if (cw_analysis_open_outings(analysis, (const char *const *)paths, n, &error) < 0 ||
        cw_analysis_find(analysis, &error) < 0)
        return cw_message_error(&error);
    if (analysis->n == 1 && cw_analysed_check(&analysis->outings[0], false, &error) < 0)
        return cw_analyse_refuse(&analysis->outings[0], &error);
    if (cw_analysis_fit(analysis, &error) < 0) return cw_message_error(&error);
    cw_progress_end();
    return CW_EXIT_ANSWERED;
}

enum cw_exit cw_analyse_need_setups(const struct cw_analysis *analysis) {
    struct cw_error error;
    if (cw_analysis_has_setups(analysis) ||
        cw_analysed_check(&analysis->outings[0], true, &error) >= 0)
        return CW_EXIT_ANSWERED;
    return cw_analyse_refuse(&analysis->outings[0], &error);
}

enum cw_exit cw_analyse_compare(struct cw_analysis *analysis,
                                const struct cw_analysis_compare_options *how) {
    struct cw_error error;
    enum cw_exit status = cw_analyse_need_setups(analysis);
    if (status != CW_EXIT_ANSWERED) return status;
    if (cw_analysis_compare(analysis, how, &error) < 0 || cw_analysis_time(analysis, &error) < 0 ||
        cw_analysis_explain(analysis, &error) < 0)
        return cw_message_error(&error);
    return CW_EXIT_ANSWERED;
}

enum cw_exit cw_analyse_end(const struct cw_analysis *analysis, const struct cw_gathered *files,
                            enum cw_exit status) {
    enum cw_exit left_out = cw_exit_of(analysis->left_out);
    if (left_out < files->left_out) left_out = files->left_out;
    return status > left_out ? status : left_out;
}
