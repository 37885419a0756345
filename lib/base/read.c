#include "base/read.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

enum cw_status cw_file_read(const char *path, size_t most, struct cw_text *bytes,
                            struct cw_error *error) {
    int given = !strcmp(path, "-");
    int fd = given ? STDIN_FILENO : open(path, O_RDONLY);
    enum cw_status status = CW_OK;
    if (fd < 0)
        return cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", strerror(errno));
    char block[16384];
    while (most) {
        ssize_t got = read(fd, block, most < sizeof block ? most : sizeof block);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0)
            status = cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", strerror(errno));
        if (got <= 0) break;
        cw_text_add_bytes(bytes, block, (size_t)got);
        most -= (size_t)got;
    }
    if (status == CW_OK && bytes->failed) status = cw_error_memory(error);
    if (!given) close(fd);
    return status;
}
