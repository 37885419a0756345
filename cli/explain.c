/* coastwise explain: where the seconds and the metres came from. */
#include <stdbool.h>
#include <stddef.h>

#include "analyse.h"
#include "commands.h"
#include "gather.h"
#include "options.h"
#include "output.h"
#include "report/explain_report.h"

struct options {
    bool json, csv;
    const char *reference;
    const char *units;
    struct cw_files_options reading;
};

static const struct cw_option table[] = {
    CW_OPTIONS_FORMAT(struct options, "a line a pair of setups, quantity and cause"),
    CW_OPTION_REFERENCE(struct options),
    CW_OPTION_UNITS(struct options),
    CW_OPTIONS_READING(struct options, "outing files"),
};

static enum cw_exit explain(struct cw_analysis *analysis, const struct options *options) {
    struct cw_analysis_compare_options how = {.reference = options->reference};
    return cw_analyse_compare(analysis, &how);
}

static enum cw_exit write_answer(const struct cw_analysis *analysis,
                                 const struct options *options) {
    struct cw_look look = cw_output_look_in(options->units);
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_status made = options->json  ? cw_report_explain_json(analysis, &text, &error)
                          : options->csv ? cw_report_explain_csv(analysis, &text, &error)
                                         : cw_report_explain_table(analysis, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What was printed answers nothing where no two setups were timed and compared. */
static enum cw_exit judge(const struct cw_analysis *analysis) {
    if (cw_explain_answers(analysis)) return CW_EXIT_ANSWERED;
    cw_message(analysis->outings[0].outing.file, 0,
               "no two setups have runs that are timed between the same gates and tell a CdA, so "
               "there is no difference to explain; see \"coastwise compare\"");
    return CW_EXIT_DATA;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct cw_analysis analysis;
    struct cw_gathered files;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (options.json && options.csv) return cw_usage_wrong(command, "give --json or --csv");
    if (first == argc && !options.reading.files_from)
        return cw_usage_wrong(command,
                              "give an outing file; \"coastwise start RECORDING...\" begins one");
    status = cw_gather(argc - first, argv + first, &options.reading, CW_WANTED_OUTINGS, &files);
    cw_analyse_begin(&analysis, options.csv, &options.reading);
    if (status == CW_EXIT_ANSWERED) status = cw_analyse_outings(&analysis, files.paths, files.n);
    if (status == CW_EXIT_ANSWERED) status = explain(&analysis, &options);
    if (status == CW_EXIT_ANSWERED) status = write_answer(&analysis, &options);
    if (status == CW_EXIT_ANSWERED) status = judge(&analysis);
    status = cw_analyse_end(&analysis, &files, status);
    cw_analysis_free(&analysis);
    cw_gathered_free(&files);
    return status;
}

const struct cw_command cw_command_explain = {
    .name = "explain",
    .arguments = "OUTING... | FOLDER...",
    .summary = "where the seconds and the metres came from",
    .description =
        "Takes the measured difference between every two setups, of the times over the road and "
        "of the run-outs, and says what of it mass, drag, rolling, the air's density, the speed "
        "at the first gate and, as far as somebody saw it, wind have made, and what is left "
        "unexplained, each with its 95 % interval. The parts add up to the measured "
        "difference.\n\nA part is what the model of a descent, down the road that the runs have "
        "found, makes of that cause's change while all causes go together in small steps from the "
        "reference's runs to the setup's: no cause comes first, so that none hangs on an order, "
        "and where one thing alone differs all is that one's. Intervals hold what is not known of "
        "CdA and Crr together, of a load (0.1 kg), of the recordings' air and of the speeds at "
        "the gate; that of what is left is how much the runs' times scatter once each is allowed "
        "a drag of its own.\n\nWhere the road goes down and up again, the time to its lowest "
        "place and the time from there are divided likewise. Where a heavier setup rolled less "
        "far than its load should have made it, or a lighter one further, it says whether that "
        "is scatter, and what change of CdA or of Crr it would take.\n\nWhat a start that was "
        "faster, or a wind that nobody saw, made of the times is not held against a setup: "
        "\"coastwise compare\" says which has the lower drag.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
