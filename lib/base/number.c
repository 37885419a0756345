#include "base/number.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/locale.h"
#include "base/print.h"

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

static bool trim(const char **text, size_t *length) {
    while (*length && is_blank(**text)) {
        ++*text;
        --*length;
    }
    while (*length && is_blank((*text)[*length - 1])) --*length;
    return *length > 0;
}

#define PLAIN_DIGITS 15

/* Nearly every number of a file: a sign, 15 digits at most, a point. Its digits as a whole number
 * and the power of ten below them are doubles without an error, so that one division, rounded as
 * IEEE 754 has it, gives what strtod gives (Clinger 1990, "How to read floating point numbers
 * accurately"; cited from memory). A tenth of the cost. */
static bool plain_number_read(const char *text, size_t length, double *value) {
    static const double tens[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                  1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    size_t at = text[0] == '-' || text[0] == '+', digits = 0, below = 0;
    if (length - at > PLAIN_DIGITS + 1) return false;
    bool point = false;
    double whole = 0;
    for (; at < length; at++) {
        if (text[at] == '.' && !point) {
            point = true;
            continue;
        }
        if (text[at] < '0' || text[at] > '9') return false;
        whole = whole * 10 + (text[at] - '0');
        digits++;
        below += point;
    }
    if (!digits || digits > PLAIN_DIGITS) return false;
    whole /= tens[below];
    *value = text[0] == '-' ? -whole : whole;
    return true;
}

bool cw_number_read(const char *text, size_t length, double *value) {
    char copy[64];
    if (!trim(&text, &length) || length >= sizeof copy) return false;
    if (plain_number_read(text, length, value)) return true;
    for (size_t i = 0; i < length; i++) {
        if (!strchr("0123456789+-.eE", text[i]) || text[i] == '\0') return false;
        copy[i] = text[i];
    }
    copy[length] = '\0';
    char *end;
    locale_t before = cw_locale_plain();
    double read = strtod(copy, &end);
    cw_locale_restore(before);
    if (end != copy + length || !isfinite(read)) return false;
    *value = read;
    return true;
}

bool cw_integer_read(const char *text, size_t length, long *value) {
    char copy[32];
    if (!trim(&text, &length) || length >= sizeof copy) return false;
    memcpy(copy, text, length);
    copy[length] = '\0';
    char *end;
    errno = 0;
    long read = strtol(copy, &end, 10);
    if (end != copy + length || errno) return false;
    *value = read;
    return true;
}

/* Days since 1970-01-01 of a proleptic Gregorian date (H. Hinnant, "chrono-Compatible Low-Level
 * Date Algorithms", days_from_civil). */
static long days_from_civil(long year, long month, long day) {
    year -= month <= 2;
    long era = (year >= 0 ? year : year - 399) / 400;
    long year_of_era = year - era * 400;
    long day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    long day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * 146097 + day_of_era - 719468;
}

/* Whether the Gregorian calendar has that day (RFC 3339, section 5.7 and appendix C). */
static bool day_exists(long year, long month, long day) {
    static const long month_days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (month < 1 || month > 12 || day < 1) return false;
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return day <= month_days[month - 1] + (month == 2 && leap);
}

static bool digits(const char *text, size_t length, size_t *at, size_t count, long *value) {
    if (*at + count > length) return false;
    *value = 0;
    for (size_t i = 0; i < count; i++) {
        char c = text[*at + i];
        if (c < '0' || c > '9') return false;
        *value = *value * 10 + (c - '0');
    }
    *at += count;
    return true;
}

static bool literal(const char *text, size_t length, size_t *at, const char *any_of) {
    if (*at >= length || !text[*at] || !strchr(any_of, text[*at])) return false;
    ++*at;
    return true;
}

/* Leaves *offset_s as it is where there is no zone. */
static bool zone_read(const char *text, size_t length, size_t at, double *offset_s) {
    if (at == length) return true;
    *offset_s = 0;
    if (text[at] == 'Z' || text[at] == 'z') return at + 1 == length;
    if (text[at] != '+' && text[at] != '-') return false;
    double sign = text[at] == '-' ? -1 : 1;
    long hours, minutes = 0;
    at++;
    if (!digits(text, length, &at, 2, &hours)) return false;
    if (at < length) {
        if (text[at] == ':') at++;
        if (!digits(text, length, &at, 2, &minutes)) return false;
    }
    if (at != length || hours > 23 || minutes > 59) return false;
    *offset_s = sign * (double)(hours * 3600 + minutes * 60);
    return true;
}

bool cw_offset_read(const char *text, size_t length, double *offset_s) {
    *offset_s = 0;
    return length > 0 && zone_read(text, length, 0, offset_s);
}

double cw_time_offset_s(const char *text, size_t length) {
    double offset_s = 0;
    if (!trim(&text, &length)) return 0;
    for (size_t at = strlen("YYYY-MM-DD"); at < length; at++)
        if (text[at] == '+' || text[at] == '-')
            return zone_read(text, length, at, &offset_s) ? offset_s : 0;
    return 0;
}

bool cw_time_read_local(const char *text, size_t length, double offset_s, double *unix_s) {
    size_t at = 0;
    long year, month, day, hour, minute, second = 0;
    double fraction = 0;
    if (!trim(&text, &length)) return false;
    if (!digits(text, length, &at, 4, &year) || !literal(text, length, &at, "-") ||
        !digits(text, length, &at, 2, &month) || !literal(text, length, &at, "-") ||
        !digits(text, length, &at, 2, &day) || !literal(text, length, &at, "Tt ") ||
        !digits(text, length, &at, 2, &hour) || !literal(text, length, &at, ":") ||
        !digits(text, length, &at, 2, &minute))
        return false;
    bool seconds = literal(text, length, &at, ":");
    if (seconds && !digits(text, length, &at, 2, &second)) return false;
    if (!day_exists(year, month, day) || hour > 23 || minute > 59 || second > 60) return false;
    if (seconds && literal(text, length, &at, ".,")) {
        double place = 0.1;
        for (; at < length && text[at] >= '0' && text[at] <= '9'; at++, place /= 10)
            fraction += place * (text[at] - '0');
    }
    if (!zone_read(text, length, at, &offset_s)) return false;
    *unix_s = (double)days_from_civil(year, month, day) * 86400.0 +
              (double)(hour * 3600 + minute * 60 + second) + fraction - offset_s;
    return true;
}

bool cw_time_read(const char *text, size_t length, double *unix_s) {
    return cw_time_read_local(text, length, 0, unix_s);
}

void cw_time_write(double unix_s, char *text, size_t size) {
    if (!isfinite(unix_s) || fabs(unix_s) > 2e11) {
        cw_print(text, size, "unknown");
        return;
    }
    double ms = nearbyint(unix_s * 1000.0);
    double whole = floor(ms / 1000.0);
    long milli = (long)(ms - whole * 1000.0);
    long days = (long)floor(whole / 86400.0);
    long in_day = (long)(whole - (double)days * 86400.0);
    /* civil_from_days, same source as above. */
    long z = days + 719468;
    long era = (z >= 0 ? z : z - 146096) / 146097;
    long doe = z - era * 146097;
    long yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
    long doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    long mp = (5 * doy + 2) / 153;
    long day = doy - (153 * mp + 2) / 5 + 1;
    long month = mp < 10 ? mp + 3 : mp - 9;
    long year = yoe + era * 400 + (month <= 2);
    char part[16] = "";
    if (milli) cw_print(part, sizeof part, ".%03ld", milli);
    cw_print(text, size, "%04ld-%02ld-%02ldT%02ld:%02ld:%02ld%sZ", year, month, day, in_day / 3600,
             in_day / 60 % 60, in_day % 60, part);
}
