/* XML elements with a value, each on a line of its own. */
#ifndef CW_RECORDING_ELEMENT_H
#define CW_RECORDING_ELEMENT_H

#include "base/text.h"

/* Nothing is added for a value that is missing. */
void cw_element_add(struct cw_text *text, const char *name, double value, int decimals);
void cw_element_add_time(struct cw_text *text, const char *name, double time_s);

#endif
