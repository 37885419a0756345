/* Prints a manual page with its generated parts made anew from the program's tables.
 *
 * usage: man_page PAGE
 *
 * A part stands between the lines `.\" generated: NAME` and `.\" end of generated`. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "commands.h"
#include "fit/heights.h"
#include "fit/noise_search.h"
#include "outing/air_log_columns.h"
#include "outing/keys.h"
#include "report/fit_facts.h"
#include "usage.h"

/* The length of the word at c, up to a blank or an end. */
static size_t word_length(const char *c) {
    return strcspn(c, " \n");
}

/* Running text: every sentence on a line of its own, as mdoc wants it, and no line over 78. */
static void add_prose(struct cw_text *page, const char *words) {
    size_t column = 0;
    for (const char *c = words; *c; c++) {
        if (!column && (*c == '.' || *c == '\'')) cw_text_add(page, "\\&");
        column++;
        if (!strncmp(c, "\n\n", 2)) {
            cw_text_add(page, "\n.Pp\n");
            c++;
            column = 0;
        } else if ((c[0] == '.' || c[0] == ':' || c[0] == '?') && c[1] == ' ' &&
                   (c == words || c[-1] != '.')) {
            cw_text_add(page, "%c\n", *c++);
            column = 0;
        } else if (*c == ' ' && column + word_length(c + 1) > 78) {
            cw_text_add(page, "\n");
            column = 0;
        } else if (*c == '\\') {
            cw_text_add(page, "\\e");
        } else {
            cw_text_add_bytes(page, c, 1);
        }
    }
    cw_text_add(page, "\n");
}

/* A sentence from a phrase of the tables, which have neither capital nor full stop. */
static void add_phrase(struct cw_text *page, const char *phrase) {
    size_t start = page->length;
    add_prose(page, phrase);
    if (page->failed) return;
    char *first = &page->bytes[start];
    if (*first >= 'a' && *first <= 'z') *first = (char)(*first - 'a' + 'A');
    page->length--;
    cw_text_add(page, ".\n");
}

static void add_synopsis(struct cw_text *page) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    for (size_t i = 0; i < n; i++) {
        const struct cw_command *command = commands[i];
        cw_text_add(page, ".Nm\n.Cm %s\n", command->name);
        if (command->n_options) cw_text_add(page, ".Op Ar option ...\n");
        if (*command->arguments) cw_text_add(page, ".Ar \"%s\"\n", command->arguments);
    }
}

/* The words that an option may be and that have a line of meaning each. */
static void add_words(struct cw_text *page, const struct cw_option *option) {
    const char *name, *meaning;
    if (!option->word) return;
    cw_text_add(page, ".Bl -tag -width Ds -compact\n");
    for (size_t i = 0; option->word(i, &name, &meaning); i++) {
        cw_text_add(page, ".It Cm %s\n", name);
        add_phrase(page, meaning);
    }
    cw_text_add(page, ".El\n");
}

static void add_commands(struct cw_text *page) {
    size_t n;
    const struct cw_command *const *commands = cw_commands(&n);
    for (size_t i = 0; i < n; i++) {
        const struct cw_command *command = commands[i];
        cw_text_add(page, ".Ss %s\n", command->name);
        add_prose(page, command->description);
        if (!command->n_options) continue;
        cw_text_add(page, ".Bl -tag -width Ds\n");
        for (size_t j = 0; j < command->n_options; j++) {
            const struct cw_option *option = &command->options[j];
            cw_text_add(page, ".It ");
            if (option->letter) cw_text_add(page, "Fl %c , ", option->letter);
            cw_text_add(page, "Fl -%s", option->name);
            if (option->argument) cw_text_add(page, " Ar %s", option->argument);
            cw_text_add(page, "\n");
            struct cw_text meaning = {0};
            cw_usage_add_meaning(&meaning, option);
            if (meaning.bytes) add_phrase(page, meaning.bytes);
            if (meaning.failed) page->failed = true;
            cw_text_free(&meaning);
            add_words(page, option);
        }
        cw_text_add(page, ".El\n");
    }
}

/* One that hangs on what else is given. */
static void add_defaults(struct cw_text *page, const struct cw_outing_key *key, const char *blank,
                         const char *unit) {
    cw_text_add(page, "Default: %g%s%s where\n.Cm %s\nis given, ", key->fallback, blank, unit,
                key->of);
    if (key->reduced)
        cw_text_add(page, "%g%s%s where\n.Cm %s\nis, ", key->fallback_reduced, blank, unit,
                    key->reduced);
    cw_text_add(page, "otherwise %g%s%s.\n", key->fallback_without, blank, unit);
}

static void add_default(struct cw_text *page, const struct cw_outing_key *key) {
    const char *unit = key->unit ? key->unit : "", *blank = *unit ? " " : "";
    if (key->kind == CW_KEY_NUMBER)
        cw_text_add(page, "From %g to %g%s%s.\n", key->low, key->high, blank, unit);
    if (key->required)
        cw_text_add(page, "Must be given.\n");
    else if (key->fallback_text)
        cw_text_add(page, "Default: %s.\n", key->fallback_text);
    else if (key->kind == CW_KEY_NUMBER && key->of &&
             key->fallback_without == key->fallback_without)
        add_defaults(page, key, blank, unit);
    else if (key->kind == CW_KEY_NUMBER &&
             key->fallback == key->fallback) /* else its meaning says */
        cw_text_add(page, "Default: %g%s%s.\n", key->fallback, blank, unit);
}

