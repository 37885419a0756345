#include "points.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char *const points[2] = {",", "\xd9\xab"};

/* The characters that localedef has to know; with a file of its own it needs no package of them. */
static void write_characters(FILE *file) {
    fputs("<code_set_name> UTF-8\n<mb_cur_max> 2\n<escape_char> /\nCHARMAP\n", file);
    for (unsigned c = 0; c < 0x80; c++) fprintf(file, "<U%04X> /x%02x\n", c, c);
    fputs("<U066B> /xd9/xab\nEND CHARMAP\n", file);
}

static void write_locale(FILE *file, int i) {
    fprintf(file,
            "LC_NUMERIC\ndecimal_point \"%s\"\nthousands_sep \".\"\ngrouping 3;3\nEND LC_NUMERIC\n",
            i ? "<U066B>" : ",");
}

static bool make(const char *folder, int i) {
    char path[128], command[400];
    snprintf(path, sizeof path, "%s/characters", folder);
    FILE *file = fopen(path, "w");
    if (!file) return false;
    write_characters(file);
    fclose(file);
    snprintf(path, sizeof path, "%s/definition", folder);
    file = fopen(path, "w");
    if (!file) return false;
    write_locale(file, i);
    fclose(file);
    /* It says what else a locale could have, and that is its status. */
    snprintf(command, sizeof command,
             "cd %s && localedef -c -f ./characters -i ./definition ./point-%d >/dev/null 2>&1",
             folder, i);
    return system(command) != -1;
}

bool points_set(int i) {
    char folder[] = "/tmp/points-XXXXXX", name[16], command[64], shown[16];
    if (!mkdtemp(folder)) return false;
    snprintf(name, sizeof name, "point-%d", i);
    bool made = make(folder, i) && !setenv("LOCPATH", folder, 1) && setlocale(LC_NUMERIC, name);
    snprintf(command, sizeof command, "rm -r %s", folder);
    if (system(command)) made = false;
    snprintf(shown, sizeof shown, "%.1f", 0.5);
    made = made && !strncmp(shown + 1, points[i], strlen(points[i]));
    if (!made) printf("no locale with the decimal point \"%s\" can be made here\n", points[i]);
    return made;
}

void points_unset(void) {
    setlocale(LC_NUMERIC, "C");
    unsetenv("LOCPATH");
}
