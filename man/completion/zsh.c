/* zsh: specifications for _arguments, in single quotes. */
#include <ctype.h>
#include <string.h>

#include "commands.h"
#include "completion.h"
#include "usage.h"

static const char begin[] =
    "#compdef coastwise\n"
    "# Completion of coastwise's command line for zsh, made from the program's own tables.\n"
    "\n"
    "_coastwise_setups() { # of the outing files on the line\n"
    "    local -a setups\n"
    "    setups=(${(f)\"$(sed -n 's/^\\[setup  *\\(.*\\)\\].*/\\1/p' -- ${(M)${(Q)words}:#*.ini} "
    "2>/dev/null)\"})\n"
    "    compadd -a setups\n"
    "}\n";

/* What stands between single quotes. */
static void add_quoted(struct cw_text *script, const char *words) {
    for (; *words; words++)
        if (*words == '\'')
            cw_text_add(script, "'\\''");
        else
            cw_text_add_bytes(script, words, 1);
}

/* The gist, special bytes with a backslash before them. */
static void add_gist(struct cw_text *script, const char *meaning, const char *special) {
    struct cw_text gist = {0};
    cw_completion_add_gist(&gist, meaning, special);
    add_quoted(script, gist.bytes ? gist.bytes : "");
    if (gist.failed) script->failed = true;
    cw_text_free(&gist);
}

/* ((word\:meaning ...)), where zsh reads quotes once more. */
static void add_choices(struct cw_text *script, const struct cw_option *option) {
    const char *name, *meaning;
    cw_text_add(script, "((");
    for (size_t i = 0; (name = cw_usage_choice(option, i)); i++) {
        cw_text_add(script, "%s%s", i ? " " : "", name);
        if (!option->word || !option->word(i, &name, &meaning)) continue;
        cw_text_add(script, "\\:\"");
        add_gist(script, meaning, "\\\"$`:");
        cw_text_add(script, "\"");
    }
    cw_text_add(script, "))");
}

static void add_values(struct cw_text *script, const struct cw_values *values) {
    cw_text_add(script, "{");
    if (values->n_ends) {
        cw_text_add(script, " _files -g \"");
        for (size_t i = 0; i < values->n_ends; i++)
            cw_text_add(script, "%s*.%s", i ? " " : "", values->ends[i]);
        cw_text_add(script, "\";");
    } else if (values->files || values->folders) {
        cw_text_add(script, values->files ? " _files;" : " _files -/;");
    }
    if (values->commands) cw_text_add(script, " _describe -t commands command commands;");
    if (values->setups) cw_text_add(script, " _coastwise_setups;");
    for (size_t i = 0; values->word && values->word(i); i++)
        cw_text_add(script, "%s%s", i ? " " : " compadd ", values->word(i));
    cw_text_add(script, " }");
}

static bool any(const struct cw_values *values) {
    return values->files || values->folders || values->commands || values->setups || values->word;
}

static void add_option(struct cw_text *script, const struct cw_option *option) {
    const char *takes = option->argument ? "=" : "";
    cw_text_add(script, " \\\n            ");
    if (option->letter)
        cw_text_add(script, "'(-%c --%s)'{-%c%s,--%s%s}'", option->letter, option->name,
                    option->letter, option->argument ? "+" : "", option->name, takes);
    else
        cw_text_add(script, "'%s--%s%s", option->kind == CW_OPTION_TEXTS ? "*" : "", option->name,
                    takes);
    cw_text_add(script, "[");
    add_gist(script, option->meaning, "[]\\:");
    cw_text_add(script, "]");
    if (option->argument) {
        struct cw_values values = cw_values_of(option->argument);
        cw_text_add(script, ":");
        for (const char *c = option->argument; *c; c++)
            cw_text_add(script, "%s%c", *c == ':' ? "\\" : "", *c);
        cw_text_add(script, ":");
        if (cw_usage_choice(option, 0))
            add_choices(script, option);
        else if (any(&values))
            add_values(script, &values);
        else
            cw_text_add(script, " ");
    }
    cw_text_add(script, "'");
}

static void add_command(struct cw_text *script, const struct cw_command *command) {
    struct cw_values values = cw_values_of(command->arguments);
    cw_text_add(script, "    %s)\n        _arguments -s", command->name);
    for (size_t i = 0; i < command->n_options; i++) add_option(script, &command->options[i]);
    cw_text_add(script, " \\\n            '(- *)'{-h,--help}'[what the command does, and its "
                        "options]'");
    if (any(&values)) {
        cw_text_add(script, " \\\n            '%s:", values.commands ? "" : "*");
        add_quoted(script, command->arguments);
        cw_text_add(script, ":");
        add_values(script, &values);
        cw_text_add(script, "'");
    }
    cw_text_add(script, "\n        ;;\n");
}

void cw_completion_add_zsh(struct cw_text *script) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    cw_text_add(script,
                "%s\n"
                "_coastwise() {\n"
                "    local curcontext=$curcontext state line\n"
                "    local -A opt_args\n"
                "    local -a commands\n"
                "    commands=(\n",
                begin);
    for (size_t i = 0; i < n; i++) {
        cw_text_add(script, "        '%s:", commands[i]->name);
        add_gist(script, commands[i]->summary, "\\:");
        cw_text_add(script, "'\n");
    }
    cw_text_add(script, "    )\n"
                        "    _arguments -C \\\n"
                        "        '(- *)'{-h,--help}'[what there is to ask]' \\\n"
                        "        '(- *)'{-V,--version}'[which coastwise this is]' \\\n"
                        "        '1:command:{ _describe -t commands command commands }' \\\n"
                        "        '*::argument:->arguments'\n"
                        "    [[ $state == arguments ]] || return\n"
                        "    case $words[1] in\n");
    for (size_t i = 0; i < n; i++) add_command(script, commands[i]);
    cw_text_add(script, "    esac\n"
                        "}\n"
                        "\n"
                        "_coastwise \"$@\"\n");
}
