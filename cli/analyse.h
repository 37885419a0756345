/* What commands that answer from outings begin with: an analysis that tells this program's user
 * what it does and what to mind. */
#ifndef CW_CLI_ANALYSE_H
#define CW_CLI_ANALYSE_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "command.h"
#include "gather.h"

/* Warnings about recordings are said where say_warnings: a form of output that holds them itself
 * does without. */
void cw_analyse_begin(struct cw_analysis *analysis, bool say_warnings,
                      const struct cw_files_options *reading);

/* So many threads as --threads asks for, or one for each processor. */
size_t cw_analyse_threads(const struct cw_files_options *reading);

/* Opens outing files, finds their runs and fits them; of several, those that cannot be used are
 * said and left out, which decides the exit status in the end (cw_analyse_end). CW_EXIT_ANSWERED,
 * or the status to leave with after saying why. Free the analysis either way. */
enum cw_exit cw_analyse_outings(struct cw_analysis *analysis, char *const *paths, size_t n);

/* Whether --utc-offset, given as text, is an offset (or NULL); what is wrong with it is said. */
bool cw_analyse_is_clock(const struct cw_command *command, const char *utc_offset,
                         enum cw_exit *status);
/* Has clock times shown with that offset, whatever outing files and recordings say; NULL: as they
 * do. */
void cw_analyse_set_clock(struct cw_analysis *analysis, const char *utc_offset);

/* Says why an outing's runs will not do, below the list of them; returns the error's exit status.
 */
enum cw_exit cw_analyse_refuse(const struct cw_analysed *of, const struct cw_error *error);

/* CW_EXIT_ANSWERED where some run has a setup; else says how runs and order of the first outing
 * stand. */
enum cw_exit cw_analyse_need_setups(const struct cw_analysis *analysis);

/* Sets the setups of fitted outings against each other, times their runs and explains the
 * differences. CW_EXIT_ANSWERED, or the status to leave with after saying why. */
enum cw_exit cw_analyse_compare(struct cw_analysis *analysis,
                                const struct cw_analysis_compare_options *how);

/* The exit status of a command that is done with an analysis: its own, or a graver one of files
 * that were left out. */
enum cw_exit cw_analyse_end(const struct cw_analysis *analysis, const struct cw_gathered *files,
                            enum cw_exit status);

#endif
