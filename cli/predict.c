/* coastwise predict: another road, another day. */
#include "predict/predict.h"

#include <ctype.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "analyse.h"
#include "analysis/inputs.h"
#include "base/print.h"
#include "commands.h"
#include "options.h"
#include "output.h"
#include "page/room.h"
#include "picture/predicted.h"
#include "predict/road.h"
#include "report/predict_report.h"

struct options {
    const char *road, *from, *setup, *picture, *units;
    const char *number[CW_PREDICT_NUMBER_NAMES];
    struct cw_option_texts with;
    double worth_kg, wanted_time_s;
    long run, limit_mb;
    bool whole, no_bearings, json, csv, force;
};

#define TEXT(field, option, argument_, meaning_)                                                   \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_TEXT, .offset = offsetof(struct options, field),         \
        .argument = argument_, .meaning = meaning_                                                 \
    }
#define NUMBER(name_, key, low_, high_, meaning_)                                                  \
    {.name = key,                                                                                  \
     .kind = CW_OPTION_TEXT,                                                                       \
     .offset = offsetof(struct options, number[CW_PREDICT_##name_]),                               \
     .argument = "N",                                                                              \
     .meaning = meaning_ " (" #low_ " to " #high_ ")"},
#define ASKED(field, key, argument_, low_, high_, meaning_)                                        \
    {.name = key,                                                                                  \
     .kind = CW_OPTION_NUMBER,                                                                     \
     .offset = offsetof(struct options, field),                                                    \
     .argument = argument_,                                                                        \
     .low = low_,                                                                                  \
     .high = high_,                                                                                \
     .meaning = meaning_},
#define FLAG(field, option, meaning_)                                                              \
    {                                                                                              \
        .name = option, .kind = CW_OPTION_FLAG, .offset = offsetof(struct options, field),         \
        .meaning = meaning_                                                                        \
    }

static const struct cw_option table[] = {
    TEXT(road, "road", "ROAD",
         "where: slopes METRES:PERCENT,... (negative is down), as `coastwise simulate` has them, "
         "or its straight, flattening, dip or steep; or a recording; or an outing file"),
    {.name = "run",
     .kind = CW_OPTION_COUNT,
     .offset = offsetof(struct options, run),
     .argument = "N",
     .low = 1,
     .high = 1e9,
     .meaning = "of a recording, along run N of `coastwise runs`; the longest run kept where "
                "neither this nor --whole is given"},
    FLAG(whole, "whole", "of a recording, all the way, from its first point to its last"),
    TEXT(from, "from", "OUTING",
         "take CdA, Crr, masses and air from this outing's fit; of --road where that is an outing"),
    TEXT(setup, "setup", "SETUP",
         "the outing's setup to begin with; the first where it is not given"),
    {.name = "with",
     .kind = CW_OPTION_TEXTS,
     .offset = offsetof(struct options, with),
     .argument = "CHANGES",
     .meaning = "KEY=VALUE,...: beside it the same ride with that changed, and the differences; "
                "the keys are setup and the numbers' options below without their dashes; may be "
                "given again and again. Of an outing, its other setups where it is not given"},
    CW_PREDICT_NUMBERS(NUMBER) CW_PREDICT_ASKED(ASKED)
        FLAG(no_bearings, "no-bearings", "leave the friction of bearings out, as closed forms do"),
    TEXT(picture, "picture", "FILE.svg", "write speed along the road to FILE.svg"),
    FLAG(force, "force",
         "write over FILE.svg even where it is no page or picture made by coastwise; never over "
         "what "
         "was read"),
    CW_OPTIONS_FORMAT(struct options, "the whole way"),
    CW_OPTION_UNITS(struct options),
    CW_OPTION_LIMIT(struct options),
};

/* All that a prediction stands on. */
struct job {
    const struct options *given;
    struct cw_analysis of_road, of_from; /* opened where of_..._open */
    bool road_open, from_open;
    struct cw_predict_road road;
    struct cw_predict_options options;
    struct cw_predict_case *with;
};

static void job_free(struct job *job) {
    cw_predict_road_free(&job->road);
    if (job->road_open) cw_analysis_free(&job->of_road);
    if (job->from_open) cw_analysis_free(&job->of_from);
    free(job->with);
}

/* What begins with a digit and is no file was meant for slopes. */
static bool meant_for_slopes(const char *text) {
    return isdigit((unsigned char)text[0]) && access(text, F_OK) != 0;
}

/* Fits an outing that is open, and its setups. */
static enum cw_exit fit_outing(struct cw_analysis *analysis) {
    struct cw_error error;
    if (cw_analysed_check(&analysis->outings[0], false, &error) < 0 ||
        cw_analysis_fit(analysis, &error) < 0)
        return cw_message_error(&error);
    enum cw_exit status = cw_analyse_need_setups(analysis);
    if (status != CW_EXIT_ANSWERED) return status;
    if (cw_analysis_average(analysis, &error) < 0) return cw_message_error(&error);
    cw_progress_end();
    return CW_EXIT_ANSWERED;
}

/* The road of a recording or an outing. */
static enum cw_exit open_road(const struct cw_command *command, struct job *job) {
    const struct options *given = job->given;
    struct cw_error error;
    cw_analyse_begin(&job->of_road, true, &(struct cw_files_options){.limit_mb = given->limit_mb});
    job->road_open = true;
    struct cw_analysed *of;
    if (cw_analysis_open_files(&job->of_road, &given->road, 1, &error) < 0)
        return cw_message_error(&error);
    of = &job->of_road.outings[0];
    if (of->has_file && (given->run || given->whole))
        return cw_usage_wrong(command, "--run and --whole are of a recording, not of an outing");
    /* All the way needs no runs. */
    if (given->whole) {
        struct cw_motion motion;
        enum cw_status status = cw_motion_make(&of->recordings[0], &motion, &error);
        if (status >= 0)
            status = cw_predict_road_of_way(&of->recordings[0], &motion, &job->road, &error);
        cw_motion_free(&motion);
        return status < 0 ? cw_message_error(&error) : CW_EXIT_ANSWERED;
    }
    if (cw_analysis_find(&job->of_road, &error) < 0) return cw_message_error(&error);
    enum cw_exit status = of->has_file ? fit_outing(&job->of_road) : CW_EXIT_ANSWERED;
    if (status != CW_EXIT_ANSWERED) return status;
    enum cw_status made = of->has_file ? cw_predict_road_of_outing(of, &job->road, &error)
                                       : cw_predict_road_of_run(of, given->run, &job->road, &error);
    if (made < 0) return cw_message_error(&error);
    if (of->has_file) job->options.from = of;
    return CW_EXIT_ANSWERED;
}

static enum cw_exit find_road(const struct cw_command *command, struct job *job) {
    const struct options *given = job->given;
    struct cw_error error;
    if (cw_predict_road_of_slopes(given->road, &job->road, &error) < 0) {
        cw_predict_road_free(&job->road);
        return meant_for_slopes(given->road) ? cw_usage_wrong(command, "--%s", error.message)
                                             : open_road(command, job);
    }
    if (given->run || given->whole)
        return cw_usage_wrong(command, "--run and --whole are of a recording");
    return CW_EXIT_ANSWERED;
}

static enum cw_exit open_from(struct job *job) {
    if (!job->given->from) return CW_EXIT_ANSWERED;
    cw_analyse_begin(&job->of_from, true,
                     &(struct cw_files_options){.limit_mb = job->given->limit_mb});
    job->from_open = true;
    char *path = (char *)job->given->from;
    enum cw_exit status = cw_analyse_outings(&job->of_from, &path, 1);
    if (status == CW_EXIT_ANSWERED) status = cw_analyse_need_setups(&job->of_from);
    if (status != CW_EXIT_ANSWERED) return status;
    struct cw_error error;
    if (cw_analysis_average(&job->of_from, &error) < 0) return cw_message_error(&error);
    job->options.from = &job->of_from.outings[0];
    return CW_EXIT_ANSWERED;
}

static enum cw_exit read_cases(const struct cw_command *command, struct job *job) {
    static const char *const keys[] = {
#define KEY(name, key, low, high, meaning) key,
        CW_PREDICT_NUMBERS(KEY)
#undef KEY
    };
    const struct options *given = job->given;
    struct cw_error error;
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES; i++)
        if (given->number[i] &&
            cw_predict_set(&job->options.base, keys[i], given->number[i], &error) < 0)
            return cw_usage_wrong(command, "--%s", error.message);
    if (given->setup && cw_predict_set(&job->options.base, "setup", given->setup, &error) < 0)
        return cw_usage_wrong(command, "--%s", error.message);
    job->with = calloc(CW_OPTION_TEXTS_MOST, sizeof *job->with);
    if (!job->with) {
        cw_error_memory(&error);
        return cw_message_error(&error);
    }
    for (size_t i = 0; i < CW_OPTION_TEXTS_MOST; i++) job->with[i] = cw_predict_case_none();
    job->options.with = job->with;
    for (size_t i = 0; i < given->with.n; i++) {
        if (cw_predict_set_all(&job->with[i], given->with.at[i], &error) < 0)
            return cw_usage_wrong(command, "--with: %s", error.message);
        job->options.n_with++;
    }
    return CW_EXIT_ANSWERED;
}

static enum cw_exit write_picture(const struct job *job, const struct cw_prediction *prediction) {
    const char *path = job->given->picture;
    struct cw_text text = {0};
    struct cw_error error;
    if ((job->road_open && cw_analysis_reads(&job->of_road, path)) ||
        (job->from_open && cw_analysis_reads(&job->of_from, path))) {
        cw_message(path, 0, "is read for this and is not written over: give another name");
        return CW_EXIT_USAGE;
    }
    if (!job->given->force && cw_page_check_room(path, &error) < 0) {
        cw_message_error(&error);
        return CW_EXIT_OUTPUT;
    }
    if (cw_picture_predicted_add(prediction, cw_output_look_in(job->given->units).units, &text,
                                 &error) >= 0)
        return cw_output_write_file(path, &text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

static enum cw_exit write_answer(const struct job *job, const struct cw_prediction *prediction) {
    struct cw_text text = {0};
    struct cw_error error;
    struct cw_look look = cw_output_look_in(job->given->units);
    enum cw_exit status = job->given->picture ? write_picture(job, prediction) : CW_EXIT_ANSWERED;
    if (status != CW_EXIT_ANSWERED) return status;
    enum cw_status made = job->given->json ? cw_report_predict_json(prediction, &text, &error)
                          : job->given->csv
                              ? cw_report_predict_csv(prediction, &text, &error)
                              : cw_report_predict_table(prediction, &look, &text, &error);
    if (made >= 0) return cw_output_write(&text);
    cw_text_free(&text);
    return cw_message_error(&error);
}

static enum cw_exit run(const struct cw_command *command, int argc, char **argv) {
    struct options given = {0};
    struct job job = {.given = &given, .options = cw_predict_options_default()};
    struct cw_prediction prediction = {0};
    struct cw_error error;
    enum cw_exit status;
    int first;
    if (!cw_options_read(command, argc, argv, &given, &first, &status)) return status;
    if (first != argc)
        return cw_usage_wrong(command, "takes no argument \"%s\"%s", argv[first],
                              strchr(argv[first], '=') ? "; changes go into --with, with commas"
                                                       : "");
    if (!given.road) return cw_usage_wrong(command, "give --road ROAD");
    if (given.json && given.csv) return cw_usage_wrong(command, "give --json or --csv");
    if (given.run && given.whole) return cw_usage_wrong(command, "give --run or --whole");
    status = read_cases(command, &job);
    if (status == CW_EXIT_ANSWERED) status = find_road(command, &job);
    if (status == CW_EXIT_ANSWERED) status = open_from(&job);
    if (status != CW_EXIT_ANSWERED) goto cleanup;
    job.options.road = &job.road;
    job.options.worth_kg = given.worth_kg;
    job.options.wanted_time_s = given.wanted_time_s;
    job.options.no_bearings = given.no_bearings;
    job.options.trace = given.csv || given.picture;
    if (job.options.from && !given.with.n)
        job.options.n_with = cw_predict_with_setups(&job.options, job.with, CW_OPTION_TEXTS_MOST);
    enum cw_status made = cw_predict(&job.options, &prediction, &error);
    if (made == CW_E_ARGUMENT)
        status = cw_usage_wrong(command, "%s", error.message);
    else
        status = made < 0 ? cw_message_error(&error) : write_answer(&job, &prediction);
cleanup:
    cw_prediction_free(&prediction);
    job_free(&job);
    return status;
}

const struct cw_command cw_command_predict = {
    .name = "predict",
    .arguments = "",
    .summary = "time, speeds and run-out on a slope or a recorded road",
    .description =
        "Rides a road from given CdA, Crr and mass, or from an outing's as they were fitted: how "
        "long it takes, how fast it gets and where, where it would stand still, how far it takes "
        "to stop. With --power-w it is pedalled, on the level or uphill too.\n\nA number is given "
        "as N or as N+-U, U being its standard uncertainty: it is carried through to what is "
        "predicted, and where --with changes something, to the difference, in which what both "
        "rides share cancels. Of an outing CdA and Crr come with all that the fit does not know "
        "of them, and how that is correlated: the difference of two setups on a road is far surer "
        "than the time of either.\n\nSlopes meet at corners. A recorded road is as its heights "
        "are, smoothed over some 20 m; the ride on it starts as fast as the recorded one, where "
        "--start-speed-ms does not say otherwise. Air is the same all along the road. Where it "
        "gets warmer with --with, tyres roll better, by 1.2 % a kelvin (standard uncertainty "
        "0.5 %), unless Crr is given there too.\n\nStopping distances are for a dry road: a second "
        "until the brakes act, then brakes as good as ISO 4210-2 asks of a city bicycle. Speeds "
        "and distances are estimates, and no advice to ride so.",
    .options = table,
    .n_options = sizeof table / sizeof *table,
    .run = run,
};
