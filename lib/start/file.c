/* The text of an outing file that is begun or added to. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/label.h"
#include "analysis/ride_kind.h"
#include "base/number.h"
#include "base/path.h"
#include "base/version.h"
#include "outing/keys.h"
#include "outing/read.h"
#include "outing/update.h"
#include "outing/write.h"
#include "physics/air.h"
#include "start/added.h"
#include "start/start.h"

static const char rider_words[] =
    "The rider with clothes, shoes, helmet and all that is carried, on a scale.";
static const char bike_words[] = "The bicycle with bottles and bags: the scale with both, less the "
                                 "rider.";
static const char fill_in[] = "\n" CW_START_FILL_IN "\n" CW_START_MASS;
static const char guessed_wheels[] = "guessed: usual for a road bicycle's";

/* ---- what is known only now ---- */

static void set_air(struct cw_starting *start) {
    struct cw_outing *outing = &start->analysis->outings[0].outing;
    const struct cw_start_said *said = &start->said;
    if (isfinite(said->temperature_c)) outing->air.temperature_c = said->temperature_c;
    if (isfinite(said->humidity_percent)) outing->air.humidity_percent = said->humidity_percent;
    if (isfinite(said->pressure_hpa)) outing->air.pressure_hpa = said->pressure_hpa;
    if (isfinite(said->pressure_sea_level_hpa)) {
        outing->air.pressure_hpa = cw_start_pressure_hpa(start, said->pressure_sea_level_hpa);
        outing->air.pressure_uncertainty_hpa = CW_REDUCED_ERROR_HPA;
    }
    if (isnan(said->temperature_c)) {
        struct cw_device_air device = cw_start_device_air(start);
        if (!device.n) return;
        outing->air.temperature_c = round(10 * device.temperature_c) / 10;
        outing->air.temperature_uncertainty_c = round(10 * device.uncertainty_c) / 10;
    }
}

static void day_of(const struct cw_starting *start, double unix_s, char day[64]) {
    cw_time_write(unix_s + start->analysis->outings[0].outing.utc_offset_s, day, 64);
    day[strcspn(day, "T")] = '\0';
}

/* The first day that was ridden, and the last. */
static enum cw_status set_name(struct cw_starting *start, struct cw_error *error) {
    struct cw_analysed *of = &start->analysis->outings[0];
    double first_s = NAN, last_s = NAN;
    char first[64], last[64];
    struct cw_text name = {0};
    for (size_t i = 0; i < of->n_recordings; i++) {
        const struct cw_samples *samples = &of->recordings[i].samples;
        if (!samples->n) continue;
        first_s = fmin(first_s, samples->time_s[0]);
        last_s = fmax(last_s, samples->time_s[0]);
    }
    day_of(start, first_s, first);
    day_of(start, last_s, last);
    if (start->said.name)
        cw_text_add(&name, "%s", start->said.name);
    else
        cw_text_add(&name, "%s%s%s", first, strcmp(first, last) ? " to " : "",
                    strcmp(first, last) ? last : "");
    free(of->outing.name);
    of->outing.name = name.bytes; /* taken over */
    return name.failed ? cw_error_memory(error) : CW_OK;
}

/* ---- comments of a file that is begun ---- */

enum { COMMENTS_MOST = 20 };

struct comments {
    size_t n;
    struct cw_outing_comment at[COMMENTS_MOST];
    struct cw_text above[COMMENTS_MOST], behind[COMMENTS_MOST];
};

/* The texts to fill in of one more comment; key NULL: of the section. */
static size_t comment(struct comments *comments, const char *section, const char *key) {
    comments->at[comments->n] = (struct cw_outing_comment){.section = section, .key = key};
    return comments->n++;
}

static void above(struct comments *comments, const char *section, const char *key,
                  const char *words) {
    cw_text_add(&comments->above[comment(comments, section, key)], "%s", words);
}

static void behind(struct comments *comments, const char *section, const char *key,
                   const char *words) {
    cw_text_add(&comments->behind[comment(comments, section, key)], "%s", words);
}

