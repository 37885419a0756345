/* Adding to an outing file what is said and found. Inside the room only. */
#ifndef CW_START_ADDED_H
#define CW_START_ADDED_H

#include "start/start.h"

/* Lines that are left to be filled in, as they stand behind "; ": an update that knows what belongs
 * there puts it in their place. */
#define CW_START_FILL_IN "FILL IN, in kg, and take the \";\" away:"
#define CW_START_MASS "mass_kg ="
#define CW_START_TEMPERATURE "temperature_c ="
#define CW_START_PRESSURE "pressure_hpa ="
#define CW_START_HUMIDITY "humidity_percent ="
#define CW_START_ORDER "order = first second second first ..."

/* Standard uncertainty of a pressure that was reduced from sea level, hPa: a recorder's height is
 * off by some 20 m, at 0.12 hPa a metre, and the report by 1 hPa. Common practice, no source. */
extern const double cw_start_reduced_error_hpa;

/* The file's text with additions, as cw_start_make has it. */
enum cw_status cw_start_add(const struct cw_starting *start, struct cw_text *text,
                            struct cw_error *error);

#endif
