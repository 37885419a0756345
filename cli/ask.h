/* What only the rider knows, asked for on a terminal. */
#ifndef CW_CLI_ASK_H
#define CW_CLI_ASK_H

#include <stdbool.h>

#include "command.h"
#include "start/start.h"

/* Whether there is somebody to ask: standard input and standard error are terminals. */
bool cw_ask_can(void);

/* Asks for the masses that are not known yet, and for local time where nothing says its offset;
 * what is answered goes into start->said. Here and below: CW_EXIT_ANSWERED, or, said, CW_EXIT_INPUT
 * where the answers end. An empty answer leaves a thing out. */
enum cw_exit cw_ask_masses(struct cw_starting *start);
/* Asks for the setups, shows the runs and asks for the setup of each. */
enum cw_exit cw_ask_setups(struct cw_starting *start);
/* Asks for temperature and pressure, and which pressure it is. */
enum cw_exit cw_ask_air(struct cw_starting *start);

#endif
