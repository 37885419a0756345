/* coastwise: the command line. */
#include <stdio.h>
#include <string.h>

#include "base/version.h"
#include "commands.h"
#include "output.h"
#include "usage.h"

static enum cw_exit run(int argc, char **argv) {
    struct cw_text text = {0};
    enum cw_exit status = cw_output_begin();
    if (status != CW_EXIT_ANSWERED) return status;
    if (argc < 2) {
        cw_usage_add_all(&text);
        return cw_output_explain(&text, CW_EXIT_USAGE);
    }
    if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h")) {
        cw_usage_add_all(&text);
        return cw_output_write(&text);
    }
    if (!strcmp(argv[1], "--version") || !strcmp(argv[1], "-V")) {
        cw_text_add(&text, "coastwise %s\n", cw_version());
        return cw_output_write(&text);
    }
    const struct cw_command *command = cw_command_find(argv[1]);
    if (!command) return cw_command_unknown(argv[1]);
    return command->run(command, argc - 1, argv + 1);
}

int main(int argc, char **argv) {
    return (int)run(argc, argv);
}
