/* coastwise fit: CdA and Crr, run by run, alone and together. */
#include <stdbool.h>
#include <stddef.h>

#include "analyse.h"
#include "commands.h"
#include "gather.h"
#include "lines.h"
#include "options.h"
#include "output.h"
#include "report/fit_report.h"

struct options {
    bool json, csv, all;
    const char *units;
    struct cw_files_options reading;
    struct cw_lines_options lines;
};

static const struct cw_option table[] = {
    {.name = "all",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, all),
     .meaning = "print each run fitted alone, the noise, the air and the error budget too"},
    CW_OPTIONS_FORMAT(struct options, "the runs"),
    CW_OPTION_UNITS(struct options),
    CW_OPTIONS_LINES(struct options, "outing"),
    CW_OPTIONS_READING(struct options, "outing files"),
};

static enum cw_exit fit(struct cw_analysis *analysis, char *const *paths, size_t n) {
    struct cw_error error;
    enum cw_exit status = cw_analyse_outings(analysis, paths, n);
    if (status == CW_EXIT_ANSWERED && cw_analysis_average(analysis, &error) < 0)
        status = cw_message_error(&error);
    return status;
}

static enum cw_exit write_answer(const struct cw_analysis *analysis,
                                 const struct options *options) {
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_look look = cw_output_look_in(options->units);
    enum cw_status made = options->json ? cw_report_fit_json(analysis, &text, &error)
                          : options->csv
                              ? cw_report_fit_csv(analysis, &text, &error)
                              : cw_report_fit_table(analysis, options->all, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What was printed answers nothing where no run's CdA is known. */
static enum cw_exit judge(const struct cw_analysis *analysis) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    for (size_t i = 0; i < analysis->n; i++) {
        const struct cw_analysed *of = &analysis->outings[i];
        if (cw_fit_answers(of)) continue;
        cw_message(of->outing.file, 0,
                   "these runs tell no CdA: coast further, over a wider range of speeds, more "
                   "often%s",
                   of->fit.crr_given ? "" : ", or give Crr in [rolling]");
        status = CW_EXIT_DATA;
    }
    return status;
}

static enum cw_exit answer_all(const struct options *options, const struct cw_gathered *files) {
    struct cw_analysis analysis;
    /* The other forms hold the warnings themselves. */
    cw_analyse_begin(&analysis, options->csv, &options->reading);
    enum cw_exit status = fit(&analysis, files->paths, files->n);
    if (status == CW_EXIT_ANSWERED) status = write_answer(&analysis, options);
    if (status == CW_EXIT_ANSWERED) status = judge(&analysis);
    status = cw_analyse_end(&analysis, files, status);
    cw_analysis_free(&analysis);
    return status;
}

static enum cw_exit answer_line(struct cw_analysis *analysis, char *const *path,
                                const void *options, struct cw_text *text) {
    struct cw_error error;
    enum cw_exit status = fit(analysis, path, 1);
    (void)options;
    if (status == CW_EXIT_ANSWERED && cw_report_fit_json(analysis, text, &error) < 0)
        status = cw_message_error(&error);
    return status == CW_EXIT_ANSWERED ? judge(analysis) : status;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct cw_gathered files;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (!cw_lines_one_form(command, options.json, options.csv, &options.lines, &status))
        return status;
    if (first == argc && !options.reading.files_from)
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

const struct cw_command cw_command_fit = {
    .name = "fit",
    .arguments = "OUTING... | FOLDER...",
    .summary = "CdA and Crr, run by run, alone and together",
    .description =
        "Fits drag area and rolling coefficient to the runs of each outing and prints them with "
        "standard errors and 95 % intervals, each interval also drawn on a common scale: thick "
        "what noise alone leaves open, thin with what shifts all runs alike (mass, air, mean wind, "
        "heights). First stands what that rests on, what kind of ride it was, where its runs have "
        "no setups, how well heights like these tell CdA itself, and what could change the answer; "
        "then setups and runs.\n\n"
        "Together, all runs of an outing are fitted at once: they share the road's heights and, on "
        "the same tyres, Crr. Alone, a run is fitted on its own recorded heights. What the runs "
        "cannot tell is said in words, not printed as a number. Last stand the defaults that were "
        "used.\n\n--all adds the runs alone, the noise that was found (gusts, drift and scatter of "
        "heights, scatter of speeds and positions), the air, and what causes that no run can show "
        "would do.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
