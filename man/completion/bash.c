/* bash: a function that looks at the word before the cursor. */
#include "commands.h"
#include "completion.h"
#include "usage.h"

static const char begin[] =
    "# Completion of coastwise's command line for bash, made from the program's own tables.\n"
    "\n"
    "_coastwise_words() { # WORD...\n"
    "    local word\n"
    "    for word; do [[ $word != \"$cur\"* ]] || COMPREPLY+=(\"$word\"); done\n"
    "}\n"
    "\n"
    "_coastwise_files() { # PATTERN...: files of such names, and folders\n"
    "    local file pattern\n"
    "    compopt -o filenames\n"
    "    while IFS= read -r file; do\n"
    "        [[ ! -d ${file/#\\~\\//$HOME/} ]] || { COMPREPLY+=(\"$file\"); continue; }\n"
    "        for pattern; do\n"
    "            [[ $file != $pattern ]] || { COMPREPLY+=(\"$file\"); break; }\n"
    "        done\n"
    "    done < <(compgen -f -- \"$cur\")\n"
    "}\n"
    "\n"
    "_coastwise_setups() { # of the outing files on the line\n"
    "    local word setup\n"
    "    for word in \"${COMP_WORDS[@]:2}\"; do\n"
    "        [[ $word == *.ini && -f $word ]] || continue\n"
    "        while IFS= read -r setup; do _coastwise_words \"$setup\"; done \\\n"
    "            < <(sed -n 's/^\\[setup  *\\(.*\\)\\].*/\\1/p' -- \"$word\")\n"
    "    done\n"
    "}\n"
    "\n"
    "_coastwise() {\n"
    "    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]}\n"
    "    COMPREPLY=()\n"
    "    # --option=value is three words here\n"
    "    if [[ $cur == = ]]; then\n"
    "        cur=\n"
    "    elif [[ $prev == = ]]; then\n"
    "        prev=${COMP_WORDS[COMP_CWORD - 2]}\n"
    "    fi\n"
    "    cur=${cur#[\\\"\\']}\n"
    "    cur=${cur//\\\\/}\n";

static void add_values(struct cw_text *script, const struct cw_values *values) {
    if (values->files || values->folders) {
        cw_text_add(script, " _coastwise_files");
        for (size_t i = 0; i < values->n_ends; i++) cw_text_add(script, " '*.%s'", values->ends[i]);
        cw_text_add(script, values->files && !values->n_ends ? " '*';" : ";");
    }
    if (values->commands) cw_text_add(script, " _coastwise_words $commands;");
    if (values->setups) cw_text_add(script, " _coastwise_setups;");
    if (!values->word) return;
    cw_text_add(script, " _coastwise_words");
    for (size_t i = 0; values->word(i); i++) cw_text_add(script, " %s", values->word(i));
    cw_text_add(script, ";");
}

static void add_option(struct cw_text *script, const struct cw_option *option) {
    if (!option->argument) return;
    struct cw_values values = cw_values_of(option->argument);
    cw_text_add(script, "        ");
    if (option->letter) cw_text_add(script, "-%c | ", option->letter);
    cw_text_add(script, "--%s)", option->name);
    if (cw_usage_choice(option, 0)) {
        const char *choice;
        cw_text_add(script, " _coastwise_words");
        for (size_t i = 0; (choice = cw_usage_choice(option, i)); i++)
            cw_text_add(script, " %s", choice);
        cw_text_add(script, ";");
    } else {
        add_values(script, &values);
    }
    cw_text_add(script, " return ;;\n");
}

static void add_command(struct cw_text *script, const struct cw_command *command) {
    struct cw_values values = cw_values_of(command->arguments);
    bool takes = false;
    for (size_t i = 0; i < command->n_options; i++)
        if (command->options[i].argument) takes = true;
    cw_text_add(script, "    %s)\n", command->name);
    if (takes) cw_text_add(script, "        case $prev in\n");
    for (size_t i = 0; i < command->n_options; i++) add_option(script, &command->options[i]);
    if (takes) cw_text_add(script, "        esac\n");
    cw_text_add(script, "        if [[ $cur == -* ]]; then\n            _coastwise_words");
    for (size_t i = 0; i < command->n_options; i++) {
        const struct cw_option *option = &command->options[i];
        if (option->letter) cw_text_add(script, " -%c", option->letter);
        cw_text_add(script, " --%s", option->name);
    }
    cw_text_add(script, " -h --help\n            return\n        fi\n       ");
    add_values(script, &values);
    cw_text_add(script, " return ;;\n");
}

void cw_completion_add_bash(struct cw_text *script) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    cw_text_add(script, "%s    local commands='", begin);
    for (size_t i = 0; i < n; i++) cw_text_add(script, "%s%s", i ? " " : "", commands[i]->name);
    cw_text_add(script, "'\n"
                        "    if ((COMP_CWORD == 1)); then\n"
                        "        _coastwise_words $commands -h --help -V --version\n"
                        "        return\n"
                        "    fi\n"
                        "    case ${COMP_WORDS[1]} in\n");
    for (size_t i = 0; i < n; i++) add_command(script, commands[i]);
    cw_text_add(script, "    esac\n}\n\ncomplete -F _coastwise coastwise\n");
}
