/* coastwise runs: the coasting runs found; those turned down, and why. */
#include <stdbool.h>
#include <stddef.h>

#include "analyse.h"
#include "commands.h"
#include "gather.h"
#include "lines.h"
#include "options.h"
#include "output.h"
#include "report/runs_report.h"

struct options {
    bool json, csv, all;
    const char *units, *utc_offset;
    struct cw_files_options reading;
    struct cw_lines_options lines;
};

static const struct cw_option table[] = {
    {.name = "all",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, all),
     .meaning = "list the coasts too that tell too little to be runs, and all roads"},
    CW_OPTIONS_FORMAT(struct options, "the runs"),
    CW_OPTION_UNITS(struct options),
    CW_OPTION_CLOCK(struct options),
    CW_OPTIONS_LINES(struct options, "file"),
    CW_OPTIONS_READING(struct options, "recordings"),
};

static enum cw_exit write_answer(const struct cw_analysed *of, const struct options *options) {
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_look look = cw_output_look_in(options->units);
    enum cw_status made = options->json ? cw_report_runs_json(of, &text, &error)
                          : options->csv
                              ? cw_report_runs_csv(of, &text, &error)
                              : cw_report_runs_table(of, options->all, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* Runs were printed; what is amiss with them decides the status. An order that was never given is
 * no fault here: these runs are what it is written from. file: of loose recordings, to be named. */
static enum cw_exit judge(const struct cw_analysis *analysis, const char *file) {
    struct cw_error error;
    if (cw_analysed_check(&analysis->outings[0], false, &error) >= 0) return CW_EXIT_ANSWERED;
    if (*error.file) return cw_message_error(&error);
    cw_message(file, 0, "%s", error.message);
    return cw_exit_of(error.code);
}

static enum cw_exit find(struct cw_analysis *analysis, char *const *paths, size_t n) {
    struct cw_error error;
    bool found = cw_analysis_open_files(analysis, (const char *const *)paths, n, &error) >= 0 &&
                 cw_analysis_find(analysis, &error) >= 0;
    return found ? CW_EXIT_ANSWERED : cw_message_error(&error);
}

static enum cw_exit answer_all(const struct options *options, const struct cw_gathered *files) {
    struct cw_analysis analysis;
    cw_analyse_begin(&analysis, !options->json, &options->reading);
    enum cw_exit status = find(&analysis, files->paths, files->n);
    if (status == CW_EXIT_ANSWERED) {
        cw_analyse_set_clock(&analysis, options->utc_offset);
        status = write_answer(&analysis.outings[0], options);
    }
    if (status == CW_EXIT_ANSWERED) status = judge(&analysis, NULL);
    status = cw_analyse_end(&analysis, files, status);
    cw_analysis_free(&analysis);
    return status;
}

static enum cw_exit answer_line(struct cw_analysis *analysis, char *const *path,
                                const void *options, struct cw_text *text) {
    struct cw_error error;
    enum cw_exit status = find(analysis, path, 1);
    (void)options;
    if (status == CW_EXIT_ANSWERED && cw_report_runs_json(&analysis->outings[0], text, &error) < 0)
        status = cw_message_error(&error);
    return status == CW_EXIT_ANSWERED ? judge(analysis, *path) : status;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct cw_gathered files;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (!cw_analyse_is_clock(command, options.utc_offset, &status)) return status;
    if (!cw_lines_one_form(command, options.json, options.csv, &options.lines, &status))
        return status;
    if (first == argc && !options.reading.files_from)
        return cw_usage_wrong(command, "give recordings or an outing file");
    status = cw_gather(argc - first, argv + first, &options.reading, CW_WANTED_RECORDINGS, &files);
    if (status == CW_EXIT_ANSWERED)
        status = options.lines.json_lines ? cw_lines_write(command, &options, &options.reading,
                                                           &options.lines, &files, answer_line)
                                          : answer_all(&options, &files);
    cw_gathered_free(&files);
    return status;
}

const struct cw_command cw_command_runs = {
    .name = "runs",
    .arguments = "RECORDING... | FOLDER... | OUTING",
    .summary = "the coasting runs found; those turned down, and why",
    .description =
        "Finds the descents and coast-downs of the recordings, coasted without pedalling or "
        "braking, and prints them with their numbers; then those that looked like runs and were "
        "turned down, and why. A run is what can tell CdA or Crr, on a slope or on the level from "
        "speed; of coasts that tell too little, before a corner or a light, at most three a "
        "recording are listed, and the rest counted. "
        "Passes over the same ground are told by each other, so a road that is coasted again and "
        "again needs neither good heights nor a cadence. A hole of up to 30 s in a coast is "
        "bridged where both sides agree with coasting. Where neither cadence nor power tells that "
        "the legs were still, a "
        "run is told by its energy alone, and marked so.\n\nOf several recordings, one that can't "
        "be "
        "used is named and left out. A folder stands for the recordings in it. Roads that were "
        "coasted more than once are listed, the most often first: a hill that is ridden down all "
        "year, with and without a jacket, is an experiment; \"coastwise start\" makes an outing "
        "file of its recordings.\n\nFirst stands what kind of ride it was, where it is no test to "
        "compare setups by, "
        "and "
        "what its recorder can and can't tell; last, where runs have no setups yet, the command to "
        "type "
        "next.\n\nWith an outing file, its recordings are searched, the runs "
        "that "
        "it skips are turned down, and each run kept is shown with its setup.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
