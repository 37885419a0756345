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

/* The file's text with additions, as cw_start_make has it. */
enum cw_status cw_start_add(const struct cw_starting *start, struct cw_text *text,
                            struct cw_error *error);

#endif
