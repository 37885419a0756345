/* The command line as it is run on an outing in a directory, and what it leaves there. */
#ifndef CW_STUDY_WORLD_PROGRAM_H
#define CW_STUDY_WORLD_PROGRAM_H

#include <jansson.h>

/* An allocated path; NULL without memory. */
char *program_path(const char *directory, const char *name);

/* The program's exit status; -1 when it was killed or could not be run. What it wrote is in
 * COMMAND.json and COMMAND.err. */
int program_run(const char *program, const char *command, const char *directory);
json_t *program_answer(const char *command, const char *directory);
/* What it complained of first, without the file's name and with # for every number, so that the
 * same complaint reads the same. */
void program_complaint(const char *command, int status, const char *directory, char why[160]);

/* Removes a directory and the files in it. */
void program_clear(const char *directory);

#endif
