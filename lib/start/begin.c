/* What an outing file is begun from, and the outing in memory. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/number.h"
#include "base/path.h"
#include "base/reason.h"
#include "base/utf8.h"
#include "outing/keys.h"
#include "outing/read.h"
#include "outing/update.h"
#include "start/start.h"

/* ---- recordings ---- */

/* Why an outing file cannot name it; NULL: it can. */
static const char *name_fault(const char *path) {
    size_t length = strlen(path);
    if (!strcmp(path, "-")) return "an outing file cannot name standard input: save it as a file";
    if (!cw_utf8_valid(path, length))
        return "its name is not UTF-8, as an outing file must be: rename it";
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)path[i] < 0x20 || path[i] == 0x7f)
            return "its name holds a line end or another control character: rename it";
    if (strchr(path, ','))
        return "its name holds a comma, and commas part the recordings in an outing file: rename "
               "it";
    if (strstr(path, " ;"))
        return "its name holds \" ;\", which begins a comment in an outing file: rename it";
    if (length && path[length - 1] == ' ')
        return "its name ends in a blank, which an outing file does not keep: rename it";
    return NULL;
}

static bool same_file(const char *one, const char *other) {
    struct stat a, b;
    return !stat(one, &a) && !stat(other, &b) && a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

static bool is_in_file(const struct cw_starting *start, const char *path) {
    for (size_t i = 0; i < start->n_in_file; i++)
        if (same_file(start->recordings[i], path)) return true;
    return false;
}

static enum cw_status take_recordings(struct cw_starting *start, char *const *recordings, size_t n,
                                      struct cw_error *error) {
    size_t in_file = start->begun.n_recordings;
    start->recordings = calloc(in_file + n + 1, sizeof *start->recordings);
    if (!start->recordings) return cw_error_memory(error);
    for (size_t i = 0; i < in_file + n; i++) {
        const char *path = i < in_file ? start->begun.recordings[i] : recordings[i - in_file];
        const char *fault = i < in_file ? NULL : name_fault(path);
        if (fault) return cw_error_set(error, CW_E_ARGUMENT, path, 0, "%s", fault);
        if (i >= in_file && is_in_file(start, path)) continue;
        start->recordings[start->n_recordings] = strdup(path);
        if (!start->recordings[start->n_recordings]) return cw_error_memory(error);
        start->n_recordings++;
        if (i < in_file) start->n_in_file++;
    }
    return CW_OK;
}

/* ---- the file that is updated ---- */

static enum cw_status read_bytes(struct cw_starting *start, struct cw_error *error) {
    struct stat about;
    const char *path = start->path;
    if (stat(path, &about))
        return cw_error_set(error, CW_E_READ, path, 0,
                            "cannot be read: %s; without --update it is begun",
                            cw_reason_text(errno));
    if (!S_ISREG(about.st_mode))
        return cw_error_set(error, CW_E_READ, path, 0, "is no file that can be added to");
    FILE *file = fopen(path, "rb");
    if (!file)
        return cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", cw_reason_text(errno));
    start->bytes = malloc(CW_OUTING_BYTES_MAX + 1);
    start->length = start->bytes ? fread(start->bytes, 1, CW_OUTING_BYTES_MAX + 1, file) : 0;
    bool failed = ferror(file) != 0;
    fclose(file);
    if (!start->bytes) return cw_error_memory(error);
    if (failed) return cw_error_set(error, CW_E_READ, path, 0, "cannot be read");
    if (start->length > 1 && !memcmp(start->bytes, "\x1f\x8b", 2))
        return cw_error_set(error, CW_E_FORMAT, path, 0,
                            "is compressed: unpack it first, to add to it");
    return CW_OK;
}

/* ---- an outing without a file ---- */

static double fallback(const char *section, const char *name) {
    return cw_outing_key_find(section, name)->fallback;
}

static enum cw_status begin_outing(struct cw_outing *outing, const char *path,
                                   struct cw_error *error) {
    bool is_stream = !strcmp(path, "-");
    *outing =
        (struct cw_outing){.file = is_stream ? NULL : strdup(path),
                           .elevation_uncertainty_m = NAN,
                           .rider = {.mass_kg = NAN,
                                     .mass_uncertainty_kg = NAN,
                                     .bike_mass_kg = NAN,
                                     .bike_mass_uncertainty_kg = NAN,
                                     .wheel_inertia_kgm2 = fallback("bike", "wheel_inertia_kgm2"),
                                     .wheel_radius_m = fallback("bike", "wheel_radius_m")},
                           .air = CW_AIR_UNSAID,
                           .wind_along_ms = NAN,
                           .wind_uncertainty_ms = NAN,
                           .crr = NAN,
                           .crr_uncertainty = NAN,
                           .wind_ms.uncertainty = NAN,
                           .runout_m.uncertainty = NAN,
                           .time_s.uncertainty = NAN};
    return is_stream || outing->file ? CW_OK : cw_error_memory(error);
}

enum cw_status cw_start_begin(struct cw_starting *start, const char *path, bool updates,
                              char *const *recordings, size_t n, struct cw_error *error) {
    *start = (struct cw_starting){
        .path = strdup(path),
        .updates = updates,
        .said = {.rider_kg = NAN,
                 .bike_kg = NAN,
                 .utc_offset_s = NAN,
                 .temperature_c = NAN,
                 .humidity_percent = NAN,
                 .pressure_hpa = NAN,
                 .pressure_sea_level_hpa = NAN},
    };
    if (!start->path) return cw_error_memory(error);
    enum cw_status status =
        updates ? read_bytes(start, error) : begin_outing(&start->begun, path, error);
    if (status >= 0 && updates)
        status = cw_outing_read_unfinished(start->bytes, start->length, path, &start->begun, error);
    return status < 0 ? status : take_recordings(start, recordings, n, error);
}

void cw_start_free(struct cw_starting *start) {
    for (size_t i = 0; i < start->n_recordings; i++) free(start->recordings[i]);
    free(start->recordings);
    free(start->path);
    free(start->bytes);
    free(start->words);
    cw_outing_free(&start->begun);
    *start = (struct cw_starting){0};
}

/* The recordings that say one, if they say the same. */
static double offset_recorded(const struct cw_analysed *of) {
    for (size_t i = 1; i < of->n_recordings; i++)
        if (of->recordings[i].utc_offset_s != of->recordings[0].utc_offset_s) return 0;
    return of->n_recordings ? of->recordings[0].utc_offset_s : 0;
}

/* Numbers of runs are counted in time order over all recordings: what is new must not move those
 * that the file names. */
static enum cw_status check_numbers(const struct cw_starting *start, struct cw_error *error) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    const struct cw_run_numbers *skip = &of->outing.skip;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (run->recording < start->n_in_file) continue;
        for (size_t k = 0; k < skip->n; k++)
            if (run->number <= skip->number[k])
                return cw_error_set(error, CW_E_DATA, start->path, skip->line,
                                    "%s holds runs before run %ld, whose number would become "
                                    "another: it cannot be added while \"skip\" names that",
                                    of->recordings[run->recording].file, skip->number[k]);
    }
    return CW_OK;
}

