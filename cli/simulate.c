/* coastwise simulate: a made-up outing with known truth. */
#include <stdbool.h>
#include <stddef.h>

#include "base/print.h"
#include "commands.h"
#include "options.h"
#include "outing/words.h"
#include "output.h"
#include "report/table.h"
#include "simulate/settings.h"
#include "simulate/simulate.h"
#include "simulate/words.h"
#include "simulate/worlds.h"

struct options {
    struct cw_simulate_options simulate;
    const char *output, *world, *name, *road, *setups, *order, *start, *format, *speed, *elevation;
    long seed, recordings;
    bool json;
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
#define OFF(field, option, meaning_)                                                               \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_OFF, .offset = offsetof(struct options, field),          \
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
#define WORD(field, option, argument_, words, meaning_)                                            \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_TEXT, .offset = offsetof(struct options, field),         \
        .argument = argument_, .meaning = meaning_, .choices = words                               \
    }
#define FORMAT_WORD(name, word) #word,
static const char *const formats[] = {CW_FORMAT_LIST(FORMAT_WORD) NULL};

static bool world_word(size_t i, const char **name, const char **meaning) {
    const struct cw_simulate_world *world = cw_simulate_world_at(i);
    if (!world) return false;
    *name = world->name;
    *meaning = world->meaning;
    return true;
}

static const struct cw_option table[] = {
    TEXT(output, "output", 'o', "DIRECTORY", "where the recordings, outing.ini and truth.json go"),
    {.name = "world",
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, world),
     .argument = "WORLD",
     .meaning = "what air, road, rider and recorder are like, in one word; it stands for options "
                "below, and where one of those is given too, on either side of it, that holds",
     .word = world_word},
    COUNT(seed, "seed", 0, 4294967295.0, "which random numbers; the same make the same outing"),
    TEXT(name, "name", 0, "TEXT", "name of the outing (default \"made-up outing\" and the seed)"),
    TEXT(road, "road", 0, "ROAD",
         "one of straight, flattening, dip and steep, or segments METRES:PERCENT[:DEGREES],... of "
         "length, slope (negative is down) and turn (default straight); 400:0 is level, and wants "
         "a start speed"),
    FLAG(simulate.both_ways, "both-ways",
         "coast every second run from the road's end to its top; the wind is then against who "
         "rides from the top"),
    OFF(simulate.both_ways, "one-way", "coast all runs from the road's top, as is usual"),
    TEXT(setups, "setups", 0, "SETUPS",
         "NAME:CDA[:CRR[:KG[:TYRES[:MS]]]],... CdA in m2, Crr, load in kg, name of the tyres, by "
         "how many m/s faster it starts (default "
         "cape:0.42,jacket:0.38; Crr 0.005)"),
    TEXT(order, "order", 0, "NAMES",
         "setup of each run, with commas; by default all there and back, twice"),
    TEXT(start, "start", 0, "TIME", "when the recording begins, as 2024-05-19T09:00:00Z"),
    COUNT(recordings, "recordings", 0, CW_SIMULATE_RUNS_MAX,
          "share the runs among so many (default 1); with 0 each run has its own"),
    WORD(format, "format", "FORMAT", formats, "what the recordings are (default tcx)"),
    FLAG(simulate.gzip, "gzip", "compress the recordings"),
    WORD(
        speed, "speed", "SENSOR", cw_simulate_speed_words,
        "what measures speed, wheel where it is not given; own is made of the positions, smoothed, "
        "and so late"),
    WORD(elevation, "elevation", "SENSOR", cw_elevation_words,
         "what measures heights, with the errors usual for it where no option says otherwise "
         "(default barometric); terrain is a map; of level nothing does, and the outing file says "
         "that the road is level"),
    OFF(simulate.positions, "no-positions", "leave positions out"),
    FLAG(simulate.positions, "positions", "record positions, as is usual"),
    OFF(simulate.distance, "no-distance", "leave distance out"),
    FLAG(simulate.distance, "distance",
         "record distance, as is usual: a wheel's, or the sum of the device's own speed"),
    OFF(simulate.cadence, "no-cadence", "leave cadence out"),
    FLAG(simulate.cadence, "cadence", "record cadence, as is usual"),
    FLAG(simulate.device_temperature, "device-temperature",
         "record the device's temperature, where the format holds one"),
    OFF(simulate.device_temperature, "no-device-temperature", "leave it out, as is usual"),
    FLAG(simulate.note_wind, "note-wind",
         "each run's mean wind is noted, with an error, in the outing file"),
    OFF(simulate.note_wind, "no-note-wind", "it is not, as is usual"),
    FLAG(simulate.air_log, "air-log",
         "a sensor beside the road, with gusts of its own, logs the wind in log.csv"),
    OFF(simulate.air_log, "no-air-log", "none does, as is usual"),
    FLAG(simulate.companion, "companion",
         "somebody who changes nothing coasts along with a recorder of the same kind: the same "
         "wind, gusts apart"),
    OFF(simulate.companion, "no-companion", "nobody does, as is usual"),
    FLAG(simulate.tape, "tape", "it is taped, from a mark on the road, where runs stand still"),
    OFF(simulate.tape, "no-tape", "it is not, as is usual"),
    FLAG(simulate.watch, "watch", "runs are timed by stopwatch between two marks on the road"),
    OFF(simulate.watch, "no-watch", "they are not, as is usual"),
    FLAG(simulate.irregular, "irregular", "make each interval 1 to 4 times as long, at random"),
    FLAG(json, "json", "write the truth to standard output as JSON"),
    CW_SIMULATE_NUMBERS(NUMBER)};

