/* The pictures' names, for tables that are constant themselves. */
#ifndef CW_PICTURE_NAMES_H
#define CW_PICTURE_NAMES_H

/* In the order of cw_pictures, NULL behind them. */
extern const char *const cw_picture_names[];

#endif
