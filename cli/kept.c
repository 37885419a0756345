#include "kept.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/number.h"
#include "base/reason.h"
#include "base/version.h"
#include "base/write.h"
#include "outing/outing.h"
#include "outing/read.h"
#include "output.h"

/* How every entry begins. Then follow, a line each, its key, the answer's status, the length of the
 * answer and of what was said, and the checksum of all else; then these. */
static const char opening[] = "coastwise keeps this answer\n";
/* An answer is shorter. */
enum { LONGEST = 1 << 28 };

/* Options that the answer does not hang on. */
static bool changes_nothing(const struct cw_option *option) {
    static const char *const names[] = {"threads", "keep", "files-from", "recursive"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (!strcmp(option->name, names[i])) return true;
    return false;
}

/* Texts are told apart whatever they hold: a length stands before each. */
static void add_text(struct cw_text *to, const char *text) {
    cw_text_add(to, "%zu:%s\n", text ? strlen(text) : 0, text ? text : "");
}

static void add_option(struct cw_text *to, const struct cw_option *option, const void *values) {
    const void *field = (const char *)values + option->offset;
    add_text(to, option->name);
    switch (option->kind) {
    case CW_OPTION_FLAG:
    case CW_OPTION_OFF:
        cw_text_add(to, "%d\n", *(const bool *)field);
        break;
    case CW_OPTION_TEXT:
        add_text(to, *(const char *const *)field);
        break;
    case CW_OPTION_NUMBER:
        cw_text_add(to, "%a\n", *(const double *)field);
        break;
    case CW_OPTION_COUNT:
        cw_text_add(to, "%ld\n", *(const long *)field);
        break;
    case CW_OPTION_TEXTS: {
        const struct cw_option_texts *texts = field;
        for (size_t i = 0; i < texts->n; i++) add_text(to, texts->at[i]);
        break;
    }
    }
}

enum cw_exit cw_kept_open(struct cw_kept *kept, const char *folder,
                          const struct cw_command *command, const void *options) {
    struct stat about;
    *kept = (struct cw_kept){.folder = folder};
    cw_text_add(&kept->asked, "coastwise %s\n%s\n", cw_version(), command->name);
    for (size_t i = 0; i < command->n_options; i++)
        if (!changes_nothing(&command->options[i]))
            add_option(&kept->asked, &command->options[i], options);
    int reason = mkdir(folder, 0777) ? errno : 0;
    if (reason == EEXIST) reason = !stat(folder, &about) && S_ISDIR(about.st_mode) ? 0 : ENOTDIR;
    if (!reason) return CW_EXIT_ANSWERED;
    cw_message(folder, 0, "nothing can be kept there: %s", cw_reason_text(reason));
    return CW_EXIT_OUTPUT;
}

void cw_kept_close(struct cw_kept *kept) {
    cw_text_free(&kept->asked);
}

/* ---- keys ---- */

/* false where its bytes are not known: a pipe, or it cannot be read. */
static bool add_file(struct cw_text *to, const char *path) {
    char checksum[CW_CHECKSUM_HEX];
    if (cw_checksum_file(path, checksum, NULL) < 0 || !*checksum) return false;
    add_text(to, path);
    cw_text_add(to, "%s\n", checksum);
    return true;
}

/* What an outing file names. */
static bool add_named(struct cw_text *to, const struct cw_outing *outing) {
    bool known = !outing->air_log || add_file(to, outing->air_log);
    for (size_t i = 0; i < outing->n_recordings && known; i++)
        known = add_file(to, outing->recordings[i]);
    return known;
}

/* Whether it may be an outing file, which names others: what a recording begins with says no. */
static bool may_be_outing(const char *path) {
    unsigned char head[64];
    FILE *file = fopen(path, "rb");
    size_t length = file ? fread(head, 1, sizeof head, file) : 0, at = 0;
    if (file) fclose(file);
    if (length >= 2 && head[0] == 0x1f && head[1] == 0x8b) return true; /* one may be packed */
    if (length >= 3 && !memcmp(head, "\xef\xbb\xbf", 3)) at = 3;
    while (at < length && strchr(" \t\r\n", head[at]) && head[at]) at++;
    return at == length || head[at] != '<';
}

void cw_kept_key(const struct cw_kept *kept, const char *path, struct cw_kept_key *key) {
    struct cw_text text = {0};
    struct cw_outing outing = {0};
    *key = (struct cw_kept_key){.path = path};
    cw_text_add_bytes(&text, kept->asked.bytes, kept->asked.length);
    if (kept->asked.failed) text.failed = true;
    bool known = add_file(&text, path);
    if (known && may_be_outing(path) && cw_outing_read(path, &outing, NULL) >= 0)
        known = add_named(&text, &outing);
    cw_outing_free(&outing);
    if (known && !text.failed) cw_checksum_hex(text.bytes, text.length, key->hex);
    cw_text_free(&text);
}

/* ---- entries ---- */

static void add_path(const struct cw_kept *kept, const struct cw_kept_key *key,
                     struct cw_text *path) {
    cw_text_add(path, "%s/%s", kept->folder, key->hex);
}

/* The whole of a regular file, ended by a NUL; to be freed. NULL where there is none such. */
static char *read_entry(const char *path, size_t *length) {
    struct stat about;
    if (stat(path, &about) || !S_ISREG(about.st_mode) || about.st_size > LONGEST) return NULL;
    FILE *file = fopen(path, "rb");
    char *bytes = file ? malloc((size_t)about.st_size + 1) : NULL;
    if (bytes) {
        *length = fread(bytes, 1, (size_t)about.st_size, file);
        bytes[*length] = '\0';
    }
    if (file) fclose(file);
    return bytes;
}

/* What stands between the opening and the answer. */
static void add_heading(struct cw_text *to, const struct cw_kept_key *key, const char *both,
                        size_t answer, size_t said, enum cw_exit status) {
    char checksum[CW_CHECKSUM_HEX];
    struct cw_text all = {0};
    cw_text_add(to, "%s%s\n%d\n%zu\n%zu\n", opening, key->hex, (int)status, answer, said);
    if (to->length) cw_text_add_bytes(&all, to->bytes, to->length);
    cw_text_add_bytes(&all, both, answer + said);
    if (all.failed) to->failed = true;
    if (!all.failed) cw_checksum_hex(all.bytes, all.length, checksum);
    if (!all.failed) cw_text_add(to, "%s\n", checksum);
    cw_text_free(&all);
}

/* The whole number that a line holds; -1: it holds none. *at goes on behind the line. */
static long number_line(const char **at) {
    size_t length = strcspn(*at, "\n");
    long number = -1;
    if (!cw_integer_read(*at, length, &number) || (*at)[length] != '\n') return -1;
    *at += length + 1;
    return number;
}

bool cw_kept_take(const struct cw_kept *kept, const struct cw_kept_key *key, struct cw_text *answer,
                  struct cw_text *said, enum cw_exit *status) {
    struct cw_text path = {0}, heading = {0};
    size_t length = 0, first = strlen(opening) + strlen(key->hex) + 1;
    bool fine = false;
    if (!*key->hex) return false;
    add_path(kept, key, &path);
    char *bytes = path.failed ? NULL : read_entry(path.bytes, &length);
    if (bytes && length > first && !strncmp(bytes, opening, strlen(opening))) {
        const char *at = bytes + first;
        long state = number_line(&at), of_answer = number_line(&at), of_said = number_line(&at);
        size_t left = length - (size_t)(at - bytes), size = CW_CHECKSUM_HEX;
        if (state >= 0 && state <= CW_EXIT_OUTPUT && of_answer >= 0 && of_said >= 0 &&
            of_answer <= LONGEST && of_said <= LONGEST &&
            left == size + (size_t)of_answer + (size_t)of_said) {
            const char *both = at + size;
            add_heading(&heading, key, both, (size_t)of_answer, (size_t)of_said,
                        (enum cw_exit)state);
            fine = !heading.failed && heading.length == (size_t)(both - bytes) &&
                   !memcmp(heading.bytes, bytes, heading.length);
            if (fine) cw_text_add_bytes(answer, both, (size_t)of_answer);
            if (fine) cw_text_add_bytes(said, both + of_answer, (size_t)of_said);
            *status = (enum cw_exit)state;
        }
    }
    free(bytes);
    cw_text_free(&heading);
    cw_text_free(&path);
    return fine;
}

/* Nothing is there, or an entry, whole or not. */
static bool may_replace(const char *path) {
    struct stat about;
    char head[sizeof opening];
    if (lstat(path, &about)) return true;
    FILE *file = S_ISREG(about.st_mode) ? fopen(path, "rb") : NULL;
    if (!file) return false;
    size_t length = fread(head, 1, sizeof opening - 1, file);
    fclose(file);
    return !memcmp(head, opening, length);
}

enum cw_exit cw_kept_put(const struct cw_kept *kept, const struct cw_kept_key *key,
                         const struct cw_text *answer, const struct cw_text *said,
                         enum cw_exit status) {
    struct cw_text path = {0}, entry = {0}, both = {0};
    struct cw_kept_key now;
    struct cw_error error;
    enum cw_exit wrote = CW_EXIT_ANSWERED;
    if (status != CW_EXIT_ANSWERED && status != CW_EXIT_DATA) return wrote; /* others may pass */
    cw_kept_key(kept, key->path, &now);
    if (!*key->hex || strcmp(key->hex, now.hex) != 0) return wrote;
    add_path(kept, key, &path);
    if (answer->length) cw_text_add_bytes(&both, answer->bytes, answer->length);
    if (said->length) cw_text_add_bytes(&both, said->bytes, said->length);
    add_heading(&entry, key, both.bytes ? both.bytes : "", answer->length, said->length, status);
    if (both.length) cw_text_add_bytes(&entry, both.bytes, both.length);
    if (path.failed || both.failed || entry.failed) {
        cw_error_memory(&error);
        wrote = cw_message_error(&error);
    } else if (may_replace(path.bytes) &&
               cw_file_write(path.bytes, entry.bytes, entry.length, &error) < 0) {
        wrote = cw_message_error(&error);
    }
    cw_text_free(&path);
    cw_text_free(&both);
    cw_text_free(&entry);
    return wrote;
}
