/* coastwise compare: setups against each other, within and across outings. */
#include <stdbool.h>
#include <stddef.h>

#include "analyse.h"
#include "commands.h"
#include "gather.h"
#include "lines.h"
#include "options.h"
#include "output.h"
#include "report/compare_report.h"
#include "report/timed_report.h"

struct options {
    bool json, csv, all, gates, drop;
    const char *reference;
    const char *units, *utc_offset;
    struct cw_files_options reading;
    struct cw_lines_options lines;
};

static const struct cw_option table[] = {
    {.name = "all",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, all),
     .meaning = "print the times of every run, each run among its fellows, the error budget and "
                "what these runs cannot tell apart too"},
    CW_OPTIONS_FORMAT(struct options, "the comparisons"),
    {.name = "gates",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, gates),
     .meaning =
         "with --csv: in place of the comparisons, each run's times and speeds at the gates"},
    CW_OPTION_READING(struct options, from, .name = "from", .kind = CW_OPTION_TEXTS,
                      .argument = "FILE.json",
                      .meaning = "take the outings in FILE, which compare --json or --json-lines "
                                 "wrote, without their recordings; more such files may be among "
                                 "the arguments"),
    CW_OPTION_REFERENCE(struct options),
    CW_OPTION_DROP(struct options),
    CW_OPTION_UNITS(struct options),
    CW_OPTION_CLOCK(struct options),
    CW_OPTIONS_LINES(struct options, "outing"),
    CW_OPTIONS_READING(struct options, "outing files"),
};

static enum cw_exit compare(struct cw_analysis *analysis, const struct options *options) {
    struct cw_analysis_compare_options how = {.reference = options->reference,
                                              .drop_outliers = options->drop};
    return cw_analyse_compare(analysis, &how);
}

static enum cw_exit write_answer(const struct cw_analysis *analysis,
                                 const struct options *options) {
    struct cw_look look = cw_output_look_in(options->units);
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_status made =
        options->json    ? cw_report_compare_json(analysis, &text, &error)
        : options->gates ? cw_report_timed_csv(analysis, &text, &error)
        : options->csv   ? cw_report_compare_csv(analysis, &text, &error)
                         : cw_report_compare_table(analysis, options->all, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What was printed answers nothing where two setups were not compared. */
static enum cw_exit judge(const struct cw_analysis *analysis) {
    if (cw_compare_answers(analysis)) return CW_EXIT_ANSWERED;
    cw_message(analysis->outings[0].outing.file, 0,
               analysis->compare.n_setups > 1 || !analysis->compare.n_told
                   ? "fewer than two setups have runs that tell a CdA: coast further, over a wider "
                     "range of speeds, more often"
                   : "only one setup has runs: try another on the same road, and name both in "
                     "\"order\"");
    return CW_EXIT_DATA;
}

static enum cw_exit answer_all(const struct options *options, const struct cw_gathered *files) {
    struct cw_analysis analysis;
    /* The other forms hold the warnings themselves. */
    cw_analyse_begin(&analysis, options->csv, &options->reading);
    analysis.options.results = true;
    enum cw_exit status = cw_analyse_outings(&analysis, files->paths, files->n);
    if (status == CW_EXIT_ANSWERED) status = compare(&analysis, options);
    if (status == CW_EXIT_ANSWERED) {
        cw_analyse_set_clock(&analysis, options->utc_offset);
        status = write_answer(&analysis, options);
    }
    if (status == CW_EXIT_ANSWERED) status = judge(&analysis);
    status = cw_analyse_end(&analysis, files, status);
    cw_analysis_free(&analysis);
    return status;
}

static enum cw_exit answer_line(struct cw_analysis *analysis, char *const *path,
                                const void *options, struct cw_text *text) {
    struct cw_error error;
    analysis->options.results = true;
    enum cw_exit status = cw_analyse_outings(analysis, path, 1);
    if (status == CW_EXIT_ANSWERED) status = compare(analysis, options);
    if (status == CW_EXIT_ANSWERED && cw_report_compare_json(analysis, text, &error) < 0)
        status = cw_message_error(&error);
    return status == CW_EXIT_ANSWERED ? judge(analysis) : status;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct cw_gathered files;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (!cw_analyse_is_clock(command, options.utc_offset, &status)) return status;
    if (options.gates && !options.csv)
        return cw_usage_wrong(command,
                              "--gates goes with --csv; --all prints the times as a table");
    if (!cw_lines_one_form(command, options.json, options.csv, &options.lines, &status))
        return status;
    if (first == argc && !options.reading.files_from && !options.reading.from.n)
        return cw_usage_wrong(command,
                              "give an outing file; \"coastwise start RECORDING...\" begins one");
    status = cw_gather(argc - first, argv + first, &options.reading, CW_WANTED_OUTINGS, &files);
    if (status == CW_EXIT_ANSWERED)
        status = options.lines.json_lines ? cw_lines_write(command, &options, &options.reading,
                                                           &options.lines, &files, answer_line)
                                          : answer_all(&options, &files);
    cw_gathered_free(&files);
    return status;
}

const struct cw_command cw_command_compare = {
    .name = "compare",
    .arguments = "OUTING... | FOLDER...",
    .summary = "setups against each other, within and across outings",
    .description =
        "Says of every two setups which has the lower drag, by how much and how sure that is, or "
        "that these runs cannot tell and what it would take. A difference is in percent of the "
        "second setup's CdA, with its 95 % interval; p is adjusted for the number of comparisons "
        "(Holm). Seconds are the model's, over this road, from one entry speed in still air; "
        "where those measured between gates exclude them, they are the clock's.\n\nThen follows "
        "what that rests on (runs, order, air, how well CdA itself is known) and what could change "
        "it; then the setups, their differences, what these are worth in seconds, metres and "
        "watts, "
        "and the differences as they were measured, with no model; last the defaults that were "
        "used. --all adds the times of every run at the gates, each run among its fellows (a run "
        "marked with ! disagrees with them; chance is that of the largest of so many being that "
        "far "
        "off), how the runs scatter, what causes that are the same in all runs would do, and what "
        "these runs cannot tell apart. p is of the difference after the adjustment, p alone "
        "before.\n\nWhat the outing file notes of a stopwatch and a tape (time_s, runout_m) stands "
        "before the recorder's own. Its marks may be anywhere on the road, so that only "
        "differences "
        "between runs are like the recorder's; the answer gives the tape's, where runs are enough "
        "to judge it. With three runs or more, a value that differs from the recorder's by more "
        "than both can explain is named, with the two digits that may have been swapped, and left "
        "out until it is corrected or said to be less certain; so is a tape that was read back up "
        "the road. Where all runs began standing at "
        "one mark (start = mark) and speed is a wheel's, run-outs and gates are counted from "
        "there.\n\nWhere notes, an air log or a companion saw the wind too, it says how well each "
        "run's wind is known by that and how sure the answer would be without; what goes against "
        "the runs or tells nothing of them is named and not used.\n\nSetups "
        "of the same name in several outings are one setup. Differences within an outing are "
        "known best; where setups were ridden on different days only, what shifts a whole day "
        "widens their interval.\n\nWhat --json and --json-lines write holds each outing as it is "
        "compared. --from takes it from there, alone or beside outing files, without its "
        "recordings and to the same digits; only --drop cannot leave out runs of such an outing.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
