/* coastwise report: one page to keep and show, or one of its pictures. */
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "analyse.h"
#include "analysis/inputs.h"
#include "base/version.h"
#include "commands.h"
#include "gather.h"
#include "options.h"
#include "output.h"
#include "page/page.h"
#include "page/room.h"
#include "picture/names.h"
#include "picture/picture.h"

#define OUTINGS_MOST 1000

struct options {
    const char *output, *picture;
    const char *reference, *utc_offset, *units;
    long outing;
    bool force, drop;
    struct cw_files_options reading;
};

static const struct cw_option table[] = {
    {.name = "output",
     .letter = 'o',
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, output),
     .argument = "PAGE.html|PICTURE.svg",
     .meaning = "write the page, or the picture, there; \"-\" is standard output"},
    {.name = "force",
     .kind = CW_OPTION_FLAG,
     .offset = offsetof(struct options, force),
     .meaning = "write over what is there even where it is no page or picture made by coastwise; "
                "never over "
                "what was read"},
    {.name = "picture",
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, picture),
     .argument = "NAME",
     .meaning = "write one picture alone, as SVG",
     .choices = cw_picture_names},
    {.name = "outing",
     .kind = CW_OPTION_COUNT,
     .offset = offsetof(struct options, outing),
     .argument = "N",
     .low = 1,
     .high = OUTINGS_MOST,
     .meaning = "the picture of the N-th outing file; the first where it is not given"},
    CW_OPTION_REFERENCE(struct options),
    CW_OPTION_DROP(struct options),
    CW_OPTION_CLOCK(struct options),
    CW_OPTION_UNITS(struct options),
    CW_OPTIONS_READING(struct options, "outing files"),
};

static bool is_standard(const char *path) {
    return !strcmp(path, "-");
}

/* What is asked for: the page, or a picture alone. */
struct wanted {
    const char *output;
    const struct cw_picture *picture; /* NULL: the page */
    const char *outing;               /* whose picture */
    const char *utc_offset;
    enum cw_units units;
    struct cw_analysis_compare_options compare;
    bool force;
};

/* The place of an outing file among those that can be used; false, said, where it is none. */
static bool find_outing(const struct cw_analysis *analysis, const char *file, size_t *outing) {
    for (*outing = 0; *outing < analysis->n; ++*outing)
        if (!strcmp(analysis->outings[*outing].outing.file, file)) return true;
    cw_message(file, 0, "was left out and has no picture");
    return false;
}

