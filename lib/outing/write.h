/* Writing an outing as an outing file. */
#ifndef CW_OUTING_WRITE_H
#define CW_OUTING_WRITE_H

#include "base/error.h"
#include "base/public.h"
#include "outing/outing.h"

CW_PUBLIC_BEGIN

/* Writes outing as an outing file that reads back the same, whole or not at all. Fields that are
 * NaN, NULL or empty are left to their defaults; recordings in path's folder are named relative
 * to it. heading, which may be NULL, goes on top as comment lines. CW_E_WRITE, or CW_E_ARGUMENT
 * when a text cannot stand in such a file. */
enum cw_status cw_outing_write(const struct cw_outing *outing, const char *path,
                               const char *heading, struct cw_error *error);

CW_PUBLIC_END

#endif
