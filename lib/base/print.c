#include "base/print.h"

#include <stdio.h>

#include "base/locale.h"

int cw_print_v(char *text, size_t size, const char *format, va_list arguments) {
    locale_t before = cw_locale_plain();
    int length = vsnprintf(text, size, format, arguments);
    cw_locale_restore(before);
    return length;
}

int cw_print(char *text, size_t size, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    int length = cw_print_v(text, size, format, arguments);
    va_end(arguments);
    return length;
}
