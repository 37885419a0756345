/* coastwise help: what a command does, and its options. */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "usage.h"

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct cw_text text = {0};
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, NULL, &first, &status)) return status;
    if (argc - first > 1) return cw_usage_wrong(command, "takes one command");
    if (first == argc) {
        cw_usage_add_all(&text);
    } else {
        const struct cw_command *about = cw_command_find(argv[first]);
        if (!about) return cw_command_unknown(argv[first]);
        cw_usage_add(&text, about);
    }
    return cw_output_write(&text);
}

const struct cw_command cw_command_help = {
    .name = "help",
    .arguments = "[COMMAND]",
    .summary = "what a command does, and its options",
    .description = "Shows what there is to ask, or what COMMAND does and its options.",
    .run = run,
};
