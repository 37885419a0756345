/* coastwise start: an outing file from recordings, what they can't tell asked for. */
#include "start/start.h"

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "analyse.h"
#include "analysis/ride_kind.h"
#include "ask.h"
#include "base/number.h"
#include "base/path.h"
#include "base/reason.h"
#include "base/utf8.h"
#include "base/write.h"
#include "commands.h"
#include "gather.h"
#include "options.h"
#include "outing/keys.h"
#include "outing/words.h"
#include "output.h"

struct options {
    const char *output, *name, *elevation, *order, *utc_offset;
    struct cw_option_texts setups;
    double rider_kg, bike_kg, temperature_c, pressure_hpa, pressure_sea_level_hpa, humidity_percent;
    bool update, no_questions;
    struct cw_files_options reading;
};

/* A number whose range is that of the outing file's key. */
#define NUMBER(field, option, section_, key_, argument_, meaning_)                                 \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_NUMBER, .offset = offsetof(struct options, field),       \
        .argument = argument_, .section = section_, .key = key_, .meaning = meaning_               \
    }
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

static const struct cw_option table[] = {
    TEXT(output, "output", 'o', "OUTING.ini",
         "the outing file (default: in the folder that you are in, of RIDE.gpx RIDE.ini, of a "
         "folder of recordings FOLDER.ini, of several arguments outing.ini); - is standard "
         "output"),
    NUMBER(rider_kg, "rider-kg", "rider", "mass_kg", "KG",
           "the rider's mass with clothes and all that is carried"),
    NUMBER(bike_kg, "bike-kg", "bike", "mass_kg", "KG", "the bicycle's with bottles and bags"),
    {.name = "setup",
     .kind = CW_OPTION_TEXTS,
     .offset = offsetof(struct options, setups),
     .argument = "NAME[:LOAD_KG]",
     .meaning = "a setup that was tried and what it adds to the masses; once for each"},
    TEXT(order, "order", 0, "NAMES",
         "the setup of each run kept, in time order, with blanks or commas between; - leaves a run "
         "out. Without --setup the names are the setups"),
    TEXT(utc_offset, "utc-offset", 0, "OFFSET", "of local time from UTC, as +01:00"),
    NUMBER(temperature_c, "temperature-c", "air", "temperature_c", "C", "of the air at the hill"),
    NUMBER(pressure_hpa, "pressure-hpa", "air", "pressure_hpa", "HPA",
           "of the air, by a barometer at the hill"),
    NUMBER(pressure_sea_level_hpa, "pressure-sea-level-hpa", "air", "pressure_hpa", "HPA",
           "as a weather report has it, for sea level: it is reduced to the hill's by the recorded "
           "heights and the temperature"),
    NUMBER(humidity_percent, "humidity-percent", "air", "humidity_percent", "PERCENT",
           "of the air, relative"),
    {.name = "elevation",
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, elevation),
     .argument = "KIND",
     .meaning = "where the heights come from, where that is known",
     .choices = cw_elevation_words},
    TEXT(name, "name", 0, "TEXT", "of the outing (default: its date)"),
    FLAG(update, "update",
         "add to an outing file that is there already (-o, or the first argument): recordings that "
         "it does not name, runs, and "
         "whatever else is given; its lines stay as they are"),
    FLAG(no_questions, "no-questions", "ask nothing, also on a terminal"),
    CW_OPTIONS_READING(struct options, "recordings"),
};

/* ---- what is said by options ---- */

static bool read_said(const struct cw_command *command, const struct options *options,
                      struct cw_start_said *said) {
    said->rider_kg = options->rider_kg;
    said->bike_kg = options->bike_kg;
    said->temperature_c = options->temperature_c;
    said->humidity_percent = options->humidity_percent;
    said->pressure_hpa = options->pressure_hpa;
    said->pressure_sea_level_hpa = options->pressure_sea_level_hpa;
    said->name = options->name;
    if (!isnan(said->pressure_hpa) && !isnan(said->pressure_sea_level_hpa)) {
        cw_usage_wrong(command, "give --pressure-hpa or --pressure-sea-level-hpa");
        return false;
    }
    if (!isnan(said->pressure_sea_level_hpa) &&
        !cw_start_is_weather(said->pressure_sea_level_hpa, 0)) {
        cw_usage_wrong(
            command,
            "--pressure-sea-level-hpa is %g hPa, which no weather has at sea level: is it "
            "a barometer's at the hill? Then give --pressure-hpa %g",
            said->pressure_sea_level_hpa, said->pressure_sea_level_hpa);
        return false;
    }
    if (options->utc_offset &&
        !cw_offset_read(options->utc_offset, strlen(options->utc_offset), &said->utc_offset_s)) {
        cw_usage_wrong(command, "--utc-offset is \"%.100s\": give it as +01:00",
                       options->utc_offset);
        return false;
    }
    for (size_t i = 0; i < options->setups.n; i++) {
        struct cw_error error;
        if (cw_start_add_setup(said, options->setups.at[i], &error) >= 0) continue;
        cw_usage_wrong(command, "%s", error.message);
        return false;
    }
    return true;
}

