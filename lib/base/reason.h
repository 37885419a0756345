/* What the system says of a call of its own that failed. */
#ifndef CW_BASE_REASON_H
#define CW_BASE_REASON_H

/* In words, of an errno; of missing memory the words of CW_E_MEMORY. */
const char *cw_reason_text(int reason);

#endif
