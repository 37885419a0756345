/* A command and its options. One table of commands, and one of options for each, drive parsing,
 * usage, `--help` and the manual. */
#ifndef CW_CLI_COMMAND_H
#define CW_CLI_COMMAND_H

#include <stdbool.h>
#include <stddef.h>

enum cw_exit {
    CW_EXIT_ANSWERED = 0,
    CW_EXIT_DATA = 1,   /* the data cannot answer */
    CW_EXIT_USAGE = 2,  /* wrong usage */
    CW_EXIT_INPUT = 3,  /* an input can't be read or is wrong */
    CW_EXIT_OUTPUT = 4, /* output can't be written */
};

enum cw_option_kind {
    CW_OPTION_FLAG,   /* bool, true where it is given */
    CW_OPTION_OFF,    /* bool, false where it is given: takes a flag back */
    CW_OPTION_TEXT,   /* const char *, NULL where not given */
    CW_OPTION_NUMBER, /* double, within low..high */
    CW_OPTION_COUNT,  /* long, within low..high */
    CW_OPTION_TEXTS,  /* struct cw_option_texts, what it was given each time */
};

/* The texts of an option that may be given again and again, in their order. */
enum { CW_OPTION_TEXTS_MOST = 100 };
struct cw_option_texts {
    size_t n;
    const char *at[CW_OPTION_TEXTS_MOST];
};

struct cw_option {
    const char *name; /* without the dashes */
    char letter;      /* of the short form; 0 if there is none */
    enum cw_option_kind kind;
    size_t offset;        /* of the field in the command's options */
    const char *argument; /* its name in usage and manual: "FILE", "KG"; NULL for a flag */
    double low, high;
    const char *section,
        *key; /* of the outing file, whose range a number then has; NULL: low, high */
    const char *meaning;
    /* Of a text that is one of these words, NULL behind them; help and manual name them after the
     * meaning. NULL where any text will do. */
    const char *const *choices;
    /* Of a text that is one of many words, a line of meaning each, which help and manual list below
     * the option: hands out the i-th from 0; false behind the last. NULL otherwise. */
    bool (*word)(size_t i, const char **name, const char **meaning);
};

/* The row of --limit-mb, for commands that read: long limit_mb of their options. */
#define CW_OPTION_LIMIT(options)                                                                   \
    {                                                                                              \
        .name = "limit-mb", .kind = CW_OPTION_COUNT, .offset = offsetof(options, limit_mb),        \
        .argument = "N", .low = 1, .high = 1e6,                                                    \
        .meaning = "an input, unpacked, may have so many megabytes (default 2048)"                 \
    }

/* The rows of --reference and --drop, for commands that compare: const char *reference and bool
 * drop of their options. */
#define CW_OPTION_REFERENCE(options)                                                               \
    {                                                                                              \
        .name = "reference", .kind = CW_OPTION_TEXT, .offset = offsetof(options, reference),       \
        .argument = "SETUP",                                                                       \
        .meaning = "what the other setups are compared with (default: the first with runs that "   \
                   "the outing ridden first names)"                                                \
    }
#define CW_OPTION_DROP(options)                                                                    \
    {                                                                                              \
        .name = "drop", .kind = CW_OPTION_FLAG, .offset = offsetof(options, drop),                 \
        .meaning = "leave out runs that disagree with their fellows, fit everything again, and "   \
                   "say which they were; at most twice, and never a setup's last run"              \
    }

/* The row of --units, for commands that print tables: const char *units of their options. */
#define CW_OPTION_UNITS(options)                                                                   \
    {                                                                                              \
        .name = "units", .kind = CW_OPTION_TEXT, .offset = offsetof(options, units),               \
        .argument = "UNITS", .choices = cw_output_units,                                           \
        .meaning = "of what is printed for people; JSON and CSV are SI"                            \
    }

/* The row of --utc-offset, for commands that print clock times: const char *utc_offset of their
 * options. */
#define CW_OPTION_CLOCK(options)                                                                   \
    {                                                                                              \
        .name = "utc-offset", .kind = CW_OPTION_TEXT, .offset = offsetof(options, utc_offset),     \
        .argument = "+HH:MM",                                                                      \
        .meaning = "how far the clocks shown are ahead of UTC (default: as the outing file says, " \
                   "else as the recording does, else UTC)"                                         \
    }

/* The rows of --json and --csv, for commands that print: bool json and csv of their options. */
#define CW_OPTIONS_FORMAT(options, in_csv)                                                         \
    {.name = "json",                                                                               \
     .kind = CW_OPTION_FLAG,                                                                       \
     .offset = offsetof(options, json),                                                            \
     .meaning = "write JSON"},                                                                     \
    {                                                                                              \
        .name = "csv", .kind = CW_OPTION_FLAG, .offset = offsetof(options, csv),                   \
        .meaning = "write " in_csv " as comma-separated values"                                    \
    }

struct cw_command {
    const char *name;
    const char *arguments;   /* as in usage: "RECORDING... | OUTING" */
    const char *summary;     /* a line */
    const char *description; /* paragraphs, with an empty line between them */
    const struct cw_option *options;
    size_t n_options;
    /* argv[0] is the command's name. Returns the exit status. */
    enum cw_exit (*run)(const struct cw_command *command, int argc, char **argv);
};

#endif
