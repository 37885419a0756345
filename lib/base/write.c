#include "base/write.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/hold.h"
#include "base/path.h"
#include "base/print.h"
#include "base/reason.h"
#include "base/wasi.h"

#define LINKS_MAX 40      /* one leading to another, as the system has it */
#define LINK_LONGEST 4096 /* bytes of what a link says */
#define NAMES_MAX 1000    /* tried for a temporary file */

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
    return cw_error_set(error, CW_E_WRITE, path, 0, "cannot be written: %s",
                        cw_reason_text(reason));
}

/* Into what is there and must stay what it is: a device, a pipe, a stream that was opened before.
 */
static enum cw_status write_through(const char *path, const char *bytes, size_t length,
                                    struct cw_error *error) {
    int fd = open(path, O_WRONLY | O_APPEND | O_CLOEXEC);
    if (fd < 0) return refuse(path, errno, error);
    int failed = write_all(fd, bytes, length), reason = errno;
    if (close(fd) && !failed) {
        failed = 1;
        reason = errno;
    }
    return failed ? refuse(path, reason, error) : CW_OK;
}

/* A name that the system gives a stream of this process (/dev/stdout leads to one). It looks like a
 * link to the stream's file, if it has one; but whoever opened that may be adding to it. */
static bool names_a_stream(const char *path) {
    return !strncmp(path, "/proc/", 6) || !strncmp(path, "/dev/fd/", 8);
}

/* Where path leads in the end: a stream's name, or a name that is no link, whether anything is
 * there or not. To be freed; NULL, with errno, where it leads nowhere. */
static char *follow_links(const char *path) {
    char *at = strdup(path), says[LINK_LONGEST];
    for (int links = 0; at && !names_a_stream(at); links++) {
        ssize_t length = readlink(at, says, sizeof says);
        if (length < 0) break;
        size_t folder = length && says[0] != '/' ? cw_path_folder(at) : 0;
        size_t size = folder + (size_t)length + 1;
        char *next = NULL;
        if (links == LINKS_MAX)
            errno = ELOOP;
        else if (length == sizeof says)
            errno = ENAMETOOLONG;
        else
            next = malloc(size);
        if (next) cw_print(next, size, "%.*s%.*s", (int)folder, at, (int)length, says);
        free(at);
        at = next;
    }
    return at;
}

/* Makes an empty file in target's folder, with a name of its own, which is to be freed. Returns
 * what open does. */
static int open_beside(const char *target, mode_t mode, char **name) {
    size_t folder = cw_path_folder(target), size = folder + 64;
    int fd = -1;
    *name = malloc(size);
    for (int i = 0; *name && fd < 0 && i < NAMES_MAX; i++) {
        cw_print(*name, size, "%.*s.coastwise-%ld-%d", (int)folder, target, (long)getpid(), i);
        fd = open(*name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
        if (fd < 0 && errno != EEXIST) break;
    }
    return fd;
}

/* Gives the file a name that must be free. Where there are no hard links, whoever takes the name
 * in between loses what he wrote. */
static int name_new(const char *temporary, const char *target) {
    struct stat there;
    if (!link(temporary, target)) return unlink(temporary);
    if (errno == EEXIST) return -1;
    if (!lstat(target, &there)) {
        errno = EEXIST;
        return -1;
    }
    return rename(temporary, target);
}

/* Puts a file in the place of target. What was there (NULL: nothing) leaves it its permissions;
 * is_new: nothing may be there. */
static int replace(const char *target, const struct stat *there, bool is_new, const char *bytes,
                   size_t length) {
    char *temporary;
    struct cw_held held = cw_hold_signals();
    int fd = open_beside(target, there ? 0600 : 0666, &temporary);
    int failed = fd < 0, reason = errno;
    if (!failed) {
        failed = (there && fchmod(fd, there->st_mode & 0777)) || write_all(fd, bytes, length) ||
                 fsync(fd);
        reason = errno;
        if (close(fd) && !failed) failed = 1, reason = errno;
        if (!failed && (is_new ? name_new : rename)(temporary, target)) failed = 1, reason = errno;
        if (failed) unlink(temporary);
    }
    cw_release_signals(&held);
    free(temporary);
    errno = reason;
    return failed ? -1 : 0;
}

static enum cw_status write_file(const char *path, bool is_new, const void *bytes, size_t length,
                                 struct cw_error *error) {
    struct stat there;
    bool exists = !stat(path, &there);
    if (exists && S_ISDIR(there.st_mode)) return refuse(path, EISDIR, error);
    if (exists && !S_ISREG(there.st_mode)) return write_through(path, bytes, length, error);
    if (exists && is_new && there.st_size) return refuse(path, EEXIST, error);
    char *target = follow_links(path);
    enum cw_status status = CW_OK;
    if (!target)
        status = refuse(path, errno, error);
    else if (names_a_stream(target))
        status = write_through(path, bytes, length, error);
    else if (replace(target, exists ? &there : NULL, is_new && !exists, bytes, length))
        status = refuse(path, errno, error);
    free(target);
    return status;
}

enum cw_status cw_file_write(const char *path, const void *bytes, size_t length,
                             struct cw_error *error) {
    return write_file(path, false, bytes, length, error);
}

enum cw_status cw_file_write_new(const char *path, const void *bytes, size_t length,
                                 struct cw_error *error) {
    return write_file(path, true, bytes, length, error);
}
