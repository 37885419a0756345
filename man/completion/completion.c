/* Prints the script that completes coastwise's command line in a shell.
 *
 * usage: completion SHELL        SHELL is bash, fish or zsh */
#include "completion.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *shell;
    void (*add)(struct cw_text *script);
} shells[] = {{"bash", cw_completion_add_bash},
              {"fish", cw_completion_add_fish},
              {"zsh", cw_completion_add_zsh}};

int main(int argc, char **argv) {
    struct cw_text script = {0};
    for (size_t i = 0; argc == 2 && i < sizeof shells / sizeof *shells; i++)
        if (!strcmp(shells[i].shell, argv[1])) shells[i].add(&script);
    bool fine = script.bytes && !script.failed;
    if (fine)
        fine = fputs(script.bytes, stdout) >= 0 && !fflush(stdout);
    else
        fprintf(stderr, "usage: completion bash|fish|zsh\n");
    cw_text_free(&script);
    return fine ? 0 : 1;
}