static void add_elevation(const struct cw_starting *start, bool told, struct comments *comments) {
    const struct cw_height_kind *heights = &start->analysis->outings[0].heights;
    size_t i = comment(comments, "outing", "elevation");
    if (told && heights->kind == CW_ELEVATION_TERRAIN)
        cw_text_add(&comments->behind[i],
                    "guessed: passes of one place agree within %.2f m, as a map's heights do",
                    heights->apart_m);
    else if (told)
        cw_text_add(&comments->behind[i],
                    "guessed: passes of one place drift apart by %.1f m a minute",
                    heights->drift_m);
    else if (!start->analysis->outings[0].outing.elevation_given)
        cw_text_add(&comments->above[i],
                    "Where the heights come from is not told by the data. barometric (a pressure "
                    "sensor)\nis taken; satellite, terrain (from a map) or surveyed, if you know "
                    "it:\nelevation = barometric");
}

static void add_offset(const struct cw_starting *start, struct comments *comments) {
    const struct cw_outing *outing = &start->analysis->outings[0].outing;
    if (!outing->utc_offset_given)
        above(comments, "outing", "utc_offset",
              "Local time's offset from UTC, as +01:00; the clock times below are UTC.");
    else if (start->offset_recorded && isnan(start->said.utc_offset_s))
        behind(comments, "outing", "utc_offset", "as the recording has it");
}

static void add_masses(const struct cw_starting *start, struct comments *comments) {
    unsigned lacks = cw_start_lacks(start);
    size_t i = comment(comments, "rider", "mass_kg");
    cw_text_add(&comments->above[i], "%s%s", rider_words, lacks & CW_LACKS_RIDER ? fill_in : "");
    i = comment(comments, "bike", "mass_kg");
    cw_text_add(&comments->above[i], "%s%s", bike_words, lacks & CW_LACKS_BIKE ? fill_in : "");
    behind(comments, "bike", "wheel_inertia_kgm2", guessed_wheels);
    behind(comments, "bike", "wheel_radius_m", "guessed: that of 622 mm rims with 23 mm tyres");
}

static void add_air(const struct cw_starting *start, struct comments *comments) {
    const struct cw_start_said *said = &start->said;
    const struct cw_outing *outing = &start->analysis->outings[0].outing;
    struct cw_device_air device = cw_start_device_air(start);
    double height_m = cw_start_height_m(start);
    size_t i = comment(comments, "air", "temperature_c");
    if (isnan(outing->air.temperature_c))
        cw_text_add(&comments->above[i], "Where known, at the hill (else the standard atmosphere's "
                                         "is taken):\n" CW_START_TEMPERATURE);
    else if (isnan(said->temperature_c))
        cw_text_add(&comments->behind[i],
                    "guessed: recorded as %.1f, and devices read some %g C too warm",
                    device.recorded_c, cw_device_warm_c);
    i = comment(comments, "air", "pressure_hpa");
    if (isfinite(said->pressure_sea_level_hpa))
        cw_text_add(&comments->behind[i], "reduced from %g hPa at sea level to %.0f m",
                    said->pressure_sea_level_hpa, height_m);
    else if (isnan(outing->air.pressure_hpa) && isfinite(height_m))
        cw_text_add(&comments->above[i],
                    "Where known, by a barometer at the hill; else %.0f hPa are taken, the "
                    "standard at its\n"
                    "%.0f m. A weather report's is for sea level: \"coastwise start --update "
                    "%.60s\n--pressure-sea-level-hpa HPA\" puts in what it is at the "
                    "hill.\n" CW_START_PRESSURE,
                    cw_isa_pressure_pa(height_m) / 100, height_m,
                    strcmp(start->path, "-") ? cw_path_name(start->path) : "RIDE.ini");
    else if (isnan(outing->air.pressure_hpa))
        cw_text_add(&comments->above[i],
                    "Where known, by a barometer at the hill:\n" CW_START_PRESSURE);
    if (isnan(outing->air.humidity_percent))
        above(comments, "air", "humidity_percent", CW_START_HUMIDITY);
    above(comments, "air", "wind_along_ms",
          "The mean wind along the road, + is a headwind going down; taken as 0 give or take 0.3:\n"
          "wind_along_ms =");
}

