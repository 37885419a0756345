/* The air as logged beside the road, and what is asked of it. */
#ifndef CW_OUTING_AIR_LOG_H
#define CW_OUTING_AIR_LOG_H

#include <stdbool.h>
#include <stddef.h>

/* A row holds means over from_s..to_s; rows follow one another in time and may leave gaps.
 * Columns that the log does not have are NULL, values that it lacks NaN. Wind is either along the
 * road or by speed and direction, these two together. Owns all it points to; free with
 * cw_air_log_free. */
struct cw_air_log {
    char *file;
    size_t n;
    double *from_s, *to_s; /* Unix time */
    double *wind_along_ms; /* + is a headwind down the road, as the outing file has it */
    double *wind_speed_ms; /* horizontal */
    double *wind_from_rad; /* where it comes from, clockwise from north; NaN in a calm will do */
    double *temperature_c;
    double *pressure_hpa; /* where it was logged, not reduced to sea level */
    double *humidity_percent;
    size_t n_unused;
    char **unused; /* names of other columns, safe to be shown: not UTF-8 or control is "?" */
};

void cw_air_log_free(struct cw_air_log *log);

/* A log has gaps of its own: what is asked of it over a span counts where rows hold so much of the
 * span. */
#define CW_AIR_LOG_ENOUGH 0.5

/* Whether the log has wind, of either kind. */
bool cw_air_log_has_wind(const struct cw_air_log *log);

/* The wind of a moment for who travels along heading_rad (clockwise from north): *along_ms, + a
 * headwind, and *cross_ms, + from the right. A log along the road says it as it is, whatever the
 * heading, with no crosswind. Linear between the middles of rows that follow one another without a
 * gap, level before the first and after the last of such rows. False where no row with a wind holds
 * the moment. Logarithmic in the rows. */
bool cw_air_log_wind(const struct cw_air_log *log, double time_s, double heading_rad,
                     double *along_ms, double *cross_ms);

/* Mean of that wind over a span of time, each row by its part in it; share (0..1) is how much of
 * the span rows with a wind hold. False, with a share of 0, where none does. */
bool cw_air_log_mean_wind(const struct cw_air_log *log, double from_s, double to_s,
                          double heading_rad, double *along_ms, double *cross_ms, double *share);

/* The same of one of the log's columns, such as log->temperature_c (not wind_from_rad, for angles
 * have no such mean): NaN, with a share of 0, where no row with a value is in the span. NULL is a
 * column without values. */
double cw_air_log_mean(const struct cw_air_log *log, const double *column, double from_s,
                       double to_s, double *share);

/* Share (0..1) of the span that rows hold, whatever is in them. */
double cw_air_log_share(const struct cw_air_log *log, double from_s, double to_s);

/* By how many hours the log's times must be put later for its rows to hold at least half of each
 * of n spans: the least shift that does, of -14 to 14 whole hours and then of half ones, which is
 * where clocks of the world stand; 0 where they do as they are. NaN if none does. */
double cw_air_log_shift_h(const struct cw_air_log *log, const double *from_s, const double *to_s,
                          size_t n);

#endif