/* Makes what is asked for of an analysis that is fitted. */
static enum cw_exit make(struct cw_analysis *analysis, const struct wanted *wanted,
                         const struct cw_page_origin *origin) {
    struct cw_text text = {0};
    struct cw_error error;
    size_t outing = 0;
    if (wanted->picture && !find_outing(analysis, wanted->outing, &outing))
        return cw_exit_of(analysis->left_out);
    if ((cw_analysis_has_setups(analysis) &&
         cw_analysis_compare(analysis, &wanted->compare, &error) < 0) ||
        cw_analysis_time(analysis, &error) < 0 || cw_analysis_explain(analysis, &error) < 0)
        return cw_message_error(&error);
    cw_progress_end();
    enum cw_status made = wanted->picture
                              ? cw_picture_add(wanted->picture, analysis, outing, true,
                                               wanted->units, "", &text, &error)
                              : cw_page_add(analysis, wanted->units, origin, &text, &error);
    if (made >= 0)
        return is_standard(wanted->output) ? cw_output_write(&text)
                                           : cw_output_write_file(wanted->output, &text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* argv as the shell gave it: options are moved to the front, which changes nothing. */
static enum cw_exit report(const struct wanted *wanted, const struct cw_files_options *reading,
                           int argc, char **argv, const struct cw_gathered *files) {
    struct cw_analysis analysis;
    struct cw_analysis_input *inputs = NULL;
    struct cw_page_origin origin = {.version = cw_version(), .n_arguments = (size_t)argc + 1};
    struct cw_error error;
    const char **arguments = calloc((size_t)argc + 1, sizeof *arguments);
    cw_analyse_begin(&analysis, false, reading);
    if (!arguments) {
        cw_error_memory(&error);
        return cw_message_error(&error);
    }
    enum cw_exit status = cw_analyse_outings(&analysis, files->paths, files->n);
    if (status != CW_EXIT_ANSWERED) goto cleanup;
    if (cw_analysis_reads(&analysis, wanted->output)) {
        cw_message(wanted->output, 0,
                   "is read by this outing and is not written over: give another name "
                   "for the output");
        status = CW_EXIT_USAGE;
        goto cleanup;
    }
    /* What an outing that was left out would have read is not known to the analysis. */
    bool looks = !wanted->force || analysis.left_out != CW_OK;
    if (looks && !is_standard(wanted->output) && cw_page_check_room(wanted->output, &error) < 0) {
        cw_message_error(&error);
        status = CW_EXIT_OUTPUT;
        goto cleanup;
    }
    if (cw_analysis_list_inputs(&analysis, &inputs, &origin.n_inputs, &error) < 0) {
        status = cw_message_error(&error);
        goto cleanup;
    }
    arguments[0] = "coastwise";
    for (int i = 0; i < argc; i++) arguments[i + 1] = argv[i];
    origin.arguments = arguments;
    origin.inputs = inputs;
    cw_analyse_set_clock(&analysis, wanted->utc_offset);
    status = make(&analysis, wanted, &origin);
cleanup:
    free(arguments);
    free(inputs);
    status = cw_analyse_end(&analysis, files, status);
    cw_analysis_free(&analysis);
    return status;
}

/* The files once they are known. */
static enum cw_exit choose(const struct cw_command *command, const struct options *options,
                           const struct cw_gathered *files, struct wanted *wanted) {
    size_t outing = options->outing ? (size_t)options->outing - 1 : 0;
    if (outing >= files->n)
        return cw_usage_wrong(command, "--outing is %ld, but there %s %zu outing %s",
                              options->outing, files->n == 1 ? "is" : "are", files->n,
                              files->n == 1 ? "file" : "files");
    wanted->outing = files->paths[outing];
    return CW_EXIT_ANSWERED;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct wanted wanted = {0};
    struct cw_gathered files;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (!cw_analyse_is_clock(command, options.utc_offset, &status)) return status;
    if (first == argc && !options.reading.files_from)
        return cw_usage_wrong(command,
                              "give an outing file; \"coastwise start RECORDING...\" begins one");
    if (!options.output)
        return cw_usage_wrong(command, "name the page that is written: -o PAGE.html");
    if (!*options.output) return cw_usage_wrong(command, "-o has no name: give one");
    wanted.output = options.output;
    wanted.force = options.force;
    wanted.utc_offset = options.utc_offset;
    wanted.units = cw_output_look_in(options.units).units;
    wanted.compare.reference = options.reference;
    wanted.compare.drop_outliers = options.drop;
    if (options.picture) wanted.picture = cw_picture_named(options.picture);
    if (options.outing && !wanted.picture)
        return cw_usage_wrong(command, "--outing goes with --picture: a page has all outings");
    status = cw_gather(argc - first, argv + first, &options.reading, CW_WANTED_OUTINGS, &files);
    if (status == CW_EXIT_ANSWERED) status = choose(command, &options, &files, &wanted);
    if (status == CW_EXIT_ANSWERED) status = report(&wanted, &options.reading, argc, argv, &files);
    cw_gathered_free(&files);
    return status;
}

const struct cw_command cw_command_report = {
    .name = "report",
    .arguments = "OUTING... | FOLDER...",
    .summary = "one page with pictures, to keep and show",
    .description =
        "Fits and compares the outings and writes one page of HTML: the answer in a sentence, "
        "pictures, tables, and how it was worked out. The page holds everything within itself: it "
        "opens from disk, prints, and loads nothing from anywhere. At its end stand the version, "
        "the command and the checksums (SHA-256) of what was read, so that it can be made "
        "again.\n\nThe file appears whole or not at all. Nothing that was read is written over, "
        "nor, without "
        "--force, anything but an earlier page or picture.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
