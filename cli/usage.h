/* What help says of a command, and of all. */
#ifndef CW_CLI_USAGE_H
#define CW_CLI_USAGE_H

#include "base/text.h"
#include "command.h"

/* "usage: coastwise runs [--json] ... RECORDING... | OUTING", what the command does and all its
 * options. */
void cw_usage_add(struct cw_text *text, const struct cw_command *command);
/* What an option means, with the words that it may be: "... as SVG: setups, road or budget". */
void cw_usage_add_meaning(struct cw_text *text, const struct cw_option *option);
/* "setups, road or budget" */
void cw_usage_add_choices(struct cw_text *text, const struct cw_option *option);
/* The i-th, from 0, of the words that an option may be; NULL behind the last, or where any will do.
 */
const char *cw_usage_choice(const struct cw_option *option, size_t i);
/* The list of commands. */
void cw_usage_add_all(struct cw_text *text);

#endif