static void add_outing(struct cw_text *page) {
    size_t n, n_sections;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++) {
        if (!i || strcmp(keys[i].section, keys[i - 1].section)) {
            const struct cw_outing_section *section = cw_outing_sections(&n_sections);
            while (strcmp(section->name, keys[i].section)) section++;
            cw_text_add(page, "%s.Ss Section %s%s%s%s%s\n.Bl -tag -width Ds\n", i ? ".El\n" : "",
                        section->name, section->plain && section->of ? ", and " : "",
                        section->plain && section->of ? section->name : "", section->of ? " " : "",
                        section->of ? section->of : "");
        }
        cw_text_add(page, ".It Cm %s\n", keys[i].name);
        add_phrase(page, keys[i].meaning);
        add_default(page, &keys[i]);
    }
    cw_text_add(page, ".El\n");
}

static void add_air_log(struct cw_text *page) {
    size_t n;
    const struct cw_air_log_column *columns = cw_air_log_columns(&n);
    cw_text_add(page, ".Bl -tag -width Ds\n");
    for (size_t i = 0; i < n; i++) {
        double low, high;
        cw_air_log_column_range(&columns[i], &low, &high);
        cw_text_add(page, ".It Cm %s\n", columns[i].name);
        add_phrase(page, columns[i].meaning);
        cw_text_add(page, "From %g to %g %s.\n", low, high, columns[i].unit);
    }
    cw_text_add(page, ".El\n");
}

/* What is known beforehand of each number of the noise, with heights from a pressure sensor: what
 * is likeliest, by what factor it may be another, and its bounds. */
static void add_noise(struct cw_text *page) {
    size_t n;
    const struct cw_noise_fact *facts = cw_noise_facts(&n);
    const struct cw_outing outing = {.elevation = CW_ELEVATION_BAROMETRIC,
                                     .elevation_uncertainty_m = NAN};
    struct cw_reml_prior prior[CW_NOISE_PARAMETERS];
    cw_noise_priors(&outing, prior);
    cw_text_add(page, ".Bl -column \"positions: wander along the road\" \"median\" \"factor\" "
                      "\"0.0001\" \"0.000\" \"m/s\"\n"
                      ".It Sy noise Ta Sy median Ta Sy factor Ta Sy from Ta Sy to Ta Sy unit\n");
    for (size_t i = 0; i < n; i++) {
        const struct cw_reml_prior *p = &prior[facts[i].parameter];
        cw_text_add(page, ".It %s Ta %.2g Ta %.2g Ta %.3g Ta %.3g Ta %s\n", facts[i].name,
                    exp(p->mean), exp(p->sd), exp(p->low), exp(p->high), facts[i].unit);
    }
    cw_text_add(page, ".El\n");
}

/* The same of heights by where they come from, as far as a recorder makes their errors. */
static void add_heights(struct cw_text *page) {
    const char *kind;
    cw_text_add(page, ".Bl -column \"barometric\" \"drift, m\" \"sample to sample, m\" \"lag, s\"\n"
                      ".It Sy heights Ta Sy drift, m Ta Sy sample to sample, m Ta Sy lag, s\n");
    for (int i = 0; (kind = cw_elevation_text((enum cw_elevation)i)); i++) {
        const struct cw_heights_prior *prior = cw_heights_prior((enum cw_elevation)i);
        if (prior->mapped)
            cw_text_add(page, ".It %s Ta of the place Ta \\- Ta 0\n", kind);
        else
            cw_text_add(page, ".It %s Ta %g Ta %g Ta %g \\(+- %g\n", kind, prior->drift_sd_m,
                        prior->white_sd_m, prior->lag_s.mean, prior->lag_s.sd);
    }
    cw_text_add(page, ".El\n");
}

static const struct {
    const char *name;
    void (*add)(struct cw_text *page);
} parts[] = {{"synopsis", add_synopsis}, {"commands", add_commands}, {"outing file", add_outing},
             {"air log", add_air_log},   {"noise", add_noise},       {"heights", add_heights}};

#define BEGIN ".\\\" generated: "
#define END ".\\\" end of generated"

static bool add_part(struct cw_text *page, const char *name) {
    size_t length = strcspn(name, "\n");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (strlen(parts[i].name) != length || strncmp(parts[i].name, name, length)) continue;
        parts[i].add(page);
        return true;
    }
    fprintf(stderr, "man_page: no part is called \"%.*s\"\n", (int)length, name);
    return false;
}

int main(int argc, char **argv) {
    FILE *file = argc == 2 ? fopen(argv[1], "r") : NULL;
    struct cw_text page = {0};
    char line[1024];
    bool skipping = false, fine = file != NULL;
    while (fine && fgets(line, sizeof line, file)) {
        if (!strncmp(line, END, strlen(END))) skipping = false;
        if (!skipping) cw_text_add(&page, "%s", line);
        if (!strncmp(line, BEGIN, strlen(BEGIN))) {
            skipping = true;
            fine = add_part(&page, line + strlen(BEGIN));
        }
    }
    if (file) fclose(file);
    fine = fine && !page.failed && page.bytes;
    if (fine)
        fine = fputs(page.bytes, stdout) >= 0 && !fflush(stdout);
    else
        fprintf(stderr, "usage: man_page PAGE\n");
    cw_text_free(&page);
    return fine ? 0 : 1;
}
