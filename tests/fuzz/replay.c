/* Feeds every file of the directories on the command line to the fuzz target, each whole and cut
 * short in many places, so that an ordinary test run covers what the fuzzer starts from. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define LENGTH_MAX (16u << 20)
#define CUTS 16

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static int replay_file(const char *path) {
    FILE *file = fopen(path, "rb");
    uint8_t *bytes = malloc(LENGTH_MAX);
    int failed = !file || !bytes;
    if (!failed) {
        size_t length = fread(bytes, 1, LENGTH_MAX, file);
        for (size_t cut = 0; cut <= CUTS; cut++) LLVMFuzzerTestOneInput(bytes, length * cut / CUTS);
    } else {
        fprintf(stderr, "%s: cannot be read\n", path);
    }
    if (file) fclose(file);
    free(bytes);
    return failed;
}

static int replay_folder(const char *path, int *files) {
    DIR *folder = opendir(path);
    int failed = !folder;
    if (!folder) fprintf(stderr, "%s: cannot be opened\n", path);
    for (struct dirent *entry; folder && (entry = readdir(folder));) {
        char file[4096];
        if (entry->d_name[0] == '.') continue;
        snprintf(file, sizeof file, "%s/%s", path, entry->d_name);
        failed |= replay_file(file);
        ++*files;
    }
    if (folder) closedir(folder);
    return failed;
}

int main(int count, char **paths) {
    int failed = 0, files = 0;
    for (int i = 1; i < count; i++) failed |= replay_folder(paths[i], &files);
    printf("%d files replayed\n", files);
    return failed || files == 0;
}