enum cw_status cw_start_adopt(struct cw_starting *start, struct cw_analysis *analysis,
                              const char *elevation, struct cw_error *error) {
    struct cw_analysed *of = &analysis->outings[0];
    struct cw_outing begun = start->begun;
    start->analysis = analysis;
    start->begun = (struct cw_outing){0};
    if (start->updates && analysis->left_out != CW_OK) {
        cw_outing_free(&begun);
        return cw_error_set(error, CW_E_DATA, start->path, 0,
                            "is not added to: one of its recordings cannot be used");
    }
    for (int i = 0; elevation && !begun.elevation_given && cw_elevation_text((enum cw_elevation)i);
         i++)
        if (!strcmp(cw_elevation_text((enum cw_elevation)i), elevation)) {
            begun.elevation = (enum cw_elevation)i;
            begun.elevation_given = true;
        }
    if (!begun.utc_offset_given) {
        begun.utc_offset_s = offset_recorded(of);
        begun.utc_offset_given = begun.utc_offset_s != 0;
    }
    start->offset_recorded = begun.utc_offset_given && !start->updates;
    enum cw_status status = cw_analysis_adopt(analysis, &begun, error);
    return status < 0 ? status : check_numbers(start, error);
}

/* ---- what is said ---- */

enum cw_status cw_start_add_setup(struct cw_start_said *said, const char *text,
                                  struct cw_error *error) {
    const char *colon = strrchr(text, ':');
    size_t length = colon ? (size_t)(colon - text) : strlen(text);
    const struct cw_outing_key *load = cw_outing_key_find("setup", "load_kg");
    double load_kg = NAN;
    if (said->n_setups == CW_OUTING_SETUPS_MAX)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "more than %d setups",
                            CW_OUTING_SETUPS_MAX);
    if (colon && (!cw_number_read(colon + 1, strlen(colon + 1), &load_kg) || load_kg < load->low ||
                  load_kg > load->high))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "setup \"%s\": behind the colon stands what it adds, from %g to %g kg",
                            text, load->low, load->high);
    if (!length || length >= CW_START_NAME || strcspn(text, " \t\r\n,;]") < length ||
        strchr("#[-", *text) || !cw_utf8_valid(text, length) || cw_utf8_has_control(text, length))
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "setup \"%s\": its name is one word, without , ; ] and not beginning "
                            "with # [ or -",
                            text);
    for (size_t i = 0; i < said->n_setups; i++)
        if (strlen(said->setups[i].name) == length && !strncmp(said->setups[i].name, text, length))
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "setup \"%s\" is given twice",
                                said->setups[i].name);
    struct cw_start_setup *setup = &said->setups[said->n_setups++];
    memcpy(setup->name, text, length);
    setup->name[length] = '\0';
    setup->load_kg = load_kg;
    return CW_OK;
}

