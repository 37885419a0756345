/* What the words that stand for values in usage and help are completed to. */
#include <ctype.h>
#include <string.h>

#include "base/print.h"
#include "completion.h"
#include "recording/format.h"
#include "simulate/words.h"

static void add_end(struct cw_values *values, const char *end, size_t length) {
    size_t most = sizeof values->ends / sizeof *values->ends;
    values->files = true;
    if (values->n_ends == most || length >= sizeof *values->ends) return;
    for (size_t i = 0; i < values->n_ends; i++)
        if (!strncmp(values->ends[i], end, length) && !values->ends[i][length]) return;
    cw_print(values->ends[values->n_ends++], sizeof *values->ends, "%.*s", (int)length, end);
}

static void add_recordings(struct cw_values *values) {
    for (int format = 0; format < CW_FORMATS; format++) {
        char packed[16];
        const char *word = cw_format_word((enum cw_format)format);
        cw_print(packed, sizeof packed, "%s.gz", word);
        add_end(values, word, strlen(word));
        add_end(values, packed, strlen(packed));
    }
}

static void add_outings(struct cw_values *values) {
    add_end(values, "ini", 3);
}

static void add_road(struct cw_values *values) {
    add_recordings(values);
    add_outings(values);
    values->word = cw_simulate_road_word;
}

static void add_any_file(struct cw_values *values) {
    values->files = true;
}

static void add_folders(struct cw_values *values) {
    values->folders = true;
}

static void add_commands(struct cw_values *values) {
    values->commands = true;
}

static void add_setups(struct cw_values *values) {
    values->setups = true;
}

static const struct {
    const char *word;
    void (*add)(struct cw_values *values);
} words[] = {{"RECORDING", add_recordings}, {"OUTING", add_outings}, {"ROAD", add_road},
             {"FILE", add_any_file},        {"FOLDER", add_folders}, {"DIRECTORY", add_folders},
             {"COMMAND", add_commands},     {"SETUP", add_setups}};

/* NAME.end stands for a file whose name ends so; any other word for what the table says. */
static void add_word(struct cw_values *values, const char *word, size_t length) {
    const char *dot = memchr(word, '.', length);
    while (length && word[length - 1] == '.') length--;
    if (dot && dot + 1 < word + length) {
        add_end(values, dot + 1, (size_t)(word + length - dot - 1));
        return;
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strlen(words[i].word) == length && !strncmp(words[i].word, word, length))
            words[i].add(values);
}

struct cw_values cw_values_of(const char *usage) {
    struct cw_values values = {0};
    while (*usage) {
        size_t length = strcspn(usage, " |[]");
        if (isupper((unsigned char)*usage)) add_word(&values, usage, length);
        usage += length;
        usage += strspn(usage, " |[]");
    }
    return values;
}

void cw_completion_add_gist(struct cw_text *script, const char *meaning, const char *special) {
    size_t length = strcspn(meaning, ";:(\n");
    const char *stop = strstr(meaning, ". "), *comma;
    if (stop && (size_t)(stop - meaning) < length) length = (size_t)(stop - meaning);
    /* of a long one what stands before a comma */
    for (const size_t most = 60; length > most;) {
        for (comma = meaning + length - 1; comma > meaning && *comma != ','; comma--) continue;
        if (comma == meaning) break;
        length = (size_t)(comma - meaning);
    }
    while (length && strchr(" .", meaning[length - 1])) length--;
    for (size_t i = 0; i < length; i++) {
        if (strchr(special, meaning[i])) cw_text_add(script, "\\");
        cw_text_add_bytes(script, &meaning[i], 1);
    }
}