/* A pressure at the hill that its weather cannot have is likely a weather report's. */
static enum cw_exit check_pressure(const struct cw_command *command,
                                   const struct cw_starting *start) {
    double height_m = cw_start_height_m(start), hpa = start->said.pressure_hpa;
    if (!isnan(start->said.pressure_sea_level_hpa) && isnan(height_m))
        return cw_usage_wrong(
            command, "--pressure-sea-level-hpa wants heights to reduce it by, and none are "
                     "recorded: give --pressure-hpa, at the hill");
    if (isnan(hpa) || isnan(height_m) || cw_start_is_weather(hpa, height_m))
        return CW_EXIT_ANSWERED;
    if (cw_start_is_weather(hpa, 0))
        return cw_usage_wrong(
            command,
            "--pressure-hpa is %g hPa, which no weather has at the road's %.0f m: "
            "is it a weather report's? Then give --pressure-sea-level-hpa %g",
            hpa, height_m, hpa);
    return cw_usage_wrong(command,
                          "--pressure-hpa is %g hPa, which no weather has at the road's %.0f m",
                          hpa, height_m);
}

/* The names of --order, parted; pointers into the copy, both to be freed. */
static char **split(char *copy, size_t *n) {
    char **words = calloc(strlen(copy) / 2 + 2, sizeof *words);
    *n = 0;
    for (char *rest = copy, *word; words && (word = strtok_r(rest, " \t\n,", &rest));)
        words[(*n)++] = word;
    return words;
}

static enum cw_exit label(const struct options *options, struct cw_starting *start) {
    struct cw_error error;
    char *copy = strdup(options->order);
    size_t n = 0;
    char **words = copy ? split(copy, &n) : NULL;
    enum cw_status status = words ? cw_start_label(start, (const char *const *)words, n, &error)
                                  : cw_error_memory(&error);
    free(words);
    free(copy);
    if (status >= 0) return CW_EXIT_ANSWERED;
    return error.code == CW_E_DATA ? cw_analyse_refuse(&start->analysis->outings[0], &error)
                                   : cw_message_error(&error);
}

/* ---- where it goes ---- */

static bool ends_with(const char *name, size_t length, const char *ending) {
    size_t n = strlen(ending);
    return length > n && !strncasecmp(name + length - n, ending, n);
}

/* Where one is, as no folder is written into that was only named to be read: RIDE.ini of
 * .../RIDE.gpx.gz and of .../RIDE/, outing.ini of several, and where there is no such name. */
static void default_path(int argc, char *const *argv, struct cw_text *path) {
    const char *name = argc == 1 ? argv[0] : "";
    size_t length = strlen(name);
    while (length && name[length - 1] == '/') length--;
    for (size_t i = length; i > 0; i--)
        if (name[i - 1] == '/') {
            length -= i;
            name += i;
            break;
        }
    if (ends_with(name, length, ".gz")) length -= strlen(".gz");
    if (ends_with(name, length, ".gpx") || ends_with(name, length, ".tcx")) length -= 4;
    if (!length || *name == '.' || !strncmp(name, "-", length))
        cw_text_add(path, "outing.ini");
    else
        cw_text_add(path, "%.*s.ini", (int)length, name);
}

static bool is_standard_output(const char *path) {
    return !strcmp(path, "-");
}

/* Before anybody is asked anything. */
static enum cw_exit check_room(const char *path) {
    struct stat there;
    struct cw_text folder = {0};
    if (is_standard_output(path)) return CW_EXIT_ANSWERED;
    if (!stat(path, &there)) {
        if (!S_ISREG(there.st_mode) && !S_ISDIR(there.st_mode)) return CW_EXIT_ANSWERED;
        if (S_ISREG(there.st_mode) && !there.st_size) return CW_EXIT_ANSWERED;
        cw_message(path, 0,
                   "is there already, and is not written over: give another name with -o, or "
                   "--update to add to it");
        return CW_EXIT_OUTPUT;
    }
    cw_text_add(&folder, "%.*s.", (int)cw_path_folder(path), path);
    bool fine = !folder.failed && !access(folder.bytes, W_OK);
    cw_text_free(&folder);
    if (fine) return CW_EXIT_ANSWERED;
    cw_message(path, 0, "cannot be written: %s; -o puts it elsewhere", cw_reason_text(errno));
    return CW_EXIT_OUTPUT;
}

/* ---- the end ---- */

