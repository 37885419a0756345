#include "page/room.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/reason.h"
#include "picture/chart.h"

static bool begins(const char *head, size_t length, const char *beginning) {
    size_t size = strlen(beginning);
    return length >= size && !memcmp(head, beginning, size);
}

enum cw_status cw_page_check_room(const char *path, struct cw_error *error) {
    struct stat there;
    char head[256];
    if (stat(path, &there) || !S_ISREG(there.st_mode) || !there.st_size) return CW_OK;
    FILE *file = fopen(path, "rb");
    if (!file)
        return cw_error_set(error, CW_E_READ, path, 0,
                            "is there already and cannot be looked at: %s; give another name, or "
                            "--force to write over it",
                            cw_reason_text(errno));
    size_t length = fread(head, 1, sizeof head, file);
    fclose(file);
    if (begins(head, length, CW_PAGE_BEGINNING) || begins(head, length, CW_CHART_BEGINNING))
        return CW_OK;
    return cw_error_set(error, CW_E_WRITE, path, 0,
                        "is there already and is no page or picture that coastwise made: give "
                        "another name, or --force to write over it");
}
