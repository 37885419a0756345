#include "fit/places.h"

#include <stdlib.h>
#include <string.h>

#include "fit/whitener.h"

enum { STATES = CW_STATES };

enum cw_status cw_places_come(struct cw_places *places, const struct cw_whitener *w, size_t from,
                              size_t end, size_t columns) {
    if (places->n == places->room) {
        size_t room = 2 * places->room + 8;
        struct cw_kept_place *at = realloc(places->at, room * sizeof *at);
        if (!at) return CW_E_MEMORY;
        memset(at + places->room, 0, (room - places->room) * sizeof *at);
        places->at = at;
        places->room = room;
    }
    struct cw_kept_place *place = &places->at[places->n];
    size_t width = from < end ? w->stretch.width : 0,
           need = 2 * STATES * columns + STATES * width + width * width;
    if (need > place->room) {
        free(place->past);
        place->past = malloc(need * sizeof *place->past);
        place->room = place->past ? need : 0;
        if (!place->past) return CW_E_MEMORY;
    }
    places->n++;
    place->from = from;
    place->end = end;
    place->touched = w->touched;
    place->low = w->stretch.low;
    place->tail = w->stretch.tail;
    place->width = width;
    place->carried = place->past + STATES * columns;
    place->mean = place->carried + STATES * columns;
    place->product = place->mean + STATES * width;
    for (size_t k = 0; k < STATES; k++)
        memcpy(place->past + k * columns, w->past + k * w->capacity, columns * sizeof(double));
    memcpy(place->p, w->stretch.p, sizeof place->p);
    return CW_OK;
}

void cw_places_leave(struct cw_places *places, const struct cw_whitener *w) {
    struct cw_kept_place *place = &places->at[places->n - 1];
    memcpy(place->mean, w->stretch.mean, STATES * place->width * sizeof(double));
    memcpy(place->product, w->stretch.product, place->width * place->width * sizeof(double));
}

void cw_places_free(struct cw_places *places) {
    for (size_t i = 0; i < places->room; i++) free(places->at[i].past);
    free(places->at);
    *places = (struct cw_places){0};
}
