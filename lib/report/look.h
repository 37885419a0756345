/* How the reader's terminal shows text. */
#ifndef CW_REPORT_LOOK_H
#define CW_REPORT_LOOK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

/* Whoever knows the terminal says so. */
struct cw_look {
    size_t columns; /* its width */
    bool utf8;      /* it shows UTF-8; else plain ASCII is kept to */
};

CW_PUBLIC_END

#endif
