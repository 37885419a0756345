/* Anything at all, read as an air log: it is read or refused with a line, and what is read keeps
 * the promises of air_log.h. Built as a fuzzer with -Dfuzz=true, and by replay.c for every test
 * run. */
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "outing/air_log_read.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

/* A column's values are missing or within the range; a factor to SI may round. */
static void check_column(const double *column, size_t n, double low, double high) {
    for (size_t i = 0; column && i < n; i++)
        promise(isnan(column[i]) || (column[i] >= low - 1e-9 && column[i] <= high + 1e-9));
}

static void check_answers(const struct cw_air_log *log) {
    double along_ms, cross_ms, share;
    for (size_t i = 0; i < log->n; i++) {
        double middle_s = log->from_s[i] + (log->to_s[i] - log->from_s[i]) / 2;
        if (cw_air_log_wind(log, middle_s, 1, &along_ms, &cross_ms))
            promise(fabs(along_ms) <= 40 + 1e-9 && fabs(cross_ms) <= 40 + 1e-9);
        if (cw_air_log_mean_wind(log, log->from_s[i] - 1, log->to_s[i], 1, &along_ms, &cross_ms,
                                 &share))
            promise(fabs(along_ms) <= 40 + 1e-9 && fabs(cross_ms) <= 40 + 1e-9);
        promise(share >= 0 && share <= 1);
    }
    double from_s = log->from_s[0] + 3600, to_s = log->to_s[log->n - 1] + 3600;
    double shift_h = cw_air_log_shift_h(log, &from_s, &to_s, 1);
    promise(isnan(shift_h) || fabs(shift_h) <= 14);
}

static void check(const struct cw_air_log *log) {
    promise(log->n >= 2 && log->file);
    for (size_t i = 0; i < log->n; i++) {
        promise(isfinite(log->from_s[i]) && log->from_s[i] <= log->to_s[i]);
        promise(!i || (log->to_s[i] > log->to_s[i - 1] && log->from_s[i] >= log->to_s[i - 1]));
    }
    promise(!log->wind_speed_ms == !log->wind_from_rad);
    promise(!log->wind_speed_ms || !log->wind_along_ms);
    check_column(log->wind_along_ms, log->n, -40, 40);
    check_column(log->wind_speed_ms, log->n, 0, 40);
    check_column(log->wind_from_rad, log->n, 0, 6.283185308);
    check_column(log->temperature_c, log->n, -40, 50);
    check_column(log->pressure_hpa, log->n, 600, 1100);
    check_column(log->humidity_percent, log->n, 0, 100);
    for (size_t i = 0; i < log->n_unused; i++) {
        const char *name = log->unused[i];
        promise(*name && cw_utf8_valid(name, strlen(name)));
        for (; *name; name++) promise((unsigned char)*name >= 0x20 && *name != 0x7f);
    }
    check_answers(log);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    struct cw_air_log log;
    struct cw_error error = {0};
    long lines = 1;
    for (size_t i = 0; i < length; i++) lines += bytes[i] == '\n' || bytes[i] == '\r';
    bool packed = length >= 2 && bytes[0] == 0x1f && bytes[1] == 0x8b;
    enum cw_status status = cw_air_log_read_memory(bytes, length, "fuzz", 3600, &log, &error);
    if (status == CW_OK) {
        check(&log);
    } else {
        promise(error.code == status && error.message[0]);
        promise(error.line >= 0 && (packed || error.line <= lines));
        promise(cw_utf8_valid(error.message, strlen(error.message)));
    }
    cw_air_log_free(&log);
    return 0;
}
