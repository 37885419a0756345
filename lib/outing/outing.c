#include "outing/outing.h"

#include <stdlib.h>

static const char *const elevations[] = {"barometric", "satellite", "surveyed", "terrain", "level"};

const char *cw_elevation_text(enum cw_elevation elevation) {
    size_t i = (size_t)elevation;
    return i < sizeof elevations / sizeof *elevations ? elevations[i] : NULL;
}

static void free_strings(char **strings, size_t n) {
    for (size_t i = 0; i < n; i++) free(strings[i]);
    free(strings);
}

void cw_outing_free(struct cw_outing *outing) {
    free(outing->file);
    free(outing->name);
    free_strings(outing->recordings, outing->n_recordings);
    free_strings(outing->defaults, outing->n_defaults);
    for (size_t i = 0; i < outing->n_setups; i++) {
        free(outing->setups[i].name);
        free(outing->setups[i].description);
        free(outing->setups[i].tyres);
    }
    free(outing->setups);
    free(outing->own_air);
    free(outing->order);
    free(outing->skip);
    *outing = (struct cw_outing){0};
}
