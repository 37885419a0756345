#include "base/error.h"

#include <stdarg.h>

#include "base/print.h"

const char *cw_status_text(enum cw_status status) {
    switch (status) {
#define CW_STATUS_CASE(name, number, text)                                                         \
    case name:                                                                                     \
        return text;
        CW_STATUS_LIST(CW_STATUS_CASE)
#undef CW_STATUS_CASE
    }
    return "unknown status";
}

enum cw_status cw_error_set(struct cw_error *error, enum cw_status code, const char *file,
                            long line, const char *format, ...) {
    if (error) {
        error->code = code;
        error->line = line;
        cw_print(error->file, sizeof error->file, "%s", file ? file : "");
        va_list arguments;
        va_start(arguments, format);
        cw_print_v(error->message, sizeof error->message, format, arguments);
        va_end(arguments);
    }
    return code;
}
