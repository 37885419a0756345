/* How the reader's terminal shows text. */
#ifndef CW_REPORT_LOOK_H
#define CW_REPORT_LOOK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

/* Units that people read; programs get SI. */
enum cw_units {
    CW_UNITS_METRIC,   /* km/h, m, kg, °C, hPa */
    CW_UNITS_IMPERIAL, /* mph, ft, mi, lb, °F, inHg; areas and powers stay m² and W */
};

/* Whoever knows the terminal says so. */
struct cw_look {
    size_t columns; /* its width */
    bool utf8;      /* it shows UTF-8; else plain ASCII is kept to */
    enum cw_units units;
};

CW_PUBLIC_END

#endif
