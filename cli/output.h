/* What the program says: answers on standard output, messages and progress on standard error. */
#ifndef CW_CLI_OUTPUT_H
#define CW_CLI_OUTPUT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "command.h"
#include "report/look.h"

/* Called first: a file too large then becomes a message and status 4, a closed pipe ends nothing
 * before an answer goes into it, and a file never takes the place of a standard stream that the
 * caller closed. What is not CW_EXIT_ANSWERED is the program's exit status. */
enum cw_exit cw_output_begin(void);

/* How standard output shows text: as wide as COLUMNS or the terminal says, else 80; UTF-8 where the
 * locale has it. */
struct cw_look cw_output_look(void);
/* The same in units by their name: one of cw_output_units; NULL is metric. */
extern const char *const cw_output_units[];
struct cw_look cw_output_look_in(const char *units);

/* Writes text to standard output and frees it. CW_EXIT_OUTPUT, said, when it cannot be written
 * whole; CW_EXIT_INPUT when memory ran out while it was made. Into a pipe that nobody reads any
 * more the program ends by SIGPIPE, silently. */
enum cw_exit cw_output_write(struct cw_text *text);

/* The same to a file, which appears whole or not at all, also where an interrupt comes meanwhile.
 */
enum cw_exit cw_output_write_file(const char *path, struct cw_text *text);

/* "coastwise: FILE:LINE: message"; file NULL or empty and line 0 are left out. */
void cw_message(const char *file, long line, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* What cw_message says in this thread goes, a line each, into text until it is called again; NULL:
 * to standard error, as at first. Meanwhile there is no progress. */
void cw_message_into(struct cw_text *text);
bool cw_message_is_held(void);
/* Says lines that were held. */
void cw_message_write(const struct cw_text *lines);
/* The exit status that a status of the library stands for. */
enum cw_exit cw_exit_of(enum cw_status status);
/* Writes text on standard error, and frees it; returns status, or that of missing memory. */
enum cw_exit cw_output_explain(struct cw_text *text, enum cw_exit status);

/* Says the error; returns the exit status of its code. */
enum cw_exit cw_message_error(const struct cw_error *error);

/* "reading 3 of 12, 2 min left: FILE" in one line that the next message or cw_progress_end wipes
 * out; nothing unless standard error is a terminal. What is left is reckoned from what the items of
 * that name took so far. */
void cw_progress(const char *what, size_t i, size_t n, const char *file);
void cw_progress_end(void);

#endif
