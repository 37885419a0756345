#include "simulate/breeze.h"

#include <math.h>
#include <stdlib.h>

#define MEAN_STEP_S 0.25 /* half of the steps that runs are made in */

enum cw_status cw_breeze_add(struct cw_breeze *breeze, double time_s, double against_ms,
                             struct cw_error *error) {
    if (breeze->n == breeze->capacity) {
        size_t capacity = breeze->capacity ? 2 * breeze->capacity : 1024;
        double *time = realloc(breeze->time_s, capacity * sizeof *time);
        if (time) breeze->time_s = time;
        double *against = realloc(breeze->against_ms, capacity * sizeof *against);
        if (against) breeze->against_ms = against;
        if (!time || !against) return cw_error_memory(error);
        breeze->capacity = capacity;
    }
    breeze->time_s[breeze->n] = time_s;
    breeze->against_ms[breeze->n++] = against_ms;
    return CW_OK;
}

void cw_breeze_free(struct cw_breeze *breeze) {
    free(breeze->time_s);
    free(breeze->against_ms);
    *breeze = (struct cw_breeze){0};
}

double cw_breeze_at(const struct cw_breeze *breeze, double time_s) {
    const double *time = breeze->time_s, *against = breeze->against_ms;
    size_t low = 0, high = breeze->n; /* the first point that is later lies from low to high */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (time[middle] <= time_s)
            low = middle + 1;
        else
            high = middle;
    }
    if (breeze->n == 0) return 0;
    if (low == 0) return against[0];
    if (low == breeze->n) return against[low - 1];
    double part = (time_s - time[low - 1]) / (time[low] - time[low - 1]);
    return against[low - 1] + part * (against[low] - against[low - 1]);
}

double cw_breeze_mean(const struct cw_breeze *breeze, double from_s, double to_s) {
    double parts = fmax(ceil((to_s - from_s) / MEAN_STEP_S), 1), sum = 0;
    for (double i = 0; i < parts; i++)
        sum += cw_breeze_at(breeze, from_s + (to_s - from_s) * (i + 0.5) / parts);
    return sum / parts;
}
