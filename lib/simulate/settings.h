/* Options set by name from text, as the command line's are. */
#ifndef CW_SIMULATE_SETTINGS_H
#define CW_SIMULATE_SETTINGS_H

#include "base/error.h"
#include "base/public.h"
#include "simulate/options.h"

CW_PUBLIC_BEGIN

/* Sets what `coastwise simulate --NAME VALUE` sets: a number of CW_SIMULATE_NUMBERS by its option's
 * name, or
 *
 *   seed, recordings      whole numbers
 *   name, start, format   as there
 *   road                  a name (cw_simulate_road) or METRES:PERCENT[:DEGREES],...
 *   setups                NAME:CDA[:CRR[:KG[:TYRES[:MS]]]],...; the order then is all there and
 * back, twice order                 names of the setups, with commas or blanks speed none, wheel,
 * doppler or own elevation             barometric, satellite, terrain, surveyed or level, and the
 * errors usual for it positions, distance, cadence, device-temperature, irregular, gzip, both-ways,
 * note-wind, air-log, companion, tape, watch   yes or no
 *
 * CW_E_ARGUMENT, saying what to give: "road is "loop": give ...". Ranges are left to
 * cw_simulate_options_check. */
enum cw_status cw_simulate_set(struct cw_simulate_options *options, const char *name,
                               const char *value, struct cw_error *error);
/* All of "NAME=VALUE NAME=VALUE ...", one after the other. */
enum cw_status cw_simulate_set_all(struct cw_simulate_options *options, const char *settings,
                                   struct cw_error *error);

CW_PUBLIC_END

#endif
