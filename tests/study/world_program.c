#include "world_program.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* An answer that takes longer is none. */
#define PATIENCE_S 300u

char *program_path(const char *directory, const char *name) {
    size_t n = strlen(directory) + strlen(name) + 2;
    char *path = malloc(n);
    if (path) snprintf(path, n, "%s/%s", directory, name);
    return path;
}

static bool redirect(const char *directory, const char *name, int to) {
    char *path = program_path(directory, name);
    int fd = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
    free(path);
    return fd >= 0 && dup2(fd, to) >= 0;
}

int program_run(const char *program, const char *command, const char *directory) {
    char out[32], err[32];
    snprintf(out, sizeof out, "%s.json", command);
    snprintf(err, sizeof err, "%s.err", command);
    char *outing = program_path(directory, "outing.ini");
    pid_t child = outing ? fork() : -1;
    if (child == 0) {
        alarm(PATIENCE_S);
        if (!redirect(directory, out, STDOUT_FILENO) || !redirect(directory, err, STDERR_FILENO))
            _exit(126);
        execlp(program, program, command, "--json", outing, (char *)NULL);
        fprintf(stderr, "%s: %s\n", program, strerror(errno));
        _exit(127);
    }
    free(outing);
    int status;
    while (child > 0 && waitpid(child, &status, 0) < 0)
        if (errno != EINTR) return -1;
    return child > 0 && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

json_t *program_answer(const char *command, const char *directory) {
    char name[32];
    snprintf(name, sizeof name, "%s.json", command);
    char *path = program_path(directory, name);
    json_t *json = path ? json_load_file(path, 0, NULL) : NULL;
    free(path);
    return json;
}

void program_complaint(const char *command, int status, const char *directory, char why[160]) {
    static const char own[] = "coastwise: ";
    char name[32], line[1024] = "", first[1024] = "";
    snprintf(name, sizeof name, "%s.err", command);
    char *path = program_path(directory, name);
    FILE *f = path ? fopen(path, "r") : NULL;
    free(path);
    while (f && fgets(line, sizeof line, f)) {
        bool message = !strncmp(line, own, strlen(own));
        if (!*first || message) memcpy(first, line, sizeof first);
        if (message) break; /* rather than the tables that may stand around it */
    }
    if (f) fclose(f);
    first[strcspn(first, "\n")] = 0;
    const char *from = strstr(first, directory);
    from = from ? strstr(from, ": ") : NULL;
    from = from ? from + 2 : first;
    size_t n = (size_t)snprintf(why, 160, "%s (%d): ", command, status);
    for (bool in_number = false; *from && n < 158; from++) {
        bool digit = *from >= '0' && *from <= '9';
        if (!digit)
            why[n++] = *from;
        else if (!in_number)
            why[n++] = '#';
        in_number = digit;
    }
    why[n] = 0;
}

void program_clear(const char *directory) {
    DIR *d = opendir(directory);
    struct dirent *entry;
    while (d && (entry = readdir(d))) {
        if (entry->d_name[0] == '.') continue;
        char *path = program_path(directory, entry->d_name);
        if (path) unlink(path);
        free(path);
    }
    if (d) closedir(d);
    rmdir(directory);
}
