/* Whether a page or a picture may be written where something is already. */
#ifndef CW_PAGE_ROOM_H
#define CW_PAGE_ROOM_H

#include "base/error.h"

/* How every page begins. */
#define CW_PAGE_BEGINNING                                                                          \
    "<!DOCTYPE html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n"                   \
    "<meta name=\"generator\" content=\"coastwise\">\n"

/* CW_E_WRITE where path leads to a file that holds something, and not a page or picture as they are
 * made here: somebody's own, not to be written over. CW_E_READ, as far as it must be looked at. */
enum cw_status cw_page_check_room(const char *path, struct cw_error *error);

#endif
