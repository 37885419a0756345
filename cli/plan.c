/* coastwise plan: what to ride. */
#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>
#include <sys/stat.h>

#include "analyse.h"
#include "commands.h"
#include "options.h"
#include "output.h"
#include "page/room.h"
#include "page/sheet.h"
#include "plan/loose.h"
#include "plan/plan.h"
#include "report/plan_report.h"
#include "simulate/settings.h"

struct options {
    struct cw_plan_options plan;
    const char *road, *like, *recorder, *setups, *sheet, *outing, *units;
    double start_speed_ms;
    long runs, seed, limit_mb;
    bool json, csv;
};

#define TEXT(field, option, argument_, meaning_)                                                   \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_TEXT, .offset = offsetof(struct options, field),         \
        .argument = argument_, .meaning = meaning_                                                 \
    }
#define NUMBER(field, option, argument_, low_, high_, meaning_)                                    \
    {.name = option,                                                                               \
     .kind = CW_OPTION_NUMBER,                                                                     \
     .offset = offsetof(struct options, plan.field),                                               \
     .argument = argument_,                                                                        \
     .low = low_,                                                                                  \
     .high = high_,                                                                                \
     .meaning = meaning_},
#define COUNT(field, option, low_, high_, meaning_)                                                \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_COUNT, .offset = offsetof(struct options, field),        \
        .argument = "N", .low = low_, .high = high_, .meaning = meaning_                           \
    }

static const struct cw_option table[] = {
    TEXT(road, "road", "ROAD",
         "the road: segments METRES:PERCENT,... of length and slope (negative is down), or one of "
         "straight, flattening, dip and steep, as in simulate; or a recording or an outing whose "
         "road it is (default: that of --like)"),
    TEXT(like, "like", "OUTING",
         "an earlier outing whose recorder, air, gusts and winds are expected again, and whose "
         "masses, CdA, Crr, start speed and road are taken where they are not given"),
    CW_PLAN_GUESSES(NUMBER) COUNT(
        runs, "runs", 2, CW_SIMULATE_RUNS_MAX / 2,
        "plan so many runs of each setup, and say what they find (default: as many as find the "
        "difference 8 times in 10)"),
    TEXT(setups, "setups", "NAMES", "names of two to twelve setups, with commas (default a,b)"),
    {.name = "start-speed-ms",
     .kind = CW_OPTION_NUMBER,
     .offset = offsetof(struct options, start_speed_ms),
     .argument = "N",
     .low = 0,
     .high = 15,
     .meaning =
         "speed when pedalling stops; 0 is a held start from rest (default 4, or as --like)"},
    {.name = "recorder",
     .kind = CW_OPTION_TEXT,
     .offset = offsetof(struct options, recorder),
     .argument = "KIND",
     .meaning = "what records, where --like does not say it (default wheel)",
     .word = cw_plan_recorder_word},
    CW_PLAN_DAY(NUMBER)
        COUNT(seed, "seed", 0, 4294967295.0,
              "which random order, of more than two setups; the same make the same (default 1)"),
    TEXT(
        sheet, "sheet", "SHEET.html",
        "write a sheet to print, with the runs and room for what must be written down, in --units: "
        "a page where the name ends in .html, else text"),
    TEXT(outing, "outing", "OUTING.ini",
         "write an outing file to fill in; one that is there is never written over"),
    CW_OPTIONS_FORMAT(struct options, "the runs"),
    CW_OPTION_UNITS(struct options),
    CW_OPTION_LIMIT(struct options),
};

static enum cw_exit take_setups(const struct cw_command *command, struct options *options) {
    struct cw_error error;
    enum cw_status status =
        options->setups ? cw_plan_set(&options->plan, "setups", options->setups, &error) : CW_OK;
    return status >= 0             ? CW_EXIT_ANSWERED
           : status == CW_E_MEMORY ? cw_message_error(&error)
                                   : cw_usage_wrong(command, "--%s", error.message);
}

/* ---- what it is planned by ---- */

static enum cw_exit open_like(struct cw_analysis *analysis, const char *path,
                              struct options *options) {
    enum cw_exit status = cw_analyse_outings(analysis, (char *const *)&path, 1);
    if (status == CW_EXIT_ANSWERED) options->plan.like = &analysis->outings[0];
    return status;
}