static void add_setups(const struct cw_starting *start, struct comments *comments) {
    if (!start->analysis->outings[0].outing.n_setups)
        above(comments, "setup", NULL,
              "What was tried, to compare it: a section for each, named in one word; load_kg is\n"
              "what it adds to the masses above. Without any, all runs count as alike.\n"
              "[setup first]\n[setup second]\nload_kg = 0.4");
}

static size_t count_kept(const struct cw_analysed *of) {
    size_t n = 0;
    for (size_t i = 0; i < of->runs.n; i++) n += of->runs.at[i].kept;
    return n;
}

/* "On 2024-05-19, local time (UTC+02:00)": what is said of the clock times once. */
static void add_when(const struct cw_starting *start, struct cw_text *text) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    double minutes = of->outing.utc_offset_s / 60, first_s = NAN, last_s = NAN;
    char first[64], last[64];
    for (size_t i = 0; i < of->runs.n; i++) {
        if (!of->runs.at[i].kept) continue;
        first_s = fmin(first_s, of->runs.at[i].start_s);
        last_s = fmax(last_s, of->runs.at[i].start_s);
    }
    day_of(start, first_s, first);
    day_of(start, last_s, last);
    if (minutes == 0)
        cw_text_add(text, "clock times in UTC");
    else
        cw_text_add(text, "local clock times, UTC%c%02.0f:%02.0f", minutes < 0 ? '-' : '+',
                    floor(fabs(minutes) / 60), fmod(fabs(minutes), 60));
    if (!strcmp(first, last)) cw_text_add(text, ", on %s", first);
}

static void add_turned_down(const struct cw_starting *start, struct cw_text *text) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    size_t kept = count_kept(of), turned_down = of->runs.n - kept;
    if (!turned_down) return;
    cw_text_add(text, "\n%zu %s%s turned down: \"coastwise runs\" says why.", turned_down,
                kept ? "more " : "", turned_down == 1 ? "was" : "were");
}

/* The runs, for an order that stands beside them or is still to be written. */
static void add_runs(const struct cw_starting *start, bool ordered, struct comments *comments) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    size_t i = comment(comments, "runs", "order");
    struct cw_text *text = &comments->above[i];
    size_t kept = count_kept(of);
    if (!kept) {
        cw_text_add(text, "No run was found that can be used.");
        add_turned_down(start, text);
        return;
    }
    if (ordered)
        cw_text_add(text, "The setup of each run kept (");
    else
        cw_text_add(text, "The runs kept, with length and top speed (");
    add_when(start, text);
    cw_text_add(text, "):");
    for (size_t r = 0; r < of->runs.n && !ordered; r++) {
        if (!of->runs.at[r].kept) continue;
        cw_text_add(text, "\n");
        cw_start_run_add(start, &of->runs.at[r], text);
    }
    add_turned_down(start, text);
    if (cw_start_lacks(start) & (CW_LACKS_RIDER | CW_LACKS_BIKE))
        cw_text_add(text,
                    "\nWhat is a coast hangs a little on the masses: once they are in, see with\n"
                    "\"coastwise runs\" whether runs and numbers are still these.");
    if (!ordered && !cw_ride_kind_of(of).tests)
        cw_text_add(text,
                    "\nThis is no test to compare setups by: for that, coast one road again and "
                    "again, changing\none thing, in turns. order = would stand here, one setup for "
                    "each run.");
    else if (!ordered)
        cw_text_add(text, "\nOne setup for each, in that order; skip = 3 leaves run 3 out, and "
                          "order has none for it.\n" CW_START_ORDER);
}

