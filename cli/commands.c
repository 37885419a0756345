#include "commands.h"

#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "outing/keys.h"
#include "output.h"

/* The table of commands. */
static const struct cw_command *const commands[] = {
    &cw_command_start,    &cw_command_runs,    &cw_command_fit,  &cw_command_compare,
    &cw_command_explain,  &cw_command_predict, &cw_command_plan, &cw_command_report,
    &cw_command_simulate, &cw_command_help,
};
#define COMMANDS (sizeof commands / sizeof *commands)

const struct cw_command *const *cw_commands(size_t *n) {
    *n = COMMANDS;
    return commands;
}

const struct cw_command *cw_command_find(const char *name) {
    for (size_t i = 0; i < COMMANDS; i++)
        if (!strcmp(commands[i]->name, name)) return commands[i];
    return NULL;
}

enum cw_exit cw_command_unknown(const char *name) {
    const char *names[COMMANDS];
    for (size_t i = 0; i < COMMANDS; i++) names[i] = commands[i]->name;
    char guess[CW_GUESS_TEXT];
    if (!access(name, F_OK)) {
        size_t length = strlen(name), ini = strlen(".ini");
        bool outing = length > ini && !strcmp(name + length - ini, ".ini");
        struct cw_text typed = {0};
        cw_text_add(&typed, "coastwise %s ", outing ? "compare" : "start");
        cw_text_add_word(&typed, name);
        cw_message(name, 0, "is no command; give one before it, such as: %s",
                   typed.bytes ? typed.bytes : "");
        cw_text_free(&typed);
        return CW_EXIT_USAGE;
    }
    cw_message(NULL, 0, "unknown command \"%s\"%s; see \"coastwise help\"", name,
               cw_guess(name, names, COMMANDS, ", the nearest is \"", "\"", guess));
    return CW_EXIT_USAGE;
}
