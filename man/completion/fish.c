/* fish: a line an option, each with what must hold for it. */
#include <string.h>

#include "commands.h"
#include "completion.h"
#include "usage.h"

static const char begin[] =
    "# Completion of coastwise's command line for fish, made from the program's own tables.\n"
    "\n"
    "function __coastwise_has -d 'whether the command is that one, or is still to come'\n"
    "    set -l line (commandline -opc)\n"
    "    test \"$line[2]\" = \"$argv[1]\"\n"
    "end\n"
    "\n"
    "function __coastwise_files -d 'files whose names end so, any where no end is given; folders'\n"
    "    set -l word (string replace -r -- '^--[^=]*=' '' (commandline -ct))\n"
    "    set -l ends (string join '|' -- (string escape --style=regex -- .$argv))\n"
    "    for found in (complete -C\"__fish_command_without_completions $word\")\n"
    "        string match -rq -- \"(/|$ends)\\$\" (string split -f1 \\t -- $found); and printf "
    "'%s\\n' $found\n"
    "    end\n"
    "end\n"
    "\n"
    "function __coastwise_setups -d 'of the outing files on the line'\n"
    "    for outing in (string match -- '*.ini' (commandline -o))\n"
    "        sed -n 's/^\\[setup  *\\(.*\\)\\].*/\\1/p' -- $outing 2>/dev/null\n"
    "    end\n"
    "end\n"
    "\n"
    "complete -c coastwise -f\n"
    "complete -c coastwise -n '__coastwise_has \"\"' -s h -l help -d 'what there is to ask'\n"
    "complete -c coastwise -n '__coastwise_has \"\"' -s V -l version -d 'which coastwise this "
    "is'\n";

static void add_gist(struct cw_text *script, const char *meaning) {
    cw_text_add(script, " -d '");
    cw_completion_add_gist(script, meaning, "\\'");
    cw_text_add(script, "'");
}

static void add_line(struct cw_text *script, const char *command) {
    cw_text_add(script, "complete -c coastwise -n '__coastwise_has %s'", command);
}

static void add_values(struct cw_text *script, const struct cw_values *values) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    cw_text_add(script, " -a '");
    for (size_t i = 0; values->word && values->word(i); i++)
        cw_text_add(script, "%s ", values->word(i));
    for (size_t i = 0; values->commands && i < n; i++)
        cw_text_add(script, "%s ", commands[i]->name);
    if (values->files || values->folders) {
        cw_text_add(script, "(__coastwise_files");
        for (size_t i = 0; i < values->n_ends; i++) cw_text_add(script, " %s", values->ends[i]);
        cw_text_add(script, values->folders && !values->n_ends ? " /)" : ")");
    }
    cw_text_add(script, values->setups ? "(__coastwise_setups)'" : "'");
}

static bool any(const struct cw_values *values) {
    return values->files || values->folders || values->commands || values->setups || values->word;
}

/* A word a line with its meaning where it has one. */
static void add_choices(struct cw_text *script, const struct cw_option *option) {
    const char *name, *meaning;
    cw_text_add(script, " -a '");
    for (size_t i = 0; (name = cw_usage_choice(option, i)); i++) {
        cw_text_add(script, "%s%s", !i ? "" : option->word ? "\n" : " ", name);
        if (!option->word || !option->word(i, &name, &meaning)) continue;
        cw_text_add(script, "\\t\"");
        cw_completion_add_gist(script, meaning, "'\\\"$");
        cw_text_add(script, "\"");
    }
    cw_text_add(script, "'");
}

static void add_option(struct cw_text *script, const char *command,
                       const struct cw_option *option) {
    add_line(script, command);
    if (option->letter) cw_text_add(script, " -s %c", option->letter);
    cw_text_add(script, " -l %s", option->name);
    if (option->argument) {
        struct cw_values values = cw_values_of(option->argument);
        cw_text_add(script, " -x");
        if (cw_usage_choice(option, 0))
            add_choices(script, option);
        else if (any(&values))
            add_values(script, &values);
    }
    add_gist(script, option->meaning);
    cw_text_add(script, "\n");
}

void cw_completion_add_fish(struct cw_text *script) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    cw_text_add(script, "%s", begin);
    for (size_t i = 0; i < n; i++) {
        add_line(script, "\"\"");
        cw_text_add(script, " -a %s", commands[i]->name);
        add_gist(script, commands[i]->summary);
        cw_text_add(script, "\n");
    }
    for (size_t i = 0; i < n; i++) {
        struct cw_values values = cw_values_of(commands[i]->arguments);
        cw_text_add(script, "\n");
        if (any(&values)) {
            add_line(script, commands[i]->name);
            add_values(script, &values);
            cw_text_add(script, "\n");
        }
        add_line(script, commands[i]->name);
        cw_text_add(script, " -s h -l help -d 'what the command does, and its options'\n");
        for (size_t j = 0; j < commands[i]->n_options; j++)
            add_option(script, commands[i]->name, &commands[i]->options[j]);
    }
}
