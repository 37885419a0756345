/* From recordings to an outing file: what they tell is filled in, what the rider says is added, and
 * what neither does is left as comments to fill in.
 *
 *     cw_start_begin(&start, "ride.ini", false, recordings, n, &error)
 *     cw_analysis_open_files(&analysis, start.recordings, start.n_recordings, &error)
 *     cw_analysis_find(&analysis, &error)
 *     cw_start_adopt(&start, &analysis, &error)
 *     start.said.rider_kg = 71.5; ...
 *     cw_start_find(&start, &error)           the runs, as the fit will find them
 *     cw_start_label(&start, words, n, &error)     which run was in which setup
 *     cw_start_make(&start, &text, &error)         the file
 *     cw_start_free(&start)
 *
 * Inside the library only. */
#ifndef CW_START_START_H
#define CW_START_START_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "fit/recording_air.h"

#define CW_START_NAME 150 /* bytes of a setup's name, and one more */

/* As the rider says it; NaN, NULL, 0: not said. */
struct cw_start_said {
    const char *name;
    double rider_kg, bike_kg;
    double utc_offset_s; /* NaN: not said */
    double temperature_c, humidity_percent;
    double pressure_hpa;           /* by a barometer at the hill */
    double pressure_sea_level_hpa; /* of a weather report, reduced to sea level */
    size_t n_setups;
    struct cw_start_setup {
        char name[CW_START_NAME];
        double load_kg; /* NaN: not said */
    } setups[CW_OUTING_SETUPS_MAX];
};

/* Owns what it points to but for the analysis and the said name. */
struct cw_starting {
    char *path; /* of the outing file; "-": standard output */
    bool updates;
    char *bytes; /* what stands in it, where it is updated */
    size_t length;
    size_t n_recordings; /* to be opened: those of the file first */
    char **recordings;
    size_t n_in_file;       /* of them; the rest is new to it */
    struct cw_outing begun; /* before it is adopted */
    struct cw_analysis *analysis;
    struct cw_start_said said;
    bool offset_recorded; /* the recordings say the offset of local time */
    /* The order that was said. */
    size_t n_words;
    struct cw_start_word {
        long number; /* of the run */
        size_t recording;
        size_t setup; /* of the outing; CW_NO_SETUP leaves the run out */
    } * words;
    bool by_recording; /* new recordings get an order of their own, for they lie between others */
};

/* Of an outing file at path that is begun, or is there and updated; recordings (n) as they are
 * given. CW_E_READ, CW_E_FORMAT: of the file that is updated; CW_E_ARGUMENT: of recordings that it
 * cannot name. Free with cw_start_free, also after an error. */
enum cw_status cw_start_begin(struct cw_starting *start, const char *path, bool updates,
                              char *const *recordings, size_t n, struct cw_error *error);
void cw_start_free(struct cw_starting *start);

/* Makes an outing of what the analysis opened and found; elevation NULL: as the data tell. An
 * outing that is updated needs all of its recordings: CW_E_DATA. */
enum cw_status cw_start_adopt(struct cw_starting *start, struct cw_analysis *analysis,
                              const char *elevation, struct cw_error *error);

/* Reads NAME[:LOAD_KG] and adds it to what is said. CW_E_ARGUMENT says what is wrong with it. */
enum cw_status cw_start_add_setup(struct cw_start_said *said, const char *text,
                                  struct cw_error *error);

/* What is said goes into the outing, and its runs are found again. CW_E_ARGUMENT: it cannot be, or
 * the file that is updated says it already. */
enum cw_status cw_start_find(struct cw_starting *start, struct cw_error *error);

/* The pressure at the hill (hPa) that a sea level's is reduced to; NaN where no height is known. */
double cw_start_pressure_hpa(const struct cw_starting *start, double sea_level_hpa);
/* The mean recorded height of the runs, m; NaN where none is. */
double cw_start_height_m(const struct cw_starting *start);
/* What devices' thermometers tell of it, C; n is 0 where there is none. */
struct cw_device_air cw_start_device_air(const struct cw_starting *start);
/* Whether weather has such a pressure at a height (m): within 70 hPa below and 40 above the
 * standard's, as it has at sea level. Common practice, no source. */
bool cw_start_is_weather(double pressure_hpa, double height_m);

/* The runs that an order is for, in time order, as indices into the runs found: of a file that is
 * updated those that its order has no entry for. *n: how many. To be freed. CW_E_DATA: the order of
 * the file fits neither all its runs nor the ones that it had. */
enum cw_status cw_start_list(const struct cw_starting *start, size_t **runs, size_t *n,
                             struct cw_error *error);
/* Adds "run 3  09:02:11  998 m  52.1 km/h": number, local clock time (with the date where the runs
 * are of several days), length, top speed; of several recordings its file. */
void cw_start_run_add(const struct cw_starting *start, const struct cw_run *run,
                      struct cw_text *text);

/* Gives the runs listed their setups: a name each, or "-" for one to leave out. Where no setup is
 * said nor stands in the file, the names are the setups. CW_E_ARGUMENT: no such name; CW_E_DATA:
 * not one for each run. */
enum cw_status cw_start_label(struct cw_starting *start, const char *const *words, size_t n,
                              struct cw_error *error);

/* Whether the file that is updated has a comment that tells of the run, as new where its order had
 * no entry for it. *any: whether it has one that tells of some run. */
enum cw_start_mention { CW_MENTION_NONE, CW_MENTION_NEW, CW_MENTION };
enum cw_start_mention cw_start_mentions(const struct cw_starting *start, const struct cw_run *run,
                                        bool *any);

/* The file's text, added to *text; it has been read again. CW_E_ARGUMENT where something cannot
 * stand in it. */
enum cw_status cw_start_make(struct cw_starting *start, struct cw_text *text,
                             struct cw_error *error);

/* What `compare` and `fit` still lack, as bits. */
enum cw_start_lacks {
    CW_LACKS_RIDER = 1,
    CW_LACKS_BIKE = 2,
    CW_LACKS_SETUPS = 4,
    CW_LACKS_ORDER = 8
};
unsigned cw_start_lacks(const struct cw_starting *start);

#endif
