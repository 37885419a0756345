#include "gather.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/reason.h"
#include "base/text.h"
#include "output.h"

enum {
    DEEPEST = 64,        /* folders below folders; deeper is a loop or nobody's rides */
    LOOKED_AT = 65536,   /* bytes of a file that may be an outing */
    LIST_MOST = 16 << 20 /* bytes of a list of names */
};

void cw_gathered_free(struct cw_gathered *gathered) {
    for (size_t i = 0; i < gathered->n; i++) free(gathered->paths[i]);
    free(gathered->paths);
    *gathered = (struct cw_gathered){0};
}

struct gathering {
    const struct cw_files_options *reading;
    enum cw_wanted_files wanted;
    struct cw_gathered *gathered;
    size_t passed_over, recordings; /* in the folder that is looked into, and not wanted */
};

static enum cw_exit no_memory(void) {
    struct cw_error error;
    cw_error_memory(&error);
    return cw_message_error(&error);
}

static enum cw_exit refuse(const char *path, int reason) {
    cw_message(path, 0, "cannot be read: %s", cw_reason_text(reason));
    return CW_EXIT_INPUT;
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

static void leave_out(struct gathering *g, enum cw_exit status) {
    if (status > g->gathered->left_out) g->gathered->left_out = status;
}

/* ---- folders ---- */

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

/* Others have .ini files too. */
static enum cw_exit tell_outing(const char *path, bool *outing) {
    static const char opening[] = "[outing]";
    *outing = false;
    if (!ends_with(path, ".ini")) return CW_EXIT_ANSWERED;
    char *head = malloc(LOOKED_AT + 1);
    FILE *file = head ? fopen(path, "rb") : NULL;
    enum cw_exit status = head && (file || errno != ENOMEM) ? CW_EXIT_ANSWERED : no_memory();
    if (file) {
        head[fread(head, 1, LOOKED_AT, file)] = '\0';
        for (const char *at = head; !*outing && (at = strstr(at, opening)); at++)
            *outing = at == head || strchr("\n\r \t\xbf", at[-1]);
        fclose(file);
    }
    free(head);
    return status;
}

static char *join(const char *folder, const char *name) {
    struct cw_text path = {0};
    cw_text_add(&path, "%s%s%s", folder, ends_with(folder, "/") ? "" : "/", name);
    if (path.failed) cw_text_free(&path);
    return path.bytes; /* whoever frees it has taken the text over */
}

/* Takes path over. */
static enum cw_exit take_file(struct gathering *g, const char *name, char *path) {
    bool recording = is_recording(name), outing = false;
    enum cw_exit status = recording ? CW_EXIT_ANSWERED : tell_outing(path, &outing);
    if (g->wanted == CW_WANTED_OUTINGS ? outing : recording) return add(g->gathered, path);
    g->passed_over += !recording && !outing;
    g->recordings += recording;
    free(path);
    return status;
}

static enum cw_exit look_into(struct gathering *g, const char *folder, int depth) {
    DIR *directory = opendir(folder);
    if (!directory) {
        leave_out(g, refuse(folder, errno));
        return CW_EXIT_ANSWERED;
    }
    enum cw_exit status = CW_EXIT_ANSWERED;
    const struct dirent *entry;
    while (status == CW_EXIT_ANSWERED && (entry = readdir(directory))) {
        struct stat about;
        if (entry->d_name[0] == '.') continue;
        char *path = join(folder, entry->d_name);
        if (!path) {
            status = no_memory();
        } else if (!stat(path, &about) && S_ISREG(about.st_mode)) {
            status = take_file(g, entry->d_name, path);
            path = NULL;
        } else if (g->reading->recursive && !lstat(path, &about) && S_ISDIR(about.st_mode)) {
            if (depth < DEEPEST) {
                status = look_into(g, path, depth + 1);
            } else {
                cw_message(path, 0, "lies too deep and is left out: %d folders, one in the other",
                           DEEPEST);
                leave_out(g, CW_EXIT_INPUT);
            }
        }
        free(path);
    }
    closedir(directory);
    return status;
}

static int by_name(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void refuse_empty(struct gathering *g, const char *folder) {
    if (g->recordings) { /* then outing files are wanted */
        struct cw_text begin = {0};
        cw_text_add(&begin, "coastwise start%s ", g->reading->recursive ? " --recursive" : "");
        cw_text_add_word(&begin, folder);
        cw_message(folder, 0, "holds no outing file, but %zu %s; to begin one from %s, type: %s",
                   g->recordings, g->recordings == 1 ? "recording" : "recordings",
                   g->recordings == 1 ? "it" : "them", begin.bytes ? begin.bytes : "");
        cw_text_free(&begin);
        leave_out(g, CW_EXIT_INPUT);
        return;
    }
    cw_message(folder, 0, "holds no %s%s",
               g->wanted == CW_WANTED_OUTINGS ? "outing file" : ".gpx or .tcx recording",
               g->reading->recursive ? "" : "; --recursive looks into the folders below it too");
    leave_out(g, CW_EXIT_INPUT);
}

static enum cw_exit take_folder(struct gathering *g, const char *folder) {
    struct cw_gathered *gathered = g->gathered;
    size_t before = gathered->n;
    enum cw_exit left_out = gathered->left_out;
    gathered->left_out = CW_EXIT_ANSWERED;
    g->passed_over = g->recordings = 0;
    enum cw_exit status = look_into(g, folder, 0);
    if (gathered->n > before)
        qsort(gathered->paths + before, gathered->n - before, sizeof *gathered->paths, by_name);
    else if (status == CW_EXIT_ANSWERED && !gathered->left_out)
        refuse_empty(g, folder);
    if (gathered->n > before && g->passed_over)
        cw_message(folder, 0, "%zu other %s passed over", g->passed_over,
                   g->passed_over == 1 ? "file" : "files");
    leave_out(g, left_out);
    return status;
}

static enum cw_exit take(struct gathering *g, const char *path) {
    struct stat about;
    if (!stat(path, &about) && S_ISDIR(about.st_mode)) return take_folder(g, path);
    return add(g->gathered, strdup(path));
}

/* ---- lists ---- */

/* The whole list, ended by a NUL; to be freed. NULL, said. */
static char *read_list(struct gathering *g, const char *path, size_t *length) {
    bool standard = !strcmp(path, "-");
    FILE *file = standard ? stdin : fopen(path, "rb");
    char *bytes = NULL;
    size_t capacity = 0;
    bool fine = file != NULL;
    *length = 0;
    for (size_t got = 1; fine && got; *length += got) {
        if (capacity - *length < 2) {
            capacity = capacity ? 2 * capacity : 65536;
            char *more = capacity <= LIST_MOST ? realloc(bytes, capacity) : NULL;
            fine = more != NULL;
            if (more) bytes = more;
            if (!fine) break;
        }
        got = fread(bytes + *length, 1, capacity - *length - 1, file);
        if (!got && ferror(file)) fine = false;
    }
    int reason = errno;
    if (capacity > LIST_MOST) {
        cw_message(path, 0, "is no list of names: it is longer than %d MB", LIST_MOST >> 20);
        leave_out(g, CW_EXIT_INPUT);
    } else if (!fine) {
        leave_out(g, refuse(path, reason));
    }
    if (file && !standard) fclose(file);
    if (fine)
        bytes[*length] = '\0';
    else
        free(bytes);
    return fine ? bytes : NULL;
}

/* No name holds a NUL, so a list with one has them all ended by it. */
static enum cw_exit take_list(struct gathering *g, const char *path) {
    size_t length, before = g->gathered->n;
    enum cw_exit status = CW_EXIT_ANSWERED, left_out = g->gathered->left_out;
    char *bytes = read_list(g, path, &length);
    if (!bytes) return status;
    char end = memchr(bytes, '\0', length) ? '\0' : '\n';
    for (size_t at = 0; at < length && status == CW_EXIT_ANSWERED;) {
        const char *stop = memchr(bytes + at, end, length - at);
        size_t size = stop ? (size_t)(stop - bytes) - at : length - at;
        char *name = bytes + at;
        at += size + 1;
        name[size] = '\0';
        if (end == '\n' && size && name[size - 1] == '\r') name[size - 1] = '\0';
        if (*name) status = take(g, name);
    }
    if (g->gathered->n == before && g->gathered->left_out == left_out &&
        status == CW_EXIT_ANSWERED) {
        cw_message(path, 0, "names no file");
        leave_out(g, CW_EXIT_INPUT);
    }
    free(bytes);
    return status;
}

enum cw_exit cw_gather(int argc, char *const *argv, const struct cw_files_options *reading,
                       enum cw_wanted_files wanted, struct cw_gathered *gathered) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    *gathered = (struct cw_gathered){0};
    struct gathering g = {.reading = reading, .wanted = wanted, .gathered = gathered};
    for (size_t i = 0; i < reading->from.n && status == CW_EXIT_ANSWERED; i++)
        status = add(gathered, strdup(reading->from.at[i]));
    for (int i = 0; i < argc && status == CW_EXIT_ANSWERED; i++) status = take(&g, argv[i]);
    if (reading->files_from && status == CW_EXIT_ANSWERED)
        status = take_list(&g, reading->files_from);
    return status == CW_EXIT_ANSWERED && !gathered->n ? gathered->left_out : status;
}
