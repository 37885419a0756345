/* Answers of many files, each by itself: a line of JSON each, as it comes. */
#ifndef CW_CLI_LINES_H
#define CW_CLI_LINES_H

#include "analysis/analysis.h"
#include "base/text.h"
#include "command.h"
#include "gather.h"

/* Adds the answer of one file as JSON, or says why there is none; the status that the command would
 * leave with. Called in any thread with an analysis of its own, which has been begun and is freed
 * behind it. */
typedef enum cw_exit cw_line_answer(struct cw_analysis *analysis, char *const *path,
                                    const void *options, struct cw_text *text);

/* The rows of --json-lines and --keep: struct cw_lines_options lines of a command's options. */
struct cw_lines_options {
    bool json_lines;
    const char *keep;
};

#define CW_OPTION_LINES(options, member, ...)                                                      \
    { .offset = offsetof(options, lines) + offsetof(struct cw_lines_options, member), __VA_ARGS__ }
#define CW_OPTIONS_LINES(options, files)                                                           \
    CW_OPTION_LINES(options, json_lines, .name = "json-lines", .kind = CW_OPTION_FLAG,             \
                    .meaning = "take each " files " by itself and write its JSON as one line, as " \
                               "it comes"),                                                        \
        CW_OPTION_LINES(options, keep, .name = "keep", .kind = CW_OPTION_TEXT,                     \
                        .argument = "FOLDER",                                                      \
                        .meaning = "keep each line in FOLDER, and take it from there as long as "  \
                                   "the files, the options and coastwise are the same")

/* False, with the status, where more than one form is asked for, or lines kept that are not made.
 */
bool cw_lines_one_form(const struct cw_command *command, bool json, bool csv,
                       const struct cw_lines_options *lines, enum cw_exit *status);

/* Files in their order, with as many threads as the options say; what is said of a file is said
 * when its line is written. The gravest status of all. command's options are those that answer
 * hangs on. */
enum cw_exit cw_lines_write(const struct cw_command *command, const void *options,
                            const struct cw_files_options *reading,
                            const struct cw_lines_options *lines, const struct cw_gathered *files,
                            cw_line_answer *answer);

#endif
