#include "explain/share.h"

#include <math.h>

/* Of central differences: of what changes, and, where slopes are asked for, by themselves. */
static const double part_step = 0.05, mass_step = 0.01, drag_step = 0.02, rolling_step = 2e-4,
                    density_step = 0.01, speed_step = 0.02, wind_step_ms = 0.05;

static double step_of(const struct cw_explained_state *at, enum cw_part c) {
    const double steps[CW_MODEL_PARTS] = {
        mass_step * at->of[CW_PART_MASS],       drag_step * at->of[CW_PART_DRAG],   rolling_step,
        density_step * at->of[CW_PART_DENSITY], speed_step * at->of[CW_PART_START], wind_step_ms};
    return steps[c];
}

/* What a step of a cause either way changes, over both steps. */
static enum cw_status difference(const struct cw_explained_road *road,
                                 const struct cw_explained_state *at, enum cw_part c, double step,
                                 double change[CW_EXPLAINED], struct cw_error *error) {
    struct cw_explained_state less = *at, more = *at;
    double before[CW_EXPLAINED];
    less.of[c] -= step;
    more.of[c] += step;
    enum cw_status status = cw_explained_coast(road, &less, before, error);
    if (status >= 0) status = cw_explained_coast(road, &more, change, error);
    for (int q = 0; q < CW_EXPLAINED && status >= 0; q++) change[q] -= before[q];
    return status;
}

static enum cw_status slopes_at(const struct cw_explained_road *road,
                                const struct cw_explained_state *at,
                                double slope[CW_MODEL_PARTS][CW_EXPLAINED],
                                struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (enum cw_part c = 0; c < CW_MODEL_PARTS && status >= 0; c++) {
        double step = step_of(at, c);
        status = difference(road, at, c, step, slope[c], error);
        for (int q = 0; q < CW_EXPLAINED; q++) slope[c][q] /= 2 * step;
    }
    return status;
}

/* How the slopes change with one of the causes. */
static enum cw_status bend(const struct cw_explained_road *road,
                           const struct cw_explained_state *middle, enum cw_part by,
                           const struct cw_shares *shares,
                           double change[CW_MODEL_PARTS][CW_EXPLAINED], struct cw_error *error) {
    struct cw_explained_state moved = *middle;
    double step = step_of(middle, by);
    moved.of[by] += step;
    enum cw_status status = slopes_at(road, &moved, change, error);
    for (int c = 0; c < CW_MODEL_PARTS; c++)
        for (int q = 0; q < CW_EXPLAINED; q++)
            change[c][q] = (change[c][q] - shares->slope[c][q]) / step;
    return status;
}

enum cw_status cw_shares_make(const struct cw_explained_road *road,
                              const struct cw_explained_state *setup,
                              const struct cw_explained_state *reference, struct cw_shares *shares,
                              struct cw_error *error) {
    const double gauss[] = {0.5 - 0.5 / sqrt(3), 0.5 + 0.5 / sqrt(3)};
    struct cw_explained_state middle;
    enum cw_status status = CW_OK;
    *shares = (struct cw_shares){0};
    for (int k = 0; k < 2; k++) {
        struct cw_explained_state at;
        for (int c = 0; c < CW_MODEL_PARTS; c++) {
            at.of[c] = reference->of[c] + gauss[k] * (setup->of[c] - reference->of[c]);
            middle.of[c] = 0.5 * (setup->of[c] + reference->of[c]);
        }
        for (enum cw_part c = 0; c < CW_MODEL_PARTS && status >= 0; c++) {
            double change[CW_EXPLAINED], whole = setup->of[c] - reference->of[c];
            if (whole == 0) continue;
            status = difference(road, &at, c, part_step * whole, change, error);
            for (int q = 0; q < CW_EXPLAINED && status >= 0; q++)
                shares->part[c][q] += 0.5 * change[q] / (2 * part_step);
        }
    }
    if (status >= 0) status = slopes_at(road, &middle, shares->slope, error);
    if (status >= 0) status = bend(road, &middle, CW_PART_DRAG, shares, shares->by_drag, error);
    if (status >= 0)
        status = bend(road, &middle, CW_PART_ROLLING, shares, shares->by_rolling, error);
    return status;
}
