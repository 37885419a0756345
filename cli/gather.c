#include "gather.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/reason.h"
#include "base/text.h"
#include "output.h"

/* Folders below folders; deeper is a loop or nobody's rides. */
enum { DEEPEST = 64 };

void cw_gathered_free(struct cw_gathered *gathered) {
    for (size_t i = 0; i < gathered->n; i++) free(gathered->paths[i]);
    free(gathered->paths);
    *gathered = (struct cw_gathered){0};
}

static enum cw_exit no_memory(void) {
    struct cw_error error;
    cw_error_memory(&error);
    return cw_message_error(&error);
}

/* Takes path over. */
static enum cw_exit add(struct cw_gathered *gathered, char *path) {
    size_t n = gathered->n;
    if (path && (n & (n - 1)) == 0) { /* room for the next power of two */
        char **more = realloc(gathered->paths, (n ? 2 * n : 1) * sizeof *more);
        if (more) gathered->paths = more;
        if (!more) {
            free(path);
            path = NULL;
        }
    }
    if (!path) return no_memory();
    gathered->paths[gathered->n++] = path;
    return CW_EXIT_ANSWERED;
}

static bool ends_with(const char *name, const char *ending) {
    size_t n = strlen(name), m = strlen(ending);
    return n > m && !strcasecmp(name + n - m, ending);
}

static bool is_recording(const char *name) {
    static const char *const endings[] = {".gpx", ".tcx", ".gpx.gz", ".tcx.gz"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++)
        if (ends_with(name, endings[i])) return true;
    return false;
}

static char *join(const char *folder, const char *name) {
    struct cw_text path = {0};
    cw_text_add(&path, "%s%s%s", folder, ends_with(folder, "/") ? "" : "/", name);
    if (path.failed) cw_text_free(&path);
    return path.bytes; /* whoever frees it has taken the text over */
}

static enum cw_exit look_into(const char *folder, bool recursive, int depth,
                              struct cw_gathered *gathered) {
    DIR *directory = opendir(folder);
    if (!directory) {
        cw_message(folder, 0, "cannot be read: %s", cw_reason_text(errno));
        return CW_EXIT_INPUT;
    }
    enum cw_exit status = CW_EXIT_ANSWERED;
    const struct dirent *entry;
    while (status == CW_EXIT_ANSWERED && (entry = readdir(directory))) {
        struct stat about;
        if (entry->d_name[0] == '.') continue;
        char *path = join(folder, entry->d_name);
        if (!path) {
            status = no_memory();
        } else if (is_recording(entry->d_name) && !stat(path, &about) && S_ISREG(about.st_mode)) {
            status = add(gathered, path);
            path = NULL;
        } else if (recursive && depth < DEEPEST && !lstat(path, &about) && S_ISDIR(about.st_mode)) {
            status = look_into(path, recursive, depth + 1, gathered);
        }
        free(path);
    }
    closedir(directory);
    return status;
}

static int by_name(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

enum cw_exit cw_gather(int argc, char *const *argv, bool recursive, struct cw_gathered *gathered) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    *gathered = (struct cw_gathered){0};
    for (int i = 0; i < argc && status == CW_EXIT_ANSWERED; i++) {
        struct stat about;
        if (stat(argv[i], &about) || !S_ISDIR(about.st_mode)) {
            status = add(gathered, strdup(argv[i]));
            continue;
        }
        size_t before = gathered->n;
        status = look_into(argv[i], recursive, 0, gathered);
        if (status != CW_EXIT_ANSWERED) break;
        if (gathered->n == before) {
            cw_message(argv[i], 0, "holds no .gpx or .tcx recording%s",
                       recursive ? "" : "; --recursive looks into the folders below it too");
            status = CW_EXIT_INPUT;
        } else {
            qsort(gathered->paths + before, gathered->n - before, sizeof *gathered->paths, by_name);
        }
    }
    return status;
}