static bool declare(struct cw_outing *outing, const struct cw_start_setup *said) {
    struct cw_setup *setups = realloc(outing->setups, (outing->n_setups + 1) * sizeof *setups);
    if (!setups) return false;
    outing->setups = setups;
    struct cw_setup *setup = &setups[outing->n_setups];
    *setup = (struct cw_setup){.name = strdup(said->name),
                               .description = strdup(""),
                               .load_kg = isnan(said->load_kg) ? 0 : said->load_kg,
                               .tyres = strdup(""),
                               .pressure_kpa = NAN,
                               .drag = strdup("")};
    outing->n_setups++;
    return setup->name && setup->description && setup->tyres && setup->drag;
}

static size_t setup_named(const struct cw_outing *outing, const char *name) {
    size_t at = 0;
    while (at < outing->n_setups && strcmp(outing->setups[at].name, name)) at++;
    return at < outing->n_setups ? at : CW_NO_SETUP;
}

/* What stands in for setups where a file names none. */
static bool is_all(const struct cw_outing *outing) {
    return outing->n_setups == 1 && !strcmp(outing->setups[0].name, "all") && !outing->order.n &&
           !outing->n_own_recordings;
}

static enum cw_status declare_setups(struct cw_starting *start, struct cw_outing *outing,
                                     struct cw_error *error) {
    if (start->said.n_setups && start->updates && is_all(outing)) {
        struct cw_setup *all = outing->setups;
        free(all->name);
        free(all->description);
        free(all->tyres);
        free(all->drag);
        outing->n_setups = 0;
    }
    for (size_t i = 0; i < start->said.n_setups; i++) {
        if (setup_named(outing, start->said.setups[i].name) != CW_NO_SETUP) continue;
        if (outing->n_setups == CW_OUTING_SETUPS_MAX)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "more than %d setups",
                                CW_OUTING_SETUPS_MAX);
        if (!declare(outing, &start->said.setups[i])) return cw_error_memory(error);
    }
    return CW_OK;
}

/* A number into its field, if it is said. What the file says stays, and cw_start_make names the
 * line. */
static void take(double said, double *field) {
    if (!isnan(said) && isnan(*field)) *field = said;
}

enum cw_status cw_start_find(struct cw_starting *start, struct cw_error *error) {
    struct cw_outing *outing = &start->analysis->outings[0].outing;
    take(start->said.rider_kg, &outing->rider.mass_kg);
    take(start->said.bike_kg, &outing->rider.bike_mass_kg);
    if (!isnan(start->said.utc_offset_s)) {
        outing->utc_offset_s = start->said.utc_offset_s;
        outing->utc_offset_given = true;
    }
    enum cw_status status = declare_setups(start, outing, error);
    return status < 0 ? status : cw_analysis_find_again(start->analysis, error);
}

unsigned cw_start_lacks(const struct cw_starting *start) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    const struct cw_outing *outing = &of->outing;
    unsigned lacks = 0;
    if (isnan(outing->rider.mass_kg)) lacks |= CW_LACKS_RIDER;
    if (isnan(outing->rider.bike_mass_kg)) lacks |= CW_LACKS_BIKE;
    if (!outing->n_setups || is_all(outing)) lacks |= CW_LACKS_SETUPS;
    for (size_t i = 0; i < of->runs.n; i++)
        if (of->runs.at[i].kept && of->runs.at[i].setup == CW_NO_SETUP) lacks |= CW_LACKS_ORDER;
    return lacks;
}
