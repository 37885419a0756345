/* The units that people read: what tables and sentences hold in ours, in theirs. Inside the library
 * only. */
#ifndef CW_REPORT_UNITS_H
#define CW_REPORT_UNITS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "report/look.h"

/* How a value in a unit of ours is shown: value x factor + offset, in unit. */
struct cw_unit_shown {
    const char *unit;
    double factor, offset;
    int more; /* decimals, beside those that the value has in our unit */
};

/* Of a unit as our tables name it ("m/s", "km/h", "m", "kg", "°C", "hPa"; as a plain terminal
 * spells it too); what is not among them is shown as it is. */
struct cw_unit_shown cw_unit_shown(enum cw_units units, const char *unit);
/* The same of a difference or an uncertainty: 1 °C is 1.8 °F. */
struct cw_unit_shown cw_unit_shown_apart(enum cw_units units, const char *unit);

/* Adds a sentence of ours with its numbers and units as they are shown: "0.4 to 1.3 m" is "1.3 to
 * 4.3 ft". A number after "±" or "less" is a difference. */
void cw_units_say(struct cw_text *text, const char *sentence, enum cw_units units);
/* The same of a head that closes with its unit: "height, m", "wind, km/h (+ headwind)". */
void cw_units_say_head(struct cw_text *text, const char *head, enum cw_units units);

/* Whether a word is a unit, of ours or theirs, but for what a sentence closes with. */
bool cw_is_unit(const char *word, size_t length);

/* Decimals of a value that has so many in our unit. */
int cw_unit_decimals(const struct cw_unit_shown *shown, int decimals);

#endif
