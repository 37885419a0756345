#include "lines.h"

#include <stdlib.h>
#include <string.h>

#include "analyse.h"
#include "base/each.h"
#include "kept.h"
#include "options.h"
#include "output.h"

/* Of one file, from its answer until it is written. */
struct line {
    struct cw_text answer, said;
    enum cw_exit status;
    struct cw_kept_key key;
    bool is_kept; /* was taken from where it is kept */
};

struct lines {
    const struct cw_files_options *reading;
    const struct cw_gathered *files;
    const void *options;
    cw_line_answer *answer;
    const struct cw_kept *kept; /* NULL: nothing is */
    bool keeps;                 /* it can be written to, as far as is known */
    struct line *of;            /* one a file */
    enum cw_exit status;
};

/* JSON as it was laid out, without its ends of lines: there are none in its texts. */
static void add_as_line(struct cw_text *to, const struct cw_text *json) {
    const char *at = json->bytes ? json->bytes : "";
    while (*at) {
        size_t length = strcspn(at, "\n");
        cw_text_add_bytes(to, at, length);
        bool goes_on = length && at[length - 1] == ',';
        at += length;
        at += strspn(at, "\n ");
        if (goes_on) cw_text_add(to, " ");
    }
    cw_text_add(to, "\n");
}

static void answer_one(const struct lines *lines, char *const *path, struct line *line) {
    struct cw_analysis analysis;
    struct cw_text json = {0};
    cw_analyse_begin(&analysis, false, lines->reading);
    analysis.options.progress = NULL;
    analysis.options.threads = 1; /* the others have files of their own */
    line->status = lines->answer(&analysis, path, lines->options, &json);
    if (json.length) add_as_line(&line->answer, &json);
    if (json.failed) line->answer.failed = true;
    cw_analysis_free(&analysis);
    cw_text_free(&json);
}

static enum cw_status work(void *context, size_t i, struct cw_error *error) {
    const struct lines *lines = context;
    char *const *path = &lines->files->paths[i];
    struct line *line = &lines->of[i];
    (void)error;
    cw_message_into(&line->said);
    if (lines->kept) {
        cw_kept_key(lines->kept, *path, &line->key);
        line->is_kept =
            cw_kept_take(lines->kept, &line->key, &line->answer, &line->said, &line->status);
    }
    if (!line->is_kept) answer_one(lines, path, line);
    cw_message_into(NULL);
    return CW_OK;
}

static void tell_progress(const struct lines *lines, size_t i) {
    if (i < lines->files->n)
        cw_progress("answering", i + 1, lines->files->n, lines->files->paths[i]);
}

static enum cw_status write_out(void *context, size_t i, enum cw_status came_to,
                                struct cw_error *error) {
    struct lines *lines = context;
    struct line *line = &lines->of[i];
    (void)came_to;
    if (line->answer.failed || line->said.failed) return cw_error_memory(error);
    if (line->said.length) cw_message_write(&line->said);
    if (line->status > lines->status) lines->status = line->status;
    if (lines->keeps && !line->is_kept &&
        cw_kept_put(lines->kept, &line->key, &line->answer, &line->said, line->status) != 0) {
        lines->keeps = false; /* one message is enough */
        lines->status = CW_EXIT_OUTPUT;
    }
    cw_text_free(&line->said);
    if (line->answer.length) {
        enum cw_exit wrote = cw_output_write(&line->answer);
        if (wrote != CW_EXIT_ANSWERED) {
            lines->status = wrote;
            return cw_error_set(error, CW_E_WRITE, NULL, 0, "said");
        }
    }
    cw_text_free(&line->answer);
    tell_progress(lines, i + 1);
    return CW_OK;
}

bool cw_lines_one_form(const struct cw_command *command, bool json, bool csv,
                       const struct cw_lines_options *lines, enum cw_exit *status) {
    if (json + csv + lines->json_lines > 1)
        *status = cw_usage_wrong(command, "give --json, --csv or --json-lines");
    else if (lines->keep && !lines->json_lines)
        *status = cw_usage_wrong(command, "--keep goes with --json-lines");
    else
        return true;
    return false;
}

enum cw_exit cw_lines_write(const struct cw_command *command, const void *options,
                            const struct cw_files_options *reading,
                            const struct cw_lines_options *asked, const struct cw_gathered *files,
                            cw_line_answer *answer) {
    struct cw_kept kept = {0};
    struct lines lines = {.reading = reading,
                          .files = files,
                          .options = options,
                          .answer = answer,
                          .kept = asked->keep ? &kept : NULL,
                          .keeps = asked->keep != NULL,
                          .of = calloc(files->n ? files->n : 1, sizeof *lines.of),
                          .status = files->left_out};
    struct cw_error error;
    enum cw_exit status = CW_EXIT_ANSWERED;
    if (asked->keep) status = cw_kept_open(&kept, asked->keep, command, options);
    if (!lines.of) cw_error_memory(&error);
    if (status == CW_EXIT_ANSWERED && !lines.of) status = cw_message_error(&error);
    if (status == CW_EXIT_ANSWERED) {
        const struct cw_each each = {.n = files->n,
                                     .threads = cw_analyse_threads(reading),
                                     .context = &lines,
                                     .work = work,
                                     .told = write_out};
        tell_progress(&lines, 0);
        enum cw_status came_to = cw_each(&each, &error);
        cw_progress_end();
        status = lines.status;
        if (came_to < 0 && came_to != CW_E_WRITE) status = cw_message_error(&error);
    }
    for (size_t i = 0; lines.of && i < files->n; i++) {
        cw_text_free(&lines.of[i].answer);
        cw_text_free(&lines.of[i].said);
    }
    free(lines.of);
    if (asked->keep) cw_kept_close(&kept);
    return status;
}
