/* What several commands begin with: from arguments to recordings, motions and labelled runs. */
#ifndef CW_CLI_LOAD_H
#define CW_CLI_LOAD_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/label.h"
#include "base/error.h"
#include "command.h"
#include "fit/prepare.h"
#include "motion/motion.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "report/runs_report.h"
#include "runs/runs.h"

struct cw_loaded {
    bool has_outing;
    struct cw_outing outing;
    size_t n; /* recordings, and as many motions; a motion that could not be made has no samples */
    enum cw_exit left_out; /* the gravest fault of arguments that had to be left out */
    struct cw_recording *recordings;
    struct cw_motion *motions;
    struct cw_runs runs;
    size_t *setups;           /* each run's, CW_NO_SETUP for runs turned down; NULL: no outing */
    const char **setup_names; /* the same by name, NULL for CW_NO_SETUP */
    enum cw_status labelled;  /* whether skip and order fit the runs; else label_error says why */
    struct cw_error label_error;
    bool skip_failed; /* it was skip that did not fit */
};

/* Reads n arguments: recordings, or one outing file, told apart by content. Warnings about the
 * recordings are said where say_warnings. A recording that can't be used is said and left out while
 * others can be; not so in an outing, which is wrong then. CW_EXIT_ANSWERED, or the status to leave
 * with after saying why. Free with cw_loaded_free either way. */
enum cw_exit cw_load(char *const *arguments, size_t n, bool say_warnings, struct cw_loaded *loaded);
/* The same for one outing file. */
enum cw_exit cw_load_outing(const char *path, bool say_warnings, struct cw_loaded *loaded);

/* What cw_report_runs_... prints of it. */
struct cw_runs_report cw_loaded_runs(const struct cw_loaded *loaded);

/* For commands that need runs with their setups: CW_EXIT_ANSWERED when every run kept has one.
 * Otherwise (none kept, too) prints the runs and what does not match on standard error. */
enum cw_exit cw_loaded_check(const struct cw_loaded *loaded);

/* The same, but goes on where the outing file gives no order at all: the runs then have no setup.
 */
enum cw_exit cw_loaded_check_order(const struct cw_loaded *loaded);

/* What the fit works on. */
struct cw_fit_input cw_loaded_input(const struct cw_loaded *loaded);

/* Turns down run i of those found: it disagrees with its fellows. It keeps its number. */
void cw_loaded_drop(struct cw_loaded *loaded, size_t i);

/* Says that no run was kept, and what to do; returns CW_EXIT_DATA. */
enum cw_exit cw_loaded_none(const struct cw_loaded *loaded);

void cw_loaded_free(struct cw_loaded *loaded);

#endif
