#include "options.h"

#include <getopt.h>
#include <stdarg.h>
#include <stdbool.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "outing/keys.h"
#include "output.h"
#include "usage.h"

#define OPTIONS_MAX 128

/* getopt_long's answer for option i; above every letter. */
#define LONG_ONLY(i) (256 + (int)(i))

enum cw_exit cw_usage_wrong(const struct cw_command *command, const char *format, ...) {
    char message[512];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(message, sizeof message, format, arguments);
    va_end(arguments);
    cw_message(NULL, 0, "%s: %s; see \"coastwise help %s\"", command->name, message, command->name);
    return CW_EXIT_USAGE;
}

static void unknown_option(const struct cw_command *command, const char *given) {
    const char *names[OPTIONS_MAX + 1];
    size_t n = 0;
    char name[64], guess[CW_GUESS_TEXT];
    for (; n < command->n_options; n++) names[n] = command->options[n].name;
    names[n++] = "help";
    cw_print(name, sizeof name, "%.*s", (int)strcspn(given, "="), given);
    if (given[0] == '-' && given[1] == '-')
        cw_usage_wrong(command, "unknown option \"%s\"%s", name,
                       cw_guess(name + 2, names, n, ", the nearest is \"--", "\"", guess));
    else
        cw_usage_wrong(command, "unknown option \"%s\"", name);
}

static bool is_choice(const struct cw_option *option, const char *argument) {
    const char *choice = cw_usage_choice(option, 0);
    for (size_t i = 1; choice && strcmp(choice, argument) != 0; i++)
        choice = cw_usage_choice(option, i);
    return choice != NULL;
}

static void refuse_choice(const struct cw_command *command, const struct cw_option *option,
                          const char *argument) {
    struct cw_text choices = {0};
    cw_usage_add_choices(&choices, option);
    cw_usage_wrong(command, "--%s is \"%.100s\": give %s", option->name, argument,
                   choices.bytes ? choices.bytes : "another");
    cw_text_free(&choices);
}

static bool add_text(const struct cw_command *command, const struct cw_option *option,
                     const char *argument, struct cw_option_texts *texts) {
    if (texts->n == CW_OPTION_TEXTS_MOST) {
        cw_usage_wrong(command, "--%s is given more than %d times", option->name,
                       CW_OPTION_TEXTS_MOST);
        return false;
    }
    texts->at[texts->n++] = argument;
    return true;
}

/* One option's value into its field; false when it is wrong, which is said. */
static bool set(const struct cw_command *command, const struct cw_option *option,
                const char *argument, void *values) {
    void *field = (char *)values + option->offset;
    double number, low = option->low, high = option->high;
    long count;
    const struct cw_outing_key *key =
        option->key ? cw_outing_key_find(option->section, option->key) : NULL;
    if (key) {
        low = key->low;
        high = key->high;
    }
    switch (option->kind) {
    case CW_OPTION_FLAG:
    case CW_OPTION_OFF:
        *(bool *)field = option->kind == CW_OPTION_FLAG;
        return true;
    case CW_OPTION_TEXT:
        if (cw_usage_choice(option, 0) && !is_choice(option, argument)) {
            refuse_choice(command, option, argument);
            return false;
        }
        *(const char **)field = argument;
        return true;
    case CW_OPTION_TEXTS:
        return add_text(command, option, argument, field);
    case CW_OPTION_NUMBER:
        if (cw_number_read(argument, strlen(argument), &number) && number >= low &&
            number <= high) {
            *(double *)field = number;
            return true;
        }
        break;
    case CW_OPTION_COUNT:
        if (cw_integer_read(argument, strlen(argument), &count) && (double)count >= option->low &&
            (double)count <= option->high) {
            *(long *)field = count;
            return true;
        }
        break;
    }
    cw_usage_wrong(command, "--%s is \"%.100s\": give a %snumber from %.10g to %.10g", option->name,
                   argument, option->kind == CW_OPTION_COUNT ? "whole " : "", low, high);
    return false;
}

/* The table in getopt's two forms. */
static void forms(const struct cw_command *command, struct option *longs, char *shorts) {
    size_t n = 0;
    *shorts++ = ':'; /* tell a missing argument from an unknown option */
    for (size_t i = 0; i < command->n_options; i++) {
        const struct cw_option *option = &command->options[i];
        bool flag = !option->argument;
        longs[n++] = (struct option){option->name, flag ? no_argument : required_argument, NULL,
                                     LONG_ONLY(i)};
        if (!option->letter) continue;
        *shorts++ = option->letter;
        if (!flag) *shorts++ = ':';
    }
    *shorts++ = 'h';
    *shorts = '\0';
    longs[n++] = (struct option){"help", no_argument, NULL, 'h'};
    longs[n] = (struct option){0};
}

static const struct cw_option *answered(const struct cw_command *command, int answer) {
    for (size_t i = 0; i < command->n_options; i++)
        if (answer == LONG_ONLY(i) || answer == command->options[i].letter)
            return &command->options[i];
    return NULL;
}

bool cw_options_read(const struct cw_command *command, int argc, char **argv, void *values,
                     int *first, enum cw_exit *status) {
    struct option longs[OPTIONS_MAX + 2];
    char shorts[2 * OPTIONS_MAX + 4];
    if (command->n_options > OPTIONS_MAX) {
        *status = cw_usage_wrong(command, "has too many options");
        return false;
    }
    forms(command, longs, shorts);
    opterr = 0;
    optind = 1;
    *status = CW_EXIT_USAGE;
    for (;;) {
        int at = optind, answer = getopt_long(argc, argv, shorts, longs, NULL);
        if (answer == -1) break;
        if (answer == 'h') {
            struct cw_text text = {0};
            cw_usage_add(&text, command);
            *status = cw_output_write(&text);
            return false;
        }
        if (answer == '?' || answer == ':') {
            /* A bundle of letters (-ab) leaves optind where it was. */
            const char *given = argv[optind > at ? optind - 1 : optind];
            const struct cw_option *known = optopt ? answered(command, optopt) : NULL;
            if (answer == ':')
                cw_usage_wrong(command, "\"%s\" needs a value", given);
            else if (known || optopt == 'h')
                cw_usage_wrong(command, "\"%s\" takes no value", given);
            else
                unknown_option(command, given);
            return false;
        }
        if (!set(command, answered(command, answer), optarg, values)) return false;
    }
    *first = optind;
    return true;
}
