/* Paths of files. */
#ifndef CW_BASE_PATH_H
#define CW_BASE_PATH_H

#include <stddef.h>
#include <string.h>

/* Bytes of path that name its folder, the last '/' among them; 0 where it names none. */
static inline size_t cw_path_folder(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash ? (size_t)(slash - path) + 1 : 0;
}

/* The file's own name; points into path. */
static inline const char *cw_path_name(const char *path) {
    return path + cw_path_folder(path);
}

#endif
