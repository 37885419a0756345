#include "analysis/inputs.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "outing/air_log.h"

/* File i of an outing: its own, its air log, its recordings; NULL where there are no more. */
static const char *file_of(const struct cw_analysed *of, size_t i) {
    if (of->has_file && i-- == 0) return of->outing.file;
    if (of->log && i-- == 0) return of->log->file;
    return i < of->n_recordings ? of->recordings[i].file : NULL;
}

enum cw_status cw_analysis_list_inputs(const struct cw_analysis *analysis,
                                       struct cw_analysis_input **inputs, size_t *n,
                                       struct cw_error *error) {
    size_t most = 0;
    *n = 0;
    for (size_t o = 0; o < analysis->n; o++) most += 2 + analysis->outings[o].n_recordings;
    *inputs = calloc(most ? most : 1, sizeof **inputs);
    if (!*inputs) return cw_error_memory(error);
    for (size_t o = 0; o < analysis->n; o++) {
        const char *file;
        for (size_t i = 0; (file = file_of(&analysis->outings[o], i)); i++) {
            struct cw_analysis_input *input = &(*inputs)[(*n)++];
            input->file = file;
            enum cw_status status = cw_checksum_file(file, input->checksum, error);
            if (status >= 0) continue;
            free(*inputs);
            *inputs = NULL;
            *n = 0;
            return status;
        }
    }
    return CW_OK;
}

static bool same_file(const struct stat *one, const char *path) {
    struct stat other;
    return strcmp(path, "-") && !stat(path, &other) && one->st_dev == other.st_dev &&
           one->st_ino == other.st_ino;
}

bool cw_analysis_reads(const struct cw_analysis *analysis, const char *path) {
    struct stat of_path;
    if (!strcmp(path, "-") || stat(path, &of_path)) return false;
    for (size_t o = 0; o < analysis->n; o++) {
        const char *file;
        for (size_t i = 0; (file = file_of(&analysis->outings[o], i)); i++)
            if (same_file(&of_path, file)) return true;
    }
    return false;
}
