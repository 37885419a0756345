/* The columns of an air log: one table that drives reading, ranges and the manual. */
#ifndef CW_OUTING_AIR_LOG_COLUMNS_H
#define CW_OUTING_AIR_LOG_COLUMNS_H

#include <stdbool.h>
#include <stddef.h>

struct cw_air_log_column {
    const char *name; /* its last word is the unit */
    size_t offset;    /* of the column in struct cw_air_log; units of one quantity share it */
    const char *unit;
    double per_si;    /* how many of the unit make one of struct cw_air_log's */
    double low, high; /* in the column's unit, both ends allowed; NaN: as the outing file's key */
    const char *meaning; /* for the manual */
};

#define CW_AIR_LOG_COLUMN_COUNT 9

/* The table, in the order of the manual; `time`, which every log has, is not in it. */
const struct cw_air_log_column *cw_air_log_columns(size_t *n);

/* What a value may be, in the column's unit, both ends allowed. */
void cw_air_log_column_range(const struct cw_air_log_column *column, double *low, double *high);

/* Whether name is a column's but for its unit, which is another word or none:
 * wind_speed_knots, while wind_speed_highest_ms is something else. */
bool cw_air_log_column_is_meant(const struct cw_air_log_column *column, const char *name);

#endif
