#include "recording/element.h"

#include <math.h>

#include "base/number.h"

void cw_element_add(struct cw_text *text, const char *name, double value, int decimals) {
    if (!isfinite(value)) return;
    cw_text_add(text, "<%s>", name);
    cw_text_add_number(text, value, decimals);
    cw_text_add(text, "</%s>\n", name);
}

void cw_element_add_time(struct cw_text *text, const char *name, double time_s) {
    char time[40];
    if (!isfinite(time_s)) return;
    cw_time_write(time_s, time, sizeof time);
    cw_text_add(text, "<%s>%s</%s>\n", name, time, name);
}