static void add_heading(const struct cw_starting *start, struct cw_text *text) {
    cw_text_add(
        text,
        "An outing file, begun by coastwise start (%s). Behind \";\" stand comments; what is\n"
        "marked as guessed may be wrong: change it where you know better.",
        cw_version());
    (void)start;
}

/* ---- a file that is begun ---- */

/* What stands beside each entry of the order. */
static char **run_words(const struct cw_starting *start, size_t *n) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    char **words = calloc(of->runs.n + 1, sizeof *words);
    *n = 0;
    for (size_t i = 0; words && i < of->runs.n; i++) {
        struct cw_text text = {0};
        if (!cw_run_counts(&of->outing, &of->runs.at[i], false)) continue;
        cw_start_run_add(start, &of->runs.at[i], &text);
        words[(*n)++] = text.bytes; /* taken over */
    }
    return words;
}

static enum cw_status make_new(struct cw_starting *start, struct cw_text *text,
                               struct cw_error *error) {
    struct cw_analysed *of = &start->analysis->outings[0];
    struct cw_outing *outing = &of->outing;
    struct comments comments = {0};
    struct cw_text heading = {0};
    bool told = !outing->elevation_given && of->heights.told, failed = false;
    size_t n_words = 0;
    char **words = run_words(start, &n_words);
    set_air(start);
    enum cw_status status = words ? set_name(start, error) : cw_error_memory(error);
    add_heading(start, &heading);
    add_elevation(start, told, &comments);
    add_offset(start, &comments);
    add_masses(start, &comments);
    add_air(start, &comments);
    add_setups(start, &comments);
    add_runs(start, outing->order.n > 0, &comments);
    for (size_t i = 0; i < comments.n; i++) {
        comments.at[i].above = comments.above[i].bytes;
        comments.at[i].behind = comments.behind[i].bytes;
        failed = failed || comments.above[i].failed || comments.behind[i].failed;
    }
    for (size_t i = 0; i < n_words; i++) failed = failed || !words[i];
    if (status >= 0 && (failed || heading.failed)) status = cw_error_memory(error);
    struct cw_outing_comments all = {
        .heading = heading.bytes,
        .n = comments.n,
        .at = comments.at,
        .runs = outing->order.n && n_words == outing->order.n ? (const char *const *)words : NULL};
    if (told) outing->elevation_given = true;
    if (status >= 0) status = cw_outing_write_text(outing, start->path, &all, text, error);
    if (told) outing->elevation_given = false;
    for (size_t i = 0; i < n_words; i++) free(words[i]);
    free(words);
    for (size_t i = 0; i < comments.n; i++) {
        cw_text_free(&comments.above[i]);
        cw_text_free(&comments.behind[i]);
    }
    cw_text_free(&heading);
    return status;
}

/* ---- either ---- */

/* What is written is read, as it stands. */
static enum cw_status read_again(const struct cw_starting *start, const struct cw_text *text,
                                 struct cw_error *error) {
    struct cw_outing outing;
    struct cw_error fault;
    bool finished = !(cw_start_lacks(start) & (CW_LACKS_RIDER | CW_LACKS_BIKE));
    enum cw_status status =
        finished
            ? cw_outing_read_memory(text->bytes, text->length, start->path, &outing, &fault)
            : cw_outing_read_unfinished(text->bytes, text->length, start->path, &outing, &fault);
    cw_outing_free(&outing);
    if (status >= 0) return CW_OK;
    if (status == CW_E_MEMORY) return cw_error_memory(error);
    return cw_error_set(error, CW_E_ARGUMENT, start->path, 0,
                        "is not written, for it could not be read: in line %ld %s", fault.line,
                        fault.message);
}

enum cw_status cw_start_make(struct cw_starting *start, struct cw_text *text,
                             struct cw_error *error) {
    enum cw_status status =
        start->updates ? cw_start_add(start, text, error) : make_new(start, text, error);
    if (status >= 0 && text->failed) status = cw_error_memory(error);
    return status < 0 ? status : read_again(start, text, error);
}
