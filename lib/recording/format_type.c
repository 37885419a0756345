#include "recording/format_type.h"

const struct cw_format_type *cw_format_type(enum cw_format format) {
    static const struct cw_format_type *const types[] = {
#define TYPE(name, word) &cw_format_##word,
        CW_FORMAT_LIST(TYPE)
#undef TYPE
    };
    return types[format];
}
