#include "base/warning.h"

#include <stdarg.h>

#include "base/print.h"

void cw_warning_add(struct cw_warnings *warnings, int kind, long line, const char *format, ...) {
    for (size_t i = 0; i < warnings->n; i++) {
        if (warnings->at[i].kind == kind) {
            warnings->at[i].count++;
            return;
        }
    }
    if (warnings->n == CW_WARNING_MAX) return;
    struct cw_warning *warning = &warnings->at[warnings->n++];
    *warning = (struct cw_warning){.kind = kind, .first_line = line, .count = 1};
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(warning->text, sizeof warning->text, format, arguments);
    va_end(arguments);
}

void cw_warning_text(const struct cw_warning *warning, bool with_line, char text[CW_WARNING_TEXT]) {
    char line[40] = "", times[40] = "";
    if (with_line && warning->first_line)
        cw_print(line, sizeof line, "line %ld: ", warning->first_line);
    if (warning->count > 1) cw_print(times, sizeof times, " (%ld times)", warning->count);
    cw_print(text, CW_WARNING_TEXT, "%s%s%s", line, warning->text, times);
}