static void count(const struct cw_analysed *of, size_t *kept, size_t *turned_down) {
    *kept = *turned_down = 0;
    for (size_t i = 0; i < of->runs.n; i++) (*(of->runs.at[i].kept ? kept : turned_down))++;
}

/* What is still to be done before there is an answer, as it is typed. */
static void add_next(const struct cw_starting *start, struct cw_text *text) {
    unsigned lacks = cw_start_lacks(start);
    unsigned masses = lacks & (CW_LACKS_RIDER | CW_LACKS_BIKE);
    if (masses) {
        cw_text_add(text,
                    "Missing: the mass of the %s. Fill it in there, or type\n  coastwise start "
                    "--update ",
                    masses == (CW_LACKS_RIDER | CW_LACKS_BIKE) ? "rider, and that of the bicycle"
                    : lacks & CW_LACKS_RIDER                   ? "rider"
                                                               : "bicycle");
        cw_text_add_word(text, start->path);
        cw_text_add(text, "%s%s\n", lacks & CW_LACKS_RIDER ? " --rider-kg KG" : "",
                    lacks & CW_LACKS_BIKE ? " --bike-kg KG" : "");
    }
    struct cw_ride_kind ride = cw_ride_kind_of(&start->analysis->outings[0]);
    if (ride.tests && lacks & (CW_LACKS_SETUPS | CW_LACKS_ORDER)) {
        bool goes_on = start->updates && start->analysis->outings[0].outing.order.n;
        cw_text_add(text, "To compare setups, give %s, there or by\n  coastwise start --update ",
                    lacks & CW_LACKS_SETUPS ? "them and which run was in which"
                    : goes_on               ? "those of the new runs"
                                            : "which run was in which");
        cw_text_add_word(text, start->path);
        cw_text_add(text, " --order \"%s\"\n", goes_on ? "..." : "A B B A ...");
    }
    if (!ride.tests)
        cw_text_add(text,
                    "This is no test to compare setups by: no road was coasted often enough.\n");
    cw_text_add(text, "%s\n  coastwise %s ", masses ? "Then" : "Now type",
                lacks & (CW_LACKS_SETUPS | CW_LACKS_ORDER) ? "fit" : "compare");
    cw_text_add_word(text, start->path);
    cw_text_add(text, "\n");
}

static enum cw_exit summarise(const struct cw_starting *start, bool same) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    struct cw_text text = {0};
    size_t kept, turned_down;
    count(of, &kept, &turned_down);
    cw_text_add(&text, "%s ", same ? "Nothing to add to" : start->updates ? "Added to" : "Wrote");
    cw_utf8_add_shown(&text, start->path);
    bool elsewhere = start->n_recordings && cw_path_folder(start->recordings[0]);
    cw_text_add(&text, "%s: %zu %s kept, %zu turned down\n",
                elsewhere && !start->updates && !cw_path_folder(start->path) ? " in this folder"
                                                                             : "",
                kept, kept == 1 ? "run" : "runs", turned_down);
    if (kept) add_next(start, &text);
    return cw_output_write(&text);
}

/* Whether an update changes nothing. */
static bool is_same(const struct cw_starting *start, const struct cw_text *text) {
    return start->updates && text->length == start->length &&
           !memcmp(text->bytes, start->bytes, text->length);
}

static enum cw_exit write_out(struct cw_starting *start) {
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_status status = cw_start_make(start, &text, &error);
    if (status >= 0 && is_standard_output(start->path)) return cw_output_write(&text);
    bool same = status >= 0 && is_same(start, &text);
    if (status >= 0 && !same)
        status = (start->updates ? cw_file_write : cw_file_write_new)(start->path, text.bytes,
                                                                      text.length, &error);
    cw_text_free(&text);
    return status < 0 ? cw_message_error(&error) : summarise(start, same);
}

/* ---- the way ---- */

static enum cw_exit ask(const struct options *options, struct cw_starting *start) {
    struct cw_error error;
    enum cw_exit status = CW_EXIT_ANSWERED;
    bool asks = !options->no_questions && cw_ask_can();
    cw_progress_end();
    if (asks) status = cw_ask_masses(start);
    if (status == CW_EXIT_ANSWERED && asks && cw_start_find(start, &error) < 0)
        return cw_message_error(&error);
    if (status == CW_EXIT_ANSWERED && options->order) status = label(options, start);
    if (status == CW_EXIT_ANSWERED && asks && !options->order) status = cw_ask_setups(start);
    return status == CW_EXIT_ANSWERED && asks ? cw_ask_air(start) : status;
}

