#include "report/clock.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"

struct cw_clock cw_clock_of(const struct cw_analysed *of) {
    struct cw_clock clock = {.offset_s = of->outing.utc_offset_s, .name = "UTC"};
    if (!of->outing.utc_offset_given && of->n_recordings)
        clock.offset_s = of->recordings[0].utc_offset_s;
    int minutes = (int)lround(fabs(clock.offset_s) / 60);
    if (clock.offset_s != 0)
        cw_print(clock.name, sizeof clock.name, "UTC%c%02d:%02d", clock.offset_s < 0 ? '-' : '+',
                 minutes / 60 % 24, minutes % 60);
    return clock;
}

void cw_clock_write(const struct cw_clock *clock, double unix_s, char text[CW_CLOCK_TEXT]) {
    cw_time_write(floor(unix_s + clock->offset_s), text, CW_CLOCK_TEXT);
    char *between = strchr(text, 'T'), *end = strrchr(text, 'Z');
    if (between) *between = ' ';
    if (end) *end = '\0';
}

void cw_table_add_clock(struct cw_table *table, const struct cw_clock *clock, double unix_s,
                        bool day) {
    char text[CW_CLOCK_TEXT];
    cw_clock_write(clock, unix_s, text);
    cw_table_add(table, "%s", day || !strchr(text, ' ') ? text : strchr(text, ' ') + 1);
}
