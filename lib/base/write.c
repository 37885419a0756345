#include "base/write.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/format.h"

static int write_all(int fd, const char *bytes, size_t length) {
    while (length) {
        ssize_t wrote = write(fd, bytes, length);
        if (wrote < 0) {
            if (errno == EINTR) continue;
            return -1;
        }
        bytes += wrote;
        length -= (size_t)wrote;
    }
    return 0;
}

static enum cw_status refuse(const char *path, int reason, struct cw_error *error) {
    return cw_error_set(error, CW_E_WRITE, path, 0, "cannot be written: %s", strerror(reason));
}

/* Into what is there and must stay what it is: a device, a pipe. */
static enum cw_status write_through(const char *path, const char *bytes, size_t length,
                                    struct cw_error *error) {
    int fd = open(path, O_WRONLY);
    if (fd < 0) return refuse(path, errno, error);
    int failed = write_all(fd, bytes, length), reason = errno;
    if (close(fd) && !failed) {
        failed = 1;
        reason = errno;
    }
    return failed ? refuse(path, reason, error) : CW_OK;
}

enum cw_status cw_file_write(const char *path, const void *bytes, size_t length,
                             struct cw_error *error) {
    struct stat there;
    if (!stat(path, &there) && !S_ISREG(there.st_mode))
        return S_ISDIR(there.st_mode) ? refuse(path, EISDIR, error)
                                      : write_through(path, bytes, length, error);
    size_t size = strlen(path) + 8;
    char *temporary = malloc(size);
    if (!temporary) return cw_error_memory(error);
    cw_format(temporary, size, "%s.XXXXXX", path);
    enum cw_status status = CW_OK;
    int fd = mkstemp(temporary);
    if (fd < 0) {
        status = refuse(path, errno, error);
        free(temporary);
        return status;
    }
    /* mkstemp makes a private file; a result is an ordinary one. */
    mode_t mask = umask(0);
    umask(mask);
    int failed = fchmod(fd, 0666 & ~mask) || write_all(fd, bytes, length) || fsync(fd);
    int reason = errno;
    if (close(fd) && !failed) {
        failed = 1;
        reason = errno;
    }
    if (!failed && rename(temporary, path)) {
        failed = 1;
        reason = errno;
    }
    if (failed) {
        unlink(temporary);
        status = refuse(path, reason, error);
    }
    free(temporary);
    return status;
}
