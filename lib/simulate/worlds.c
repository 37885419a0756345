#include "simulate/worlds.h"

#include <string.h>

/* The errors of positions as receivers make them: a slow wander and an error of seconds, nothing
 * white. */
#define RECEIVER "position-sd-m=0 position-drift-time-s=60 position-fast-sd-m=0.4 "
#define POSITIONS_ONLY RECEIVER "format=gpx speed=none distance=no "
#define MAP POSITIONS_ONLY "elevation=terrain "
#define OWN_SPEED RECEIVER "speed=own "
#define SMOOTHED "elevation-lag-s=3 elevation-drift-sd-m=0 felt-drift-sd-m=0.8 jumps-per-hour=6 "
#define BREEZE "run-wind-sd-ms=0.5 wander-wind-sd-ms=0.3 "
#define BENDS "road=150:-6,100:-6:60,150:-6:-70,120:-6,130:-6:80,150:-6:-60,200:-6 bend-crr=0.002 "
#define BRUSHES "brush-share=0.3333 "
#define TYRES "setups=narrow:0.42:0.005:0:narrow,wide:0.42:0.0055:0:wide "
#define LEVEL "road=500:0 start-speed-ms=11 "

/* How large each part is: what ordinary recorders, days and riders show (common practice, no
 * source). What a world does not say is as usual. */
static const struct cw_simulate_world worlds[] = {
    {"light", "light air, gusts of 0.15 m/s, and an ordinary recorder: as without a world", ""},
    {"still", "air that is nearly still, gusts of 0.02 m/s", "gust-sd-ms=0.02"},
    {"gusty", "gusts of 0.3 m/s", "gust-sd-ms=0.3"},
    {"breeze", "the mean wind differs from run to run by some 0.6 m/s, in part slowly turning",
     BREEZE},
    {"days",
     "each run on a day of its own, warmer or colder by some 6 degrees; the device "
     "records a temperature",
     "recordings=0 between-recordings-s=86400 format=gpx device-temperature=yes "
     "temperature-c=15 temperature-sd-c=6 pressure-sd-hpa=5"},
    {"phone", "positions and heights from satellites, nothing else",
     POSITIONS_ONLY "cadence=no elevation=satellite position-drift-sd-m=2.5"},
    {"map", "positions and a map's heights, 2 m wrong over 60 m of road, the same at each pass",
     MAP},
    {"rough-map", "the same, 4 m wrong over 40 m", MAP "map-sd-m=4 map-reach-m=40"},
    {"holes", "5 to 15 s without samples in half of the runs", "hole-share=0.5"},
    {"few-points", "a sample each 2 to 6 s", "interval-s=2 interval-more-s=4"},
    {"level", "a level road, from 11 m/s to a standstill", LEVEL},
    {"out-and-back", "a level road, out and back by turns", LEVEL "both-ways=yes"},
    {"brushes", "the brake touched for 1 to 2 s in a third of the runs", BRUSHES},
    {"bends", "a road with bends, which cost rolling", BENDS},
    {"own-speed", "the device's own speed, made of its positions and late", OWN_SPEED},
    {"smoothed", "heights smoothed over seconds, with jumps and more drift", SMOOTHED},
    {"everything", "breeze, brushes, bends, own-speed and smoothed together",
     BREEZE BRUSHES BENDS OWN_SPEED SMOOTHED},
    {"noted", "breeze, each run's mean wind noted to 0.1 m/s", BREEZE "note-wind=yes"},
    {"sensor", "breeze, and a sensor beside the road that logs 0.8 of it minute by minute",
     BREEZE "air-log=yes"},
    {"companion", "breeze, and a companion with a recorder who coasts 8 s behind",
     BREEZE "companion=yes"},
    {"tyres", "two sets of tyres under one rider, on a road that rolls out to a standstill",
     TYRES "road=150:-6,650:0.5"},
    {"tyres-dip", "the same in a dip", TYRES "road=dip"},
    {"tyres-position", "two sets of tyres, and on the second a position that drags 3 % less",
     "setups=upright:0.42:0.005:0:narrow,tucked:0.4074:0.0055:0:wide road=150:-6,650:0.5"},
    {"mountain",
     "a run of 8 km, 500 m down with bends, 5 degrees warmer at its end than at its top",
     "height-m=1250 road=1100:-6.3,60:-5:170,1200:-6.5,60:-5:-170,1300:-6.1,60:-5:170,1300:-6.4,"
     "60:-5:-170,1400:-6.2,60:-5:170,1400:-6.3 temperature-c=15 pressure-hpa=900 lapse-k-km=10 "
     "gust-sd-ms=0.2 brush-share=0.3333 "},
    {"cold-to-warm", "from 2 to 14 degrees in three hours, Crr falling by 1 % a kelvin",
     "recordings=0 between-recordings-s=1300 temperature-c=8 warming-k=12 crr-fall-percent=1"},
};

const struct cw_simulate_world *cw_simulate_world_at(size_t i) {
    return i < sizeof worlds / sizeof *worlds ? &worlds[i] : NULL;
}

const struct cw_simulate_world *cw_simulate_world_named(const char *name) {
    for (size_t i = 0; i < sizeof worlds / sizeof *worlds; i++)
        if (!strcmp(worlds[i].name, name)) return &worlds[i];
    return NULL;
}
