#include "report/words.h"

#include <math.h>
#include <stdio.h>

#include "road/runs.h"

void cw_duration_text(double duration_s, char text[32]) {
    if (!isfinite(duration_s) || fabs(duration_s) > 1e9) {
        snprintf(text, 32, "-");
        return;
    }
    long s = lround(duration_s);
    if (s >= 3600)
        snprintf(text, 32, "%ld:%02ld:%02ld", s / 3600, s / 60 % 60, s % 60);
    else
        snprintf(text, 32, "%ld:%02ld", s / 60, s % 60);
}

void cw_reasons_add(struct cw_text *text, unsigned reasons, const char *separator) {
    const char *between = "";
    for (int i = 0; i < CW_REASON_COUNT; i++) {
        if (!(reasons & 1U << i)) continue;
        cw_text_add(text, "%s%s", between, cw_run_reason_text((enum cw_run_reason)(1U << i)));
        between = separator;
    }
}
