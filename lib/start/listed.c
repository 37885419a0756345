/* The runs as comments of an outing file, written and found again. */
#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/path.h"
#include "base/print.h"
#include "start/start.h"

enum { DATE = 10, CLOCK = 8 }; /* bytes of YYYY-MM-DD and hh:mm:ss */
static const double day_s = 86400;

/* Local time as YYYY-MM-DDThh:mm:ss. */
static void local_time(const struct cw_starting *start, double unix_s, char text[64]) {
    double offset_s = start->analysis->outings[0].outing.utc_offset_s;
    cw_time_write(floor(unix_s + 0.5) + offset_s, text, 64);
    text[DATE + 1 + CLOCK] = '\0';
}

static bool on_one_day(const struct cw_starting *start) {
    const struct cw_runs *runs = &start->analysis->outings[0].runs;
    double offset_s = start->analysis->outings[0].outing.utc_offset_s, first = NAN;
    for (size_t i = 0; i < runs->n; i++) {
        double day = floor((runs->at[i].start_s + offset_s) / day_s);
        if (!runs->at[i].kept) continue;
        if (isnan(first)) first = day;
        if (day != first) return false;
    }
    return true;
}

void cw_start_run_add(const struct cw_starting *start, const struct cw_run *run,
                      struct cw_text *text) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    char time[64];
    local_time(start, run->start_s, time);
    cw_text_add(text, "run %*ld  ", of->runs.n > 99 ? 3 : 2, run->number);
    if (!on_one_day(start)) cw_text_add(text, "%.*s ", DATE, time);
    cw_text_add(text, "%s  %4.0f m  %4.1f km/h", time + DATE + 1, run->distance_m,
                3.6 * run->top_speed_ms);
    if (of->n_recordings > 1)
        cw_text_add(text, "  %.60s", cw_path_name(of->recordings[run->recording].file));
}

/* The place of a run's clock in a line such as "; run  3  2024-05-19 09:02:11  998 m"; NULL where
 * it is no such line. */
static const char *clock_in(const char *begins, const char *line, size_t length,
                            char date[DATE + 1]) {
    size_t at = 0, size = strlen(begins);
    while (at + size < length && strncmp(line + at, begins, size)) at++;
    if (at + size >= length) return NULL;
    for (at += size; at < length && line[at] == ' ';) at++;
    size_t digits = at;
    while (at < length && line[at] >= '0' && line[at] <= '9') at++;
    if (at == digits) return NULL;
    while (at < length && line[at] == ' ') at++;
    date[0] = '\0';
    if (at + DATE + 1 + CLOCK <= length && line[at + 4] == '-') {
        cw_print(date, DATE + 1, "%.*s", DATE, line + at);
        at += DATE + 1;
    }
    return at + CLOCK <= length && line[at + 2] == ':' ? line + at : NULL;
}

/* Whether a clock (and a date, if there is one) falls into the run, or is close to its start: what
 * is found of a run may begin some seconds off where other runs are found beside it. */
static bool is_of(const struct cw_starting *start, const struct cw_run *run, const char *date,
                  const char *clock) {
    const double close_s = 15;
    double offset_s = start->analysis->outings[0].outing.utc_offset_s, time_s;
    char text[64];
    cw_print(text, sizeof text, "%sT%.*s", *date ? date : "1970-01-01", CLOCK, clock);
    if (!cw_time_read(text, strlen(text), &time_s)) return false;
    double later = time_s - offset_s - run->start_s;
    if (!*date) later = remainder(later, day_s);
    return later > -close_s && later < fmax(close_s, run->duration_s);
}

enum cw_start_mention cw_start_mentions(const struct cw_starting *start, const struct cw_run *run,
                                        bool *any) {
    const char *at = start->bytes, *end = at ? at + start->length : NULL;
    enum cw_start_mention found = CW_MENTION_NONE;
    *any = false;
    while (at < end) {
        const char *line = at;
        char date[DATE + 1];
        while (at < end && *at != '\n' && *at != '\r') at++;
        size_t length = (size_t)(at - line);
        const char *clock = clock_in("; run ", line, length, date);
        if (clock) *any = true;
        if (clock && is_of(start, run, date, clock)) found = CW_MENTION;
        clock = clock_in("; new run ", line, length, date);
        if (clock && !found && is_of(start, run, date, clock)) found = CW_MENTION_NEW;
        if (at < end) at++;
    }
    return found;
}
