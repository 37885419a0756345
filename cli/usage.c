#include "usage.h"

#include <stdbool.h>
#include <string.h>

#include "commands.h"

/* Adds words with line ends so that no line grows past 78 columns, each line indented. */
static void add_wrapped(struct cw_text *text, const char *words, size_t indent, size_t column) {
    while (*words) {
        size_t length = strcspn(words, " \n");
        if (column > indent && column + 1 + length > 78) {
            cw_text_add(text, "\n%*s", (int)indent, "");
            column = indent;
        }
        cw_text_add(text, "%s%.*s", column > indent ? " " : "", (int)length, words);
        column += length + (column > indent);
        words += length;
        if (!strncmp(words, "\n\n", 2)) {
            cw_text_add(text, "\n\n%*s", (int)indent, "");
            column = indent;
        }
        words += strspn(words, " \n");
    }
    cw_text_add(text, "\n");
}

static void add_form(struct cw_text *text, const struct cw_option *option) {
    if (option->letter)
        cw_text_add(text, "-%c, --%s", option->letter, option->name);
    else
        cw_text_add(text, "--%s", option->name);
    if (option->argument) cw_text_add(text, " %s", option->argument);
}

const char *cw_usage_choice(const struct cw_option *option, size_t i) {
    const char *name, *meaning;
    if (option->word) return option->word(i, &name, &meaning) ? name : NULL;
    return option->choices ? option->choices[i] : NULL;
}

void cw_usage_add_choices(struct cw_text *text, const struct cw_option *option) {
    const char *choice;
    for (size_t i = 0; (choice = cw_usage_choice(option, i)); i++)
        cw_text_add(text, "%s%s", !i ? "" : cw_usage_choice(option, i + 1) ? ", " : " or ", choice);
}

void cw_usage_add_meaning(struct cw_text *text, const struct cw_option *option) {
    cw_text_add(text, "%s", option->meaning);
    if (!option->choices) return;
    cw_text_add(text, ": ");
    cw_usage_add_choices(text, option);
}

/* The words that have a line of meaning each. */
static void add_words(struct cw_text *text, const struct cw_option *option, size_t indent) {
    const char *name, *meaning;
    int width = 0;
    for (size_t i = 0; option->word && option->word(i, &name, &meaning); i++)
        if ((int)strlen(name) > width) width = (int)strlen(name);
    for (size_t i = 0; option->word && option->word(i, &name, &meaning); i++) {
        cw_text_add(text, "%*s%-*s  ", (int)indent, "", width, name);
        size_t column = indent + (size_t)width + 2;
        add_wrapped(text, meaning, column, column);
    }
}

static size_t column_of(const struct cw_text *text) {
    size_t column = 0;
    while (column < text->length && text->bytes[text->length - 1 - column] != '\n') column++;
    return column;
}

static void add_usage(struct cw_text *text, const struct cw_command *command) {
    /* A command with many options has them below, not in its first line. */
    bool all = command->n_options <= 8;
    cw_text_add(text, "usage: coastwise %s%s", command->name, all ? "" : " [OPTION...]");
    for (size_t i = 0; all && i < command->n_options; i++) {
        const struct cw_option *option = &command->options[i];
        size_t length =
            strlen(option->name) + 6 + (option->argument ? strlen(option->argument) + 1 : 0);
        if (column_of(text) + length > 78) cw_text_add(text, "\n         ");
        cw_text_add(text, " [--%s%s%s]", option->name, option->argument ? " " : "",
                    option->argument ? option->argument : "");
    }
    if (column_of(text) + strlen(command->arguments) > 77) cw_text_add(text, "\n         ");
    cw_text_add(text, "%s%s\n", *command->arguments ? " " : "", command->arguments);
}

void cw_usage_add(struct cw_text *text, const struct cw_command *command) {
    add_usage(text, command);
    cw_text_add(text, "\n");
    add_wrapped(text, command->description, 0, 0);
    if (!command->n_options) return;
    cw_text_add(text, "\n");
    for (size_t i = 0; i < command->n_options; i++) {
        struct cw_text meaning = {0};
        cw_text_add(text, "  ");
        add_form(text, &command->options[i]);
        size_t column = column_of(text), indent = 26;
        if (column + 2 > indent) {
            cw_text_add(text, "\n");
            column = 0;
        }
        cw_text_add(text, "%*s", (int)(indent - column), "");
        cw_usage_add_meaning(&meaning, &command->options[i]);
        if (meaning.bytes) add_wrapped(text, meaning.bytes, indent, indent);
        if (meaning.failed) text->failed = true;
        cw_text_free(&meaning);
        add_words(text, &command->options[i], indent);
    }
}

void cw_usage_add_all(struct cw_text *text) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    cw_text_add(text, "usage: coastwise COMMAND [OPTION...] [ARGUMENT...]\n\n"
                      "Finds out what makes a bicycle faster, from recordings of coasting down an\n"
                      "ordinary hill, or on the level from speed.\n\n");
    for (size_t i = 0; i < n; i++)
        cw_text_add(text, "  %-10s %s\n", commands[i]->name, commands[i]->summary);
    cw_text_add(text, "\n");
    add_wrapped(
        text,
        "Begin with \"coastwise start RIDE.gpx\": it finds the runs in a recording and writes "
        "an outing file, which the other commands read. Files may be gzip; \"-\" is standard "
        "input. Exit status: 0 "
        "answered, 1 the data "
        "cannot answer, 2 wrong usage, 3 an input is wrong, 4 output cannot be written. "
        "\"coastwise help COMMAND\" says more, \"coastwise --version\" which one this is.",
        0, 0);
}