/* A recording or an outing, for its road. */
static enum cw_exit open_road(struct cw_analysis *analysis, struct options *options) {
    struct cw_error error;
    double mass_kg = options->plan.mass_kg;
    if (isnan(mass_kg) && options->plan.like)
        mass_kg = options->plan.like->outing.rider.mass_kg +
                  options->plan.like->outing.rider.bike_mass_kg;
    if (cw_analysis_open_files(analysis, &options->road, 1, &error) < 0)
        return cw_message_error(&error);
    if (!analysis->outings[0].has_file) {
        if (isnan(mass_kg)) {
            cw_message(options->road, 0, "is a recording, which has no mass: give --mass-kg");
            return CW_EXIT_USAGE;
        }
        cw_plan_loose_outing(&analysis->outings[0], mass_kg);
    }
    if (cw_analysis_find(analysis, &error) < 0 || cw_analysis_fit(analysis, &error) < 0)
        return cw_message_error(&error);
    cw_progress_end();
    options->plan.road = &analysis->outings[0];
    return CW_EXIT_ANSWERED;
}

/* Whether the text is meant as segments, and not as a file's name. */
static bool is_segments(const char *road) {
    struct stat there;
    return strchr(road, ':') && strspn(road, "0123456789.") && stat(road, &there) != 0;
}

static enum cw_exit take_road(const struct cw_command *command, struct cw_analysis *analysis,
                              struct options *options) {
    struct cw_error error;
    if (!options->road) {
        options->plan.road = options->plan.like;
        return CW_EXIT_ANSWERED;
    }
    if (!cw_simulate_set(&options->plan.day, "road", options->road, &error))
        return CW_EXIT_ANSWERED;
    if (is_segments(options->road)) return cw_usage_wrong(command, "--%s", error.message);
    return open_road(analysis, options);
}

/* ---- what is written ---- */

static bool ends_in(const char *path, const char *ending) {
    size_t length = strlen(path), of = strlen(ending);
    return length >= of && !strcmp(path + length - of, ending);
}

/* Whether nothing is there, which would be lost. */
static bool is_free(const char *path) {
    struct stat there;
    if (stat(path, &there) != 0 && errno == ENOENT) return true;
    cw_message(path, 0, "is there already and is not written over: give another name");
    return false;
}

static enum cw_exit check_room(const struct options *options) {
    struct cw_error error;
    if (options->outing && !is_free(options->outing)) return CW_EXIT_OUTPUT;
    if (!options->sheet) return CW_EXIT_ANSWERED;
    if (!ends_in(options->sheet, ".html"))
        return is_free(options->sheet) ? CW_EXIT_ANSWERED : CW_EXIT_OUTPUT;
    if (cw_page_check_room(options->sheet, &error) >= 0) return CW_EXIT_ANSWERED;
    cw_message(options->sheet, 0,
               "is there already and is no page that coastwise made: give another name");
    return CW_EXIT_OUTPUT;
}

static enum cw_exit write_files(const struct cw_plan *plan, const struct options *options) {
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_exit status = CW_EXIT_ANSWERED;
    enum cw_units units = cw_output_look_in(options->units).units;
    if (options->sheet) {
        enum cw_status made = ends_in(options->sheet, ".html")
                                  ? cw_page_sheet_add(plan, units, &text, &error)
                                  : cw_report_plan_sheet(plan, units, &text, &error);
        status = made < 0 ? cw_message_error(&error) : cw_output_write_file(options->sheet, &text);
        cw_text_free(&text);
    }
    if (options->outing && status == CW_EXIT_ANSWERED) {
        status = cw_report_plan_outing(plan, &text, &error) < 0
                     ? cw_message_error(&error)
                     : cw_output_write_file(options->outing, &text);
        cw_text_free(&text);
    }
    return status;
}

