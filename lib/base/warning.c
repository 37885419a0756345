#include "base/warning.h"

#include <stdarg.h>
#include <stdio.h>

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
    vsnprintf(warning->text, sizeof warning->text, format, arguments);
    va_end(arguments);
}
