/* What is said wherever speeds are shown that somebody may ride. Constants, plain ASCII. */
#ifndef CW_REPORT_CAUTIONS_H
#define CW_REPORT_CAUTIONS_H

/* Where and how to coast; what holds on the level besides; who has the last word. */
extern const char cw_caution_coasting[], cw_caution_level[], cw_caution_law[];

#endif
