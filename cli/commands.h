/* Every command, defined in the file of its name. */
#ifndef CW_CLI_COMMANDS_H
#define CW_CLI_COMMANDS_H

#include "command.h"

extern const struct cw_command cw_command_predict;
extern const struct cw_command cw_command_start;
extern const struct cw_command cw_command_plan;
extern const struct cw_command cw_command_report;
extern const struct cw_command cw_command_runs;
extern const struct cw_command cw_command_fit;
extern const struct cw_command cw_command_compare;
extern const struct cw_command cw_command_explain;
extern const struct cw_command cw_command_simulate;
extern const struct cw_command cw_command_help;

/* The table, in the order of the manual; *n is its length. */
const struct cw_command *const *cw_commands(size_t *n);
/* The command of that name, or NULL. */
const struct cw_command *cw_command_find(const char *name);

/* Says that there is no such command and which is nearest; returns CW_EXIT_USAGE. */
enum cw_exit cw_command_unknown(const char *name);

#endif