static enum cw_exit answer(const struct cw_plan *plan, const struct options *options) {
    struct cw_look look = cw_output_look_in(options->units);
    struct cw_text text = {0};
    struct cw_error error;
    enum cw_exit status = check_room(options);
    if (status == CW_EXIT_ANSWERED) status = write_files(plan, options);
    if (status != CW_EXIT_ANSWERED) return status;
    enum cw_status made = options->json  ? cw_report_plan_json(plan, &text, &error)
                          : options->csv ? cw_report_plan_csv(plan, &text, &error)
                                         : cw_report_plan_table(plan, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

/* What is missing is asked for before anything is read. */
static bool complete(const struct cw_command *command, const struct options *options) {
    const struct cw_plan_options *plan = &options->plan;
    const char *missing = NULL;
    if (!options->like) {
        if (isnan(plan->mass_kg)) missing = "--mass-kg";
        if (isnan(plan->crr)) missing = "--crr";
        if (isnan(plan->cda_m2)) missing = "--cda";
        if (!options->road) missing = "--road";
    }
    if (missing)
        cw_usage_wrong(command, "give %s, or an outing to be --like", missing);
    else if (isnan(plan->difference_percent) && !options->runs)
        cw_usage_wrong(command, "give --difference-percent or --runs");
    else if (options->json && options->csv)
        cw_usage_wrong(command, "give --json or --csv");
    else if (options->sheet && options->outing && !strcmp(options->sheet, options->outing))
        cw_usage_wrong(command, "--sheet and --outing have one name: give two");
    else if ((options->sheet && !*options->sheet) || (options->outing && !*options->outing))
        cw_usage_wrong(command, "--sheet and --outing need a name: give one");
    else
        return true;
    return false;
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options options = {.plan = cw_plan_options_default(), .seed = 1, .start_speed_ms = NAN};
    struct cw_analysis like, road;
    struct cw_plan plan;
    struct cw_error error;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &options, &first, &status)) return status;
    if (first != argc) return cw_usage_wrong(command, "takes no argument \"%s\"", argv[first]);
    if (!complete(command, &options)) return CW_EXIT_USAGE;
    status = take_setups(command, &options);
    if (status != CW_EXIT_ANSWERED) return status;
    if (options.recorder) cw_plan_recorder_named(options.recorder, &options.plan.recorder);
    options.plan.start_speed_given = !isnan(options.start_speed_ms);
    if (options.plan.start_speed_given) options.plan.day.start_speed_ms = options.start_speed_ms;
    options.plan.runs = (size_t)options.runs;
    options.plan.seed = (unsigned long)options.seed;
    const struct cw_files_options reading = {.limit_mb = options.limit_mb};
    options.plan.threads = cw_analyse_threads(&reading);
    cw_analyse_begin(&like, false, &reading);
    cw_analyse_begin(&road, false, &reading);
    status = options.like ? open_like(&like, options.like, &options) : CW_EXIT_ANSWERED;
    if (status == CW_EXIT_ANSWERED) status = take_road(command, &road, &options);
    if (status == CW_EXIT_ANSWERED) {
        enum cw_status made = cw_plan_make(&options.plan, &plan, &error);
        status = made == CW_E_ARGUMENT ? cw_usage_wrong(command, "%s", error.message)
                 : made < 0            ? cw_message_error(&error)
                                       : answer(&plan, &options);
        if (made >= 0) cw_plan_free(&plan);
    }
    cw_analysis_free(&road);
    cw_analysis_free(&like);
    return status;
}

const struct cw_command cw_command_plan = {
    .name = "plan",
    .arguments = "",
    .summary = "what to ride: runs needed, their order, cautions",
    .description =
        "Says, before anybody rides, how fast a run will be and how far it is to a stand from "
        "there; how many runs of each setup find a wanted difference in CdA 8 and 9 times in 10; "
        "in which order to ride them, and how long that takes; what one run tells; which part of "
        "the road teaches most, whether a slow start costs anything, whether Crr can be told from "
        "CdA here, how well two sets of tyres would be told apart, and from which wind on it is "
        "not "
        "worth going.\n\nRuns are coasted as they are "
        "expected and go through the same equations as recordings do, and through the same "
        "comparison, over all that winds and recorder may do: what is promised is what compare "
        "will then say. By itself it takes light air: gusts within a run, and winds that do not "
        "differ from run to run. On an ordinary day they differ by 0.3 to 0.7 m/s, which takes far "
        "more runs: give --run-wind-sd-ms, or, better, an outing that was ridden on such a day, "
        "--like it.\n\nTwo setups take turns as ABBA, so that a drift over the outing does not "
        "pass for a difference; of more each block of runs holds all, in an order that is drawn, "
        "and every second block is the one before it backwards. A road that is too fast (over 60 "
        "km/h) or too steep (over 12 %) to be coasted safely is called so, above all else. Local "
        "traffic law and a qualified mechanic's judgement come before anything printed.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