/* From recordings that are named to the file. */
static enum cw_exit go(const struct cw_command *command, const struct options *options,
                       struct cw_starting *start, struct cw_analysis *analysis) {
    struct cw_error error;
    if (cw_analysis_open_files(analysis, (const char *const *)start->recordings,
                               start->n_recordings, &error) < 0)
        return cw_message_error(&error);
    if (analysis->outings[0].has_file)
        return cw_usage_wrong(command, "%s is an outing file already; --update adds to it",
                              start->recordings[0]);
    if (cw_analysis_find(analysis, &error) < 0 ||
        cw_start_adopt(start, analysis, options->elevation, &error) < 0 ||
        cw_start_find(start, &error) < 0)
        return cw_message_error(&error);
    enum cw_exit status = check_pressure(command, start);
    if (status == CW_EXIT_ANSWERED) status = ask(options, start);
    if (status == CW_EXIT_ANSWERED) status = write_out(start);
    if (status != CW_EXIT_ANSWERED) return status;
    if (cw_analysed_check(&analysis->outings[0], false, &error) < 0)
        status = cw_message_error(&error);
    return status;
}

static enum cw_exit start_at(const struct cw_command *command, const struct options *options,
                             const char *path, const struct cw_gathered *files) {
    struct cw_analysis analysis;
    struct cw_starting start;
    struct cw_error error;
    enum cw_exit status = options->update ? CW_EXIT_ANSWERED : check_room(path);
    if (status != CW_EXIT_ANSWERED) return status;
    cw_analyse_begin(&analysis, true, &options->reading);
    if (cw_start_begin(&start, path, options->update, files->paths, files->n, &error) < 0)
        status = cw_message_error(&error);
    analysis.options.level = options->elevation ? !strcmp(options->elevation, "level")
                                                : start.begun.elevation_given &&
                                                      start.begun.elevation == CW_ELEVATION_LEVEL;
    if (status == CW_EXIT_ANSWERED && !read_said(command, options, &start.said))
        status = CW_EXIT_USAGE;
    if (status == CW_EXIT_ANSWERED) status = go(command, options, &start, &analysis);
    status = cw_analyse_end(&analysis, files, status);
    cw_start_free(&start);
    cw_analysis_free(&analysis);
    return status;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {.rider_kg = NAN,
                              .bike_kg = NAN,
                              .temperature_c = NAN,
                              .pressure_hpa = NAN,
                              .pressure_sea_level_hpa = NAN,
                              .humidity_percent = NAN};
    struct cw_text path = {0};
    struct cw_gathered files = {0};
    struct cw_error error;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (options.update && !options.output && first < argc) options.output = argv[first++];
    bool names = first < argc || options.reading.files_from;
    if (!names && !options.update) return cw_usage_wrong(command, "give recordings");
    if (options.update && (!options.output || is_standard_output(options.output)))
        return cw_usage_wrong(command, "give the outing file that is added to");
    status = cw_gather(argc - first, argv + first, &options.reading, CW_WANTED_RECORDINGS, &files);
    if (status == CW_EXIT_ANSWERED) {
        if (options.output)
            cw_text_add(&path, "%s", options.output);
        else
            default_path(options.reading.files_from ? 0 : argc - first, argv + first, &path);
        if (path.failed) cw_error_memory(&error);
        status = path.failed ? cw_message_error(&error)
                             : start_at(command, &options, path.bytes, &files);
    }
    cw_text_free(&path);
    cw_gathered_free(&files);
    return status;
}

const struct cw_command cw_command_start = {
    .name = "start",
    .arguments = "RECORDING... | FOLDER... | --update OUTING [RECORDING...]",
    .summary = "an outing file from recordings, what they can't tell asked for",
    .description =
        "Finds the runs in the recordings and writes an outing file, which is what fit, compare "
        "and "
        "report begin with. In it stands what the recordings tell: the date, where the heights "
        "come "
        "from, the device's temperature, and the runs with their numbers, clock times, lengths and "
        "top speeds, to write their setups beside. What is guessed is marked so.\n\nWhat only the "
        "rider knows (masses, setups and which run was in which, the air) is taken from options, "
        "or "
        "asked for on a terminal, where an empty answer leaves a thing out; what is neither stands "
        "in the file as a comment to fill in. Only the masses have to be there before fit reads "
        "it. Where standard input is no terminal, nothing is asked.\n\nAn outing file that is "
        "there "
        "is never written over. With --update, recordings that it does not name yet, runs that it "
        "does not tell of and whatever else is given are added to it, and every line in it stays "
        "as "
        "it is, but for those that were left to be filled in. Setups by --order are then those of "
        "the new runs. Where new runs lie between others, their recording gets an order of its "
        "own.\n\nFor example, after four runs with and without a bag of 2.5 kg:\n\ncoastwise start "
        "ride.gpx --rider-kg 71.5 --bike-kg 9.2 --setup plain --setup bag:2.5 --order \"plain bag "
        "bag plain\" && coastwise compare ride.ini",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
