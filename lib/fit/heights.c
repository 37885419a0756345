#include "fit/heights.h"

static const struct cw_heights_prior priors[] = {
    [CW_ELEVATION_BAROMETRIC] = {0.3, 0.1, 5, {1, 2, -2, 10, 0.1}, false, true},
    [CW_ELEVATION_SATELLITE] = {2, 0.4, 10, {0, 0.5, -2, 5, 0}, false, true},
    [CW_ELEVATION_SURVEYED] = {0.05, 0.05, 0.1, {0, 0, 0, 0, 0}, false, false},
    /* The first three are of no account where heights are the place's. */
    [CW_ELEVATION_TERRAIN] = {0.3, 0.1, 10, {0, 0, 0, 0, 0}, true, false},
    [CW_ELEVATION_LEVEL] = {0.3, 0.1, 0.1, {0, 0, 0, 0, 0}, true, false},
};

const struct cw_heights_prior *cw_heights_prior(enum cw_elevation elevation) {
    return &priors[elevation];
}
