/* Reading a command's options from its arguments. */
#ifndef CW_CLI_OPTIONS_H
#define CW_CLI_OPTIONS_H

#include <stdbool.h>

#include "command.h"

/* Reads the command's options from argv into *values, which holds the defaults, and moves the
 * arguments behind them. true: go on with argv[*first..argc). false: leave with *status, help
 * was asked for and given, or the usage is wrong and that was said. */
bool cw_options_read(const struct cw_command *command, int argc, char **argv, void *values,
                     int *first, enum cw_exit *status);

/* Says what is wrong in the use of a command and where to read on; returns CW_EXIT_USAGE. */
enum cw_exit cw_usage_wrong(const struct cw_command *command, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
