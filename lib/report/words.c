#include "report/words.h"

#include <math.h>
#include <string.h>

#include "base/print.h"
#include "base/utf8.h"
#include "runs/runs.h"

void cw_duration_text(double duration_s, char text[32]) {
    if (!isfinite(duration_s) || fabs(duration_s) > 1e9) {
        cw_print(text, 32, "-");
        return;
    }
    long s = lround(duration_s);
    if (s >= 3600)
        cw_print(text, 32, "%ld:%02ld:%02ld", s / 3600, s / 60 % 60, s % 60);
    else
        cw_print(text, 32, "%ld:%02ld", s / 60, s % 60);
}

void cw_reasons_add(struct cw_text *text, unsigned reasons, const char *separator) {
    const char *between = "";
    for (int i = 0; i < CW_REASON_COUNT; i++) {
        if (!(reasons & 1U << i)) continue;
        cw_text_add(text, "%s%s", between, cw_run_reason_text((enum cw_run_reason)(1U << i)));
        between = separator;
    }
}

void cw_plain_add(struct cw_text *text, const char *string) {
    static const char *const spelled[][2] = {{"°", ""}, {"²", "2"}, {"³", "3"}, {"±", "+-"}};
    struct cw_text plain = {0};
    for (const char *c = string; *c;) {
        size_t i = 0, n = sizeof spelled / sizeof *spelled;
        while (i < n && strncmp(c, spelled[i][0], strlen(spelled[i][0]))) i++;
        if (i < n)
            cw_text_add(&plain, "%s", spelled[i][1]);
        else
            cw_text_add_bytes(&plain, c, 1);
        c += i < n ? strlen(spelled[i][0]) : 1;
    }
    if (plain.bytes) cw_utf8_add_shown(text, plain.bytes);
    if (plain.failed) text->failed = true;
    cw_text_free(&plain);
}
