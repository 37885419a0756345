/* coastwise simulate: a made-up outing with known truth. */
#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "commands.h"
#include "options.h"
#include "output.h"
#include "report/table.h"
#include "simulate/simulate.h"

struct options {
    struct cw_simulate_options simulate;
    const char *output, *name, *road, *setups, *order, *start, *format, *speed, *elevation;
    long seed, recordings;
    bool gzip, irregular, no_positions, no_distance, no_cadence, json;
};

#define TEXT(field, option, letter_, argument_, meaning_)                                          \
    {                                                                                              \
        .name = option, .letter = letter_, .kind = CW_OPTION_TEXT,                                 \
        .offset = offsetof(struct options, field), .argument = argument_, .meaning = meaning_      \
    }
#define FLAG(field, option, meaning_)                                                              \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_FLAG, .offset = offsetof(struct options, field),         \
        .meaning = meaning_                                                                        \
    }
#define COUNT(field, option, low_, high_, meaning_)                                                \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_COUNT, .offset = offsetof(struct options, field),        \
        .argument = "N", .low = low_, .high = high_, .meaning = meaning_                           \
    }
#define NUMBER(field, option, usual, low_, high_, meaning_)                                        \
    {.name = option,                                                                               \
     .kind = CW_OPTION_NUMBER,                                                                     \
     .offset = offsetof(struct options, simulate.field),                                           \
     .argument = "NUMBER",                                                                         \
     .low = low_,                                                                                  \
     .high = high_,                                                                                \
     .meaning = meaning_ " (default " #usual ")"},
#define FORMAT_WORD(name, word) " " #word ","

static const struct cw_option table[] = {
    TEXT(output, "output", 'o', "DIRECTORY", "where the recordings, outing.ini and truth.json go"),
    COUNT(seed, "seed", 0, 4294967295.0, "which random numbers; the same make the same outing"),
    TEXT(name, "name", 0, "TEXT", "name of the outing"),
    TEXT(road, "road", 0, "ROAD",
         "one of straight, flattening, dip and steep, or segments METRES:PERCENT[:DEGREES],... of "
         "length, slope (negative is down) and turn (default straight); 400:0 is level, and wants "
         "a start speed"),
    TEXT(setups, "setups", 0, "SETUPS",
         "NAME:CDA[:CRR[:KG[:TYRES]]],... CdA in m2, Crr, load in kg, name of the tyres (default "
         "cape:0.42,jacket:0.38; Crr 0.005)"),
    TEXT(order, "order", 0, "NAMES",
         "setup of each run, with commas; by default all there and back, twice"),
    TEXT(start, "start", 0, "TIME", "when the recording begins, as 2024-05-19T09:00:00Z"),
    COUNT(recordings, "recordings", 1, CW_SIMULATE_RUNS_MAX, "share the runs among so many"),
    TEXT(format, "format", 0, "FORMAT",
         "what the recordings are: one of" CW_FORMAT_LIST(FORMAT_WORD) " by default tcx"),
    FLAG(gzip, "gzip", "compress the recordings"),
    TEXT(speed, "speed", 0, "SENSOR",
         "what measures speed: none, wheel or doppler (default wheel)"),
    TEXT(elevation, "elevation", 0, "SENSOR",
         "what measures heights: barometric, satellite or surveyed, with the errors usual for it "
         "where no option says otherwise; or level: nothing does, and the outing file says that "
         "the road is level (default barometric)"),
    FLAG(no_positions, "no-positions", "leave positions out"),
    FLAG(no_distance, "no-distance", "leave the wheel's distance out"),
    FLAG(no_cadence, "no-cadence", "leave cadence out"),
    FLAG(irregular, "irregular", "make each interval 1 to 4 times as long, at random"),
    FLAG(json, "json", "write the truth to standard output as JSON"),
    CW_SIMULATE_NUMBERS(NUMBER)};

/* Copies the next part of *list, up to one of the ends, and moves *list behind it (NULL: that was
 * the last). False at the list's end and, with *list left, where the part is too long. */
static bool next_part(const char **list, const char *ends, char *part, size_t size) {
    if (!*list) return false;
    size_t length = strcspn(*list, ends);
    if (length >= size) return false;
    memcpy(part, *list, length);
    part[length] = '\0';
    *list = (*list)[length] ? *list + length + 1 : NULL;
    return true;
}

/* Numbers with colons between them: at least least, at most most; the others stay as they are. */
static bool read_numbers(const char *text, size_t least, size_t most, double *const *numbers) {
    char part[64];
    size_t n = 0;
    for (; next_part(&text, ":", part, sizeof part); n++)
        if (n == most || !cw_number_read(part, strlen(part), numbers[n])) return false;
    return n >= least && !text;
}

static bool read_road(const char *text, struct cw_simulate_options *simulate) {
    char part[200];
    simulate->n_segments = 0;
    while (next_part(&text, ",", part, sizeof part)) {
        struct cw_simulate_segment segment = {0};
        double *const numbers[] = {&segment.length_m, &segment.slope_percent, &segment.turn_deg};
        if (simulate->n_segments == CW_SIMULATE_SEGMENTS_MAX || !read_numbers(part, 2, 3, numbers))
            return false;
        simulate->segments[simulate->n_segments++] = segment;
    }
    return !text;
}

static bool read_setup(const char *text, struct cw_simulate_setup *setup) {
    double *const numbers[] = {&setup->cda_m2, &setup->crr, &setup->load_kg};
    *setup = (struct cw_simulate_setup){.crr = 0.005, .tyres = "all"};
    next_part(&text, ":", setup->name, sizeof setup->name);
    char part[64];
    size_t n = 0;
    for (; n < 3 && next_part(&text, ":", part, sizeof part); n++)
        if (!cw_number_read(part, strlen(part), numbers[n])) return false;
    if (n == 3) next_part(&text, ":", setup->tyres, sizeof setup->tyres);
    return n >= 1 && !text;
}

static bool read_setups(const char *text, struct cw_simulate_options *simulate) {
    char part[200];
    simulate->n_setups = 0;
    while (next_part(&text, ",", part, sizeof part)) {
        if (simulate->n_setups == CW_SIMULATE_SETUPS_MAX ||
            !read_setup(part, &simulate->setups[simulate->n_setups]))
            return false;
        simulate->n_setups++;
    }
    cw_simulate_order(simulate, 2);
    return !text;
}

static bool read_order(const char *text, struct cw_simulate_options *simulate) {
    char part[CW_SIMULATE_NAME_MAX];
    simulate->n_order = 0;
    while (next_part(&text, ", ", part, sizeof part)) {
        size_t i = 0;
        if (!*part) continue;
        while (i < simulate->n_setups && strcmp(simulate->setups[i].name, part) != 0) i++;
        if (i == simulate->n_setups || simulate->n_order == CW_SIMULATE_RUNS_MAX) return false;
        simulate->order[simulate->n_order++] = i;
    }
    return !text;
}

/* Which of the words text is; -1 for none of them. */
static int choose(const char *text, const char *const *words, int n) {
    for (int i = 0; i < n; i++)
        if (!strcmp(words[i], text)) return i;
    return -1;
}

/* The options of a kind of sensor are its usual ones where they were not given (NaN). */
static bool read_elevation(const char *text, struct cw_simulate_options *simulate) {
    static const char *const words[] = {"barometric", "satellite", "surveyed", "level"};
    static const enum cw_elevation kinds[] = {CW_ELEVATION_BAROMETRIC, CW_ELEVATION_SATELLITE,
                                              CW_ELEVATION_SURVEYED, CW_ELEVATION_LEVEL};
    int kind = choose(text, words, 4);
    if (kind < 0) return false;
    struct cw_simulate_options usual = *simulate;
    cw_simulate_elevation(&usual, kinds[kind]);
    simulate->elevation = usual.elevation;
#define KEEP(field)                                                                                \
    if (isnan(simulate->field)) simulate->field = usual.field
    KEEP(elevation_drift_sd_m);
    KEEP(elevation_drift_time_s);
    KEEP(elevation_sd_m);
    KEEP(elevation_step_m);
#undef KEEP
    return true;
}

/* What the texts say, into the numbers; false when one is wrong, which is said. */
static bool read_texts(const struct cw_command *command, struct options *options) {
    static const char *const speeds[] = {"none", "wheel", "doppler"};
    struct cw_simulate_options *simulate = &options->simulate;
    int speed = choose(options->speed, speeds, 3);
#define CHECK(fine, what, text, form)                                                              \
    if ((text) && !(fine)) {                                                                       \
        cw_usage_wrong(command, "--%s is \"%s\": give " form, what, text);                         \
        return false;                                                                              \
    }
    CHECK(strlen(options->name) < sizeof simulate->name, "name", options->name,
          "no more than 63 letters")
    CHECK(isdigit((unsigned char)options->road[0])
              ? read_road(options->road, simulate)
              : !cw_simulate_road(simulate, options->road, NULL),
          "road", options->road, "straight, flattening, dip, steep or METRES:PERCENT[:DEGREES],...")
    CHECK(read_setups(options->setups, simulate), "setups", options->setups,
          "NAME:CDA[:CRR[:KG[:TYRES]]],...")
    CHECK(read_order(options->order, simulate), "order", options->order,
          "names of the setups with commas between them")
    CHECK(cw_time_read(options->start, strlen(options->start), &simulate->start_s), "start",
          options->start, "a time as 2024-05-19T09:00:00Z")
    if (!cw_format_find(options->format, &simulate->format)) {
        char words[CW_FORMAT_TEXT];
        cw_usage_wrong(command, "--format is \"%s\": give %s", options->format,
                       cw_format_words(" or ", words));
        return false;
    }
    CHECK(speed >= 0, "speed", options->speed, "none, wheel or doppler")
    CHECK(read_elevation(options->elevation, simulate), "elevation", options->elevation,
          "barometric, satellite, surveyed or level")
#undef CHECK
    cw_print(simulate->name, sizeof simulate->name, "%s", options->name);
    simulate->speed = (enum cw_simulate_speed)speed;
    simulate->seed = (unsigned long)options->seed;
    simulate->n_recordings = (size_t)options->recordings;
    simulate->gzip = options->gzip;
    simulate->irregular = options->irregular;
    simulate->positions = !options->no_positions;
    simulate->distance = !options->no_distance;
    simulate->cadence = !options->no_cadence;
    return true;
}

/* The truth of every run, for people. */
static void show(const struct cw_simulate_options *options, const struct cw_simulated *simulated,
                 const char *directory, struct cw_text *text) {
    static const struct cw_column columns[] = {
        {"run", "", true},    {"setup", "", false},    {"recording", "", false},
        {"mass", "kg", true}, {"CdA", "m2", true},     {"Crr", "", true},
        {"time", "s", true},  {"distance", "m", true}, {"end speed", "m/s", true}};
    struct cw_table shown = {.columns = columns, .n_columns = sizeof columns / sizeof *columns};
    for (size_t i = 0; i < simulated->n_runs; i++) {
        const struct cw_simulated_run *run = &simulated->runs[i];
        cw_table_add(&shown, "%zu", i + 1);
        cw_table_add(&shown, "%s", options->setups[run->setup].name);
        cw_table_add(&shown, "%s", simulated->recordings[run->recording].file);
        cw_table_add_number(&shown, run->mass_kg, 1);
        cw_table_add_number(&shown, run->cda_m2, 4);
        cw_table_add_number(&shown, run->crr, 5);
        cw_table_add_number(&shown, run->descent.end_time_s, 2);
        cw_table_add_number(&shown, run->descent.end_s_m, 1);
        cw_table_add_number(&shown, run->descent.end_speed_ms, 2);
    }
    cw_text_add(text, "Made up in %s; the truth:\n\n", directory);
    cw_table_write(&shown, text);
    cw_table_free(&shown);
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {.simulate = cw_simulate_options_default(),
                              .name = "made-up outing",
                              .road = "straight",
                              .format = "tcx",
                              .speed = "wheel",
                              .elevation = "barometric",
                              .seed = 1,
                              .recordings = 1};
    struct cw_simulate_options *simulate = &options.simulate;
    simulate->elevation_drift_sd_m = simulate->elevation_drift_time_s = NAN;
    simulate->elevation_sd_m = simulate->elevation_step_m = NAN;
    struct cw_simulated simulated = {0};
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (first != argc) return cw_usage_wrong(command, "takes no argument \"%s\"", argv[first]);
    if (!options.output) return cw_usage_wrong(command, "give --output DIRECTORY");
    if (!read_texts(command, &options)) return CW_EXIT_USAGE;
    if (cw_simulate(simulate, &simulated, &error) < 0 ||
        cw_simulate_write(simulate, &simulated, options.output, &error) < 0) {
        status = cw_message_error(&error);
    } else {
        if (options.json)
            cw_simulate_truth_add(&text, simulate, &simulated);
        else
            show(simulate, &simulated, options.output, &text);
        status = cw_output_write(&text);
    }
    cw_simulated_free(&simulated);
    return status;
}

const struct cw_command cw_command_simulate = {
    .name = "simulate",
    .arguments = "",
    .summary = "a made-up outing with known truth",
    .description =
        "Makes up an outing: a rider coasts along a road again and again in changing setups, and a "
        "device records it with the errors that devices have. Writes the recordings, the outing "
        "file and, in truth.json, what was true. So one can see what an outing could show before "
        "riding it, and how well the other commands find the truth again.\n\nEach run is "
        "integrated from the forces; gusts, sensor errors and the scatter of CdA come from the "
        "seed, each from random numbers of its own.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
