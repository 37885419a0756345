/* coastwise runs: the coasting runs found; those turned down, and why. */
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

#include "command.h"
#include "commands.h"
#include "load.h"
#include "output.h"

struct options {
    bool json, csv;
};

static const struct cw_option table[] = {
    CW_OPTIONS_FORMAT(struct options, "the runs"),
};

/* Runs were printed; what is amiss with them decides the status. An order that was never given is
 * no fault here: these runs are what it is written from. */
static enum cw_exit judge(const struct cw_loaded *loaded) {
    if (loaded->labelled < 0 && (loaded->outing.order_line || loaded->outing.n_skip))
        return cw_message_error(&loaded->label_error);
    size_t kept = 0;
    for (size_t i = 0; i < loaded->runs.n; i++) kept += loaded->runs.at[i].kept;
    enum cw_exit status = kept ? CW_EXIT_ANSWERED : cw_loaded_none(loaded);
    return status > loaded->left_out ? status : loaded->left_out;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {0};
    struct cw_loaded loaded;
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (options.json && options.csv) return cw_usage_wrong(command, "give --json or --csv");
    if (first == argc) return cw_usage_wrong(command, "give recordings or an outing file");
    status = cw_load(argv + first, (size_t)(argc - first), !options.json, &loaded);
    if (status != CW_EXIT_ANSWERED) goto cleanup;
    struct cw_runs_report report = cw_loaded_runs(&loaded);
    enum cw_status made = options.json  ? cw_report_runs_json(&report, &text, &error)
                          : options.csv ? cw_report_runs_csv(&report, &text, &error)
                                        : cw_report_runs_table(&report, &text, &error);
    status = made < 0 ? cw_message_error(&error) : cw_output_write(&text);
    if (status == CW_EXIT_ANSWERED) status = judge(&loaded);
cleanup:
    cw_text_free(&text);
    cw_loaded_free(&loaded);
    return status;
}

const struct cw_command cw_command_runs = {
    .name = "runs",
    .arguments = "RECORDING... | OUTING",
    .summary = "the coasting runs found; those turned down, and why",
    .description =
        "Finds the stretches of the recordings that were coasted downhill, without pedalling or "
        "braking, and prints them with their numbers; then those that looked like runs and were "
        "turned down, and why. Where neither cadence nor power tells that the legs were still, a "
        "run is told by its energy alone, and marked so.\n\nOf several recordings, one that can't "
        "be "
        "used is named and left out.\n\nWith an outing file, its recordings are searched, the runs "
        "that "
        "it skips are turned down, and each run kept is shown with its setup.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