/* A text that was given, into the numbers; false where it is wrong, which is said. */
static bool read_text(const struct cw_command *command, struct cw_simulate_options *simulate,
                      const char *name, const char *text) {
    struct cw_error error;
    if (!text || !cw_simulate_set(simulate, name, text, &error)) return true;
    cw_usage_wrong(command, "--%s", error.message);
    return false;
}

/* What the options begin from: the usual, the world's settings on it, and on those the errors of
 * the kind of heights that was asked for. */
static bool begin(const struct cw_command *command, const struct options *given,
                  struct options *options) {
    struct cw_simulate_options *simulate = &options->simulate;
    *options = (struct options){.simulate = cw_simulate_options_default()};
    if (given->world) {
        struct cw_error error;
        const char *settings = cw_simulate_world_named(given->world)->settings;
        if (cw_simulate_set_all(simulate, settings, &error) < 0) {
            cw_usage_wrong(command, "--world %s: %s", given->world, error.message);
            return false;
        }
    }
    options->seed = (long)simulate->seed;
    options->recordings = (long)simulate->n_recordings;
    return read_text(command, simulate, "elevation", given->elevation);
}

static bool finish(const struct cw_command *command, struct options *options) {
    struct cw_simulate_options *simulate = &options->simulate;
    simulate->seed = (unsigned long)options->seed;
    simulate->n_recordings = (size_t)options->recordings;
    if (!options->name) /* several of them side by side are told by their seeds */
        cw_print(simulate->name, sizeof simulate->name, "made-up outing %lu", simulate->seed);
    return read_text(command, simulate, "name", options->name) &&
           read_text(command, simulate, "road", options->road) &&
           read_text(command, simulate, "setups", options->setups) &&
           read_text(command, simulate, "order", options->order) &&
           read_text(command, simulate, "start", options->start) &&
           read_text(command, simulate, "format", options->format) &&
           read_text(command, simulate, "speed", options->speed);
}

/* The options are read twice: a world and a kind of heights stand for others, which hold against
 * them on whichever side they are given. False: leave with *status. */
static bool read_options(const struct cw_command *command, int argc, char **argv,
                         struct options *options, enum cw_exit *status) {
    struct options given = {0};
    int first;
    if (!cw_options_read(command, argc, argv, &given, &first, status)) return false;
    *status = CW_EXIT_USAGE;
    if (first != argc) {
        cw_usage_wrong(command, "takes no argument \"%s\"", argv[first]);
        return false;
    }
    if (!given.output) {
        cw_usage_wrong(command, "give --output DIRECTORY");
        return false;
    }
    return begin(command, &given, options) &&
           cw_options_read(command, argc, argv, options, &first, status) &&
           finish(command, options);
}

/* The truth of every run, for people. */
static void show(const struct cw_simulate_options *options, const struct cw_simulated *simulated,
                 const char *directory, struct cw_text *text) {
    static const struct cw_column columns[] = {
        {"run", "", true},    {"setup", "", false},    {"recording", "", false},
        {"mass", "kg", true}, {"CdA", "m2", true},     {"Crr", "", true},
        {"time", "s", true},  {"distance", "m", true}, {"end speed", "km/h", true}};
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
        cw_table_add_kmh(&shown, run->descent.end_speed_ms);
    }
    struct cw_look look = cw_output_look();
    cw_text_add(text, "Made up in %s; the truth:\n\n", directory);
    cw_table_write(&shown, &look, text);
    cw_table_free(&shown);
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options;
    const struct cw_simulate_options *simulate = &options.simulate;
    struct cw_simulated simulated = {0};
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_exit status;
    if (!read_options(command, argc, argv, &options, &status)) return status;
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
        "integrated from the forces; wind, sensor errors and the scatter of CdA come from the "
        "seed, each from random numbers of its own: changing one option leaves the rest as it "
        "was.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
