/* Anything at all as a command line, a word a line: options are read or refused, for every command,
 * and nothing is run. Built as a fuzzer with -Dfuzz=true, and by replay.c for every test run. */
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands.h"
#include "options.h"

enum { WORDS_MOST = 40, TEXT_MOST = 4000, VALUES_MOST = 1 << 16 };

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

/* What they say is of no interest here. */
static void hush(void) {
    int nowhere = open("/dev/null", O_WRONLY);
    dup2(nowhere, STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
}

static void check_numbers(const struct cw_command *command, const char *values) {
    for (size_t i = 0; i < command->n_options; i++) {
        const struct cw_option *option = &command->options[i];
        if (option->kind != CW_OPTION_NUMBER || option->key) continue;
        double number;
        memcpy(&number, values + option->offset, sizeof number);
        promise(number == 0 || (number >= option->low && number <= option->high));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    static bool hushed;
    char text[TEXT_MOST + 1], *words[WORDS_MOST + 2] = {"command"};
    size_t n, count = 1;
    if (length > TEXT_MOST) return 0;
    if (!hushed) hush();
    hushed = true;
    if (length) memcpy(text, bytes, length);
    text[length] = '\0';
    for (char *word = text; word && count <= WORDS_MOST;) {
        char *end = strchr(word, '\n');
        if (end) *end++ = '\0';
        words[count++] = word;
        word = end;
    }
    const struct cw_command *const *commands = cw_commands(&n);
    for (size_t i = 0; i < n; i++) {
        char *values = calloc(1, VALUES_MOST), *argv[WORDS_MOST + 2];
        int first = 0;
        enum cw_exit status;
        if (!values) return 0;
        memcpy(argv, words, sizeof argv);
        if (cw_options_read(commands[i], (int)count, argv, values, &first, &status)) {
            promise(first >= 1 && first <= (int)count);
            check_numbers(commands[i], values);
        }
        free(values);
    }
    return 0;
}
