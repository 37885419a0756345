#include "output.h"

#include <errno.h>
#include <fcntl.h>
#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "base/number.h"
#include "base/print.h"
#include "base/reason.h"
#include "base/utf8.h"
#include "base/write.h"

enum cw_exit cw_output_begin(void) {
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN); /* a limit on the size of files */
    /* A standard stream that the caller closed: hold its place with something that fails as a
     * closed one does (reading from a write-only file, writing to a read-only one). */
    for (int fd = 0; fd <= 2; fd++)
        if (fcntl(fd, F_GETFD) < 0 && errno == EBADF)
            if (open("/dev/null", fd ? O_RDONLY : O_WRONLY) < 0) return CW_EXIT_OUTPUT;
    /* The character set only: numbers keep their point. Where there is none of that name this does
     * nothing; where memory ran out, once more does. */
    if (!setlocale(LC_CTYPE, "")) setlocale(LC_CTYPE, "");
    return CW_EXIT_ANSWERED;
}

#define MOST_NAME 4096 /* of a path that can be opened */

static bool on_terminal(void) {
    const char *term = getenv("TERM");
    return isatty(STDERR_FILENO) && term && strcmp(term, "dumb");
}

static bool coloured(void) {
    const char *no = getenv("NO_COLOR");
    return on_terminal() && !(no && *no);
}

struct cw_look cw_output_look(void) {
    const long least = 20, most = 1000;
    struct cw_look look = {.columns = 80, .utf8 = !strcmp(nl_langinfo(CODESET), "UTF-8")};
    const char *asked = getenv("COLUMNS");
    struct winsize size;
    long columns;
    if (asked && cw_integer_read(asked, strlen(asked), &columns) && columns >= least &&
        columns <= most)
        look.columns = (size_t)columns;
    else if (!ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) && size.ws_col >= least)
        look.columns = size.ws_col;
    return look;
}

const char *const cw_output_units[] = {"metric", "imperial", NULL};

struct cw_look cw_output_look_in(const char *units) {
    struct cw_look look = cw_output_look();
    if (units && !strcmp(units, "imperial")) look.units = CW_UNITS_IMPERIAL;
    return look;
}

/* Whoever read the answer has left, as head does when it has its lines: that is no fault, and the
 * program ends as one does that a closed pipe ends, without a word. */
static void leave_closed_pipe(void) {
    signal(SIGPIPE, SIG_DFL);
    raise(SIGPIPE);
}

enum cw_exit cw_output_write(struct cw_text *text) {
    enum cw_exit status = CW_EXIT_ANSWERED;
    cw_progress_end();
    errno = 0;
    if (text->failed) {
        cw_message(NULL, 0, "%s", cw_status_text(CW_E_MEMORY));
        status = CW_EXIT_INPUT;
    } else if ((text->length && fwrite(text->bytes, 1, text->length, stdout) != text->length) ||
               fflush(stdout)) {
        if (errno == EPIPE) leave_closed_pipe();
        cw_message(NULL, 0, "standard output cannot be written: %s", cw_reason_text(errno));
        status = CW_EXIT_OUTPUT;
    }
    cw_text_free(text);
    return status;
}

enum cw_exit cw_output_write_file(const char *path, struct cw_text *text) {
    struct cw_error error;
    enum cw_status status = text->failed ? cw_error_memory(&error)
                                         : cw_file_write(path, text->bytes, text->length, &error);
    cw_text_free(text);
    return status < 0 ? cw_message_error(&error) : CW_EXIT_ANSWERED;
}

enum cw_exit cw_output_explain(struct cw_text *text, enum cw_exit status) {
    cw_progress_end();
    if (text->failed) {
        cw_message(NULL, 0, "%s", cw_status_text(CW_E_MEMORY));
        status = CW_EXIT_INPUT;
    } else {
        fprintf(stderr, "%s", text->bytes ? text->bytes : "");
    }
    cw_text_free(text);
    return status;
}

static _Thread_local struct cw_text *held; /* NULL: nothing is held */

void cw_message_into(struct cw_text *text) {
    held = text;
}

bool cw_message_is_held(void) {
    return held != NULL;
}

static const char *who(void) {
    return coloured() ? "\033[1mcoastwise:\033[0m" : "coastwise:";
}

void cw_message_write(const struct cw_text *lines) {
    cw_progress_end();
    for (const char *at = lines->bytes ? lines->bytes : ""; *at;) {
        int length = (int)strcspn(at, "\n");
        fprintf(stderr, "%s %.*s\n", who(), length, at);
        at += length + (at[length] == '\n');
    }
}

/* Allocates nothing where it is not held: it is what says that memory ran out. */
void cw_message(const char *file, long line, const char *format, ...) {
    char name[MOST_NAME] = "", at[40] = "", message[1024];
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(message, sizeof message, format, arguments);
    va_end(arguments);
    if (file && *file) {
        cw_print(name, sizeof name, "%s", strcmp(file, "-") ? file : "standard input");
        if (line) cw_print(at, sizeof at, ":%ld", line);
        cw_utf8_show(name);
    }
    cw_utf8_show(message);
    const char *between = *name ? ": " : "";
    if (held) {
        cw_text_add(held, "%s%s%s%s\n", name, at, between, message);
        return;
    }
    cw_progress_end();
    fprintf(stderr, "%s %s%s%s%s\n", who(), name, at, between, message);
}

enum cw_exit cw_exit_of(enum cw_status status) {
    switch (status) {
    case CW_OK:
        return CW_EXIT_ANSWERED;
    case CW_E_ARGUMENT:
        return CW_EXIT_USAGE;
    case CW_E_READ:
    case CW_E_FORMAT:
    case CW_E_MEMORY:
        return CW_EXIT_INPUT;
    case CW_E_WRITE:
        return CW_EXIT_OUTPUT;
    case CW_NOT_IDENTIFIABLE:
    case CW_E_DATA:
    case CW_E_NUMERIC:
        break;
    }
    return CW_EXIT_DATA;
}

enum cw_exit cw_message_error(const struct cw_error *error) {
    cw_message(error->file, error->line, "%s", error->message);
    return cw_exit_of(error->code);
}

/* When the items that progress is shown of began. */
static struct {
    const char *what;
    size_t n;
    double began_s;
} shown;

static double now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Told once it can be known to some part: after some seconds and some items. */
static void add_left(struct cw_text *text, const char *what, size_t i, size_t n) {
    const double least_s = 2;
    double now = now_s();
    if (i == 1 || n != shown.n || !shown.what || strcmp(what, shown.what) != 0) {
        shown.what = what;
        shown.n = n;
        shown.began_s = now;
    }
    double took = now - shown.began_s,
           left = took / (double)(i > 1 ? i - 1 : 1) * (double)(n - i + 1);
    if (i < 4 || took < least_s || left < 1) return;
    if (left < 90)
        cw_text_add(text, ", %.0f s left", ceil(left));
    else
        cw_text_add(text, ", %.0f min left", ceil(left / 60));
}

void cw_progress(const char *what, size_t i, size_t n, const char *file) {
    if (held || !on_terminal()) return;
    struct cw_text text = {0};
    cw_text_add(&text, "%s %zu of %zu", what, i, n);
    add_left(&text, what, i, n);
    cw_text_add(&text, ": ");
    cw_utf8_add_shown(&text, file);
    fprintf(stderr, "\r\033[K%s", text.bytes ? text.bytes : "");
    fflush(stderr);
    cw_text_free(&text);
}

void cw_progress_end(void) {
    if (!held && on_terminal()) fprintf(stderr, "\r\033[K");
}
