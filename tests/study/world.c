#include "world.h"

#include <stdlib.h>
#include <string.h>

struct named {
    const char *name, *meaning, *settings;
};

#define POSITIONS_ONLY "form=gpx speed=none distance=no "
#define OWN_SPEED "speed=own "
#define SMOOTHED "height_lag_s=2..4 drift_sd_m=0.5..1 jumps_per_hour=6 "
#define BREEZE "run_wind_sd_ms=0.3..0.7 wander_wind_sd_ms=0.2 "
#define BENDS "bends_deg=35 bend_loss=0.002..0.004 "
#define SATELLITE                                                                                  \
    "heights=satellite said_heights=satellite drift_sd_m=3 drift_s=100 "                           \
    "height_sd_m=0.4 height_step_m=0.1 "
#define MAP "heights=map said_heights=nothing height_step_m=0.1 " POSITIONS_ONLY
#define ROUGH "map_sd_m=4 map_reach_m=40 "
#define LEVEL                                                                                      \
    "slope_percent=0 variation_percent=0.1 bends_deg=8 length_m=620 start_ms=10.5..11.5 "          \
    "push_ms2=0.4..0.6 back_ms=5..6 "
#define DIP "road=dip slope_percent=-4.5 variation_percent=0.3 slow_ms=2.5 "
#define HALL                                                                                       \
    "positions=no distance=no heights=none said_heights=level said_height_sd_m=0.01 "              \
    "order=ABBAABBAABBAABBAABBA "                                                                  \
    "slope_percent=0 variation_percent=0 bends_deg=0 length_m=150 coast_m=60 start_ms=7.8..8.2 "   \
    "push_ms2=0.5..0.7 back_ms=2.5..3.5 gust_sd_ms=0.02 said_wind_sd_ms=0 "

#define TYRES "tyres=other "
#define FLATTENING "road=flattening slope_percent=-7 variation_percent=0.3 "
#define STRAIGHT "variation_percent=0 bends_deg=0 "
#define STEEP "slope_percent=-9 length_m=700..800 "
#define DIP_STOP DIP "slow_ms=0 "
#define ROLLOUT                                                                                    \
    "road=rollout slope_percent=-6 end_slope_percent=0.5 drop_m=150 length_m=650 "                 \
    "variation_percent=0.1 bends_deg=8 "
#define LONG_ROLLOUT ROLLOUT "slope_percent=-4 end_slope_percent=0.8 drop_m=300 length_m=800 "
#define COLD_TO_WARM "temperature_c=8 warming_k=12 crr_fall_percent=1 log=air wait_s=500..600 "

#define EVERYTHING OWN_SPEED SMOOTHED BREEZE BENDS "brush_share=0.3333 cadence_hold_s=1 "
#define PHONE POSITIONS_ONLY SATELLITE "cadence=no wander_sd_m=2.5 "
#define DAYS                                                                                       \
    "days=yes form=gpx device_temperature=yes temperature_c=15 temperature_sd_c=6 "                \
    "pressure_sd_hpa=5 "
#define NOTED "notes=wind "
#define SENSOR "log=along "
#define COMPANION "companion=yes "
#define MOUNTAIN                                                                                   \
    "length_m=8000 height_m=1000 slope_percent=-6.25 temperature_c=15 lapse_k_km=10 "              \
    "pressure_hpa=900 order=ABBA back_ms=4..5 gust_sd_ms=0.2 "
#define TAPED "slow_ms=0 mark=yes tape=yes load_kg=8 "

static const struct named worlds[] = {
    {"light", "eight runs of a kilometre at -5 %, gusts of 0.15 m/s", ""},
    {"still", "the same with gusts of 0.02 m/s", "gust_sd_ms=0.02"},
    {"gusty", "the same with gusts of 0.3 m/s", "gust_sd_ms=0.3"},
    {"straight", "a straight road of one slope", "variation_percent=0 bends_deg=0"},
    {"flattening", "a road that flattens from -7 to -1.5 %",
     "road=flattening slope_percent=-7 variation_percent=0.3"},
    {"steep", "a road at -9 %", "slope_percent=-9 length_m=700..800"},
    {"positions", "no speed, positions only", POSITIONS_ONLY},
    {"own-speed", "the device's own speed, made of positions and late", OWN_SPEED},
    {"smoothed", "heights smoothed over seconds, with jumps and more drift", SMOOTHED},
    {"brushes", "the brake touched in a third of the runs", "brush_share=0.3333"},
    {"bends", "bends that cost more rolling, all runs alike", BENDS},
    {"days", "each run on a day of its own, one air in the outing file", DAYS},
    {"breeze", "the mean wind differs from run to run by 0.3 to 0.7 m/s", BREEZE},
    {"everything", "own speed, smoothed heights, brushes, bends and breeze together", EVERYTHING},
    {"everything-no-cadence", "the same without cadence",
     OWN_SPEED SMOOTHED BREEZE BENDS "brush_share=0.3333 cadence=no "},
    {"no-cadence", "as light, without cadence", "cadence=no"},
    {"satellite", "heights from satellites, speed from a wheel", SATELLITE},
    {"phone", "positions and heights from satellites, nothing else", PHONE},
    {"map", "positions and heights from a map, 2 m wrong over 60 m", MAP},
    {"map-no-cadence", "the same without cadence", MAP "cadence=no "},
    {"rough-map", "positions and heights from a map, 4 m wrong over 40 m", MAP ROUGH},
    {"rough-map-no-cadence", "the same without cadence", MAP ROUGH "cadence=no "},
    {"holes", "5 to 15 s without samples in half of the runs", "hole_share=0.5"},
    {"few-points", "a sample each 2 to 6 s", "interval_s=2..6"},
    {"ten-seconds", "a sample each 10 s", "interval_s=10"},
    {"dip-one-way", "down into a dip and up the other side", DIP},
    {"dip", "a dip coasted from either side in turn", DIP "ways=both"},
    {"dip-wind", "the same in a steady wind along it that the outing file does not know",
     DIP "ways=both wind_ms=1.5 said_wind_sd_ms=2"},
    {"level", "a level road, from 40 km/h to a standstill", LEVEL},
    {"level-no-cadence", "the same without cadence", LEVEL "cadence=no"},
    {"out-and-back", "a level road, out and back in turn", LEVEL "ways=both"},
    {"out-and-back-wind", "the same in a steady wind along it that the outing file does not know",
     LEVEL "ways=both wind_ms=1.5 said_wind_sd_ms=2"},
    {"gentle", "a road at -0.4 %, from 40 km/h until it ends",
     LEVEL "slope_percent=-0.4 length_m=720 slow_ms=3"},
    {"two-runs", "as light, but AB", "order=AB"},
    {"three-runs", "as light, but ABA", "order=ABA"},
    {"four-runs", "as light, but ABBA", "order=ABBA"},
    {"blocks", "as light, but AAAABBBB", "order=AAAABBBB"},
    {"scatter", "as light, CdA scattering by 1 % from run to run", "scatter_percent=1"},
    {"wide-scatter", "as light, CdA scattering by 3 % from run to run", "scatter_percent=3"},
    {"tyres", "as light, setups on different tyres", "tyres=other"},
    {"tyres-flattening", "different tyres on a road that flattens", TYRES FLATTENING},
    {"tyres-straight", "different tyres on a straight road of one slope", TYRES STRAIGHT},
    {"tyres-steep", "different tyres on a road at -9 %", TYRES STEEP},
    {"tyres-dip", "different tyres in a dip, to a standstill", TYRES DIP_STOP},
    {"tyres-rollout", "different tyres, 150 m at -6 %, then 0.5 % up to a standstill",
     TYRES ROLLOUT},
    {"tyres-long-rollout", "different tyres, 300 m at -4 %, then 0.8 % up to a standstill",
     TYRES LONG_ROLLOUT},
    {"tyres-everything", "everything, setups on different tyres", EVERYTHING TYRES},
    {"tyres-dip-everything", "everything, different tyres in a dip, to a standstill",
     EVERYTHING TYRES DIP_STOP},
    {"tyres-rollout-everything",
     "everything, different tyres, the shorter of the roads to roll out", EVERYTHING TYRES ROLLOUT},
    {"tyres-long-rollout-everything", "everything, different tyres, the longer of them",
     EVERYTHING TYRES LONG_ROLLOUT},
    {"tyres-companion", "everything and a companion, setups on different tyres",
     EVERYTHING COMPANION TYRES},
    {"tyres-dip-companion", "everything and a companion, different tyres in a dip",
     EVERYTHING COMPANION TYRES DIP_STOP},
    {"tyres-rollout-companion", "everything and a companion, different tyres, the shorter roll-out",
     EVERYTHING COMPANION TYRES ROLLOUT},
    {"cold-to-warm", "from 2 to 14 C in three hours, Crr 1 % less a kelvin; the air is logged",
     COLD_TO_WARM},
    {"cold-to-warm-blocks", "the same, but AAAABBBB", COLD_TO_WARM "order=AAAABBBB"},
    {"tyres-days", "days, Crr 1 % less a kelvin", DAYS "crr_fall_percent=1"},
    {"hall", "speed alone, 60 m from 8 m/s, twenty runs", HALL},
    {"hall-fast", "the same ten times a second and finer", HALL "interval_s=0.1 speed_sd_ms=0.02"},
    {"hall-fast-no-cadence", "that without cadence",
     HALL "interval_s=0.1 speed_sd_ms=0.02 cadence=no"},
    {"noted-exactly", "breeze, each run's mean wind noted without error",
     BREEZE NOTED "note_sd_ms=0"},
    {"noted", "breeze, each run's mean wind noted to 0.1 m/s", BREEZE NOTED},
    {"noted-rough", "breeze, each run's mean wind noted to 0.3 m/s", BREEZE NOTED "note_sd_ms=0.3"},
    {"noise-notes", "breeze, notes that have nothing to do with it", BREEZE "notes=noise"},
    {"turned-notes", "breeze, notes with the sign turned", BREEZE "notes=turned"},
    {"sensor", "breeze, minute means of a sensor beside the road that reads 0.8 of it",
     BREEZE SENSOR},
    {"sensor-direction", "the same from a sensor of speed and direction, wind from the side too",
     BREEZE "log=direction wind=land wind_ms=-0.5..0.5 cross_wind_ms=-1.5..1.5"},
    {"companion", "breeze, and a companion with a recorder 8 s behind", BREEZE COMPANION},
    {"companion-near", "the same 2 s behind, in the rider's wake but too slow to overtake",
     BREEZE COMPANION "companion_behind_s=2 companion_cda_m2=0.46..0.52 companion_rider_kg=58..62"},
    {"companion-some", "a companion who misses a third of the runs, with a clock of its own",
     BREEZE COMPANION "companion_missing_share=0.3333 companion_clock_s=-4..4"},
    {"companion-sensor", "breeze, a companion and a sensor", BREEZE COMPANION SENSOR},
    {"companion-phone", "breeze, rider and companion with positions and heights from satellites",
     PHONE BREEZE COMPANION},
    {"everything-noted", "everything, each run's mean wind noted to 0.1 m/s", EVERYTHING NOTED},
    {"everything-sensor", "everything, and the sensor", EVERYTHING SENSOR},
    {"everything-companion", "everything, and the companion", EVERYTHING COMPANION},
    {"still-known", "air that is nearly still, with notes, sensor and companion",
     "gust_sd_ms=0.02 log_gust_sd_ms=0.02 " NOTED SENSOR COMPANION},
    {"days-logged", "days, each day's air in the log", DAYS SENSOR "log_air=yes"},
    {"mountain", "four runs of 8 km, 500 m down, 5 K warmer at the end than at the top", MOUNTAIN},
    {"mountain-hairpins", "the same with six hairpins that are braked for", MOUNTAIN "hairpins=6"},
    {"mountain-lapse", "mountain, with thermometers at both ends", MOUNTAIN "said_lapse_sd_k_km=1"},
    {"taped", "a dip from rest on a mark to a standstill, which is taped; 8 kg on setup b",
     DIP TAPED},
    {"taped-swapped", "the same, two digits swapped in a tenth of what is taped",
     DIP TAPED "swap_share=0.1"},
};
static const size_t n_worlds = sizeof worlds / sizeof *worlds;

static const struct world usual = {
#define X(field, low, high, meaning) .field = {low, high},
    WORLD_NUMBERS(X)
#undef X
#define X(field, words, usual) .field = usual,
        WORLD_WORDS(X)
#undef X
            .order = "ABBAABBA",
};

static const struct {
    const char *name;
    size_t offset;
    double low, high;
    const char *meaning;
} numbers[] = {
#define X(field, low, high, meaning) {#field, offsetof(struct world, field), low, high, meaning},
    WORLD_NUMBERS(X)
#undef X
};

static const struct {
    const char *name;
    size_t offset;
    const char *words;
    int usual;
} choices[] = {
#define X(field, words, usual) {#field, offsetof(struct world, field), words, usual},
    WORLD_WORDS(X)
#undef X
};

/* The place of a word among words with blanks between; -1 if it is none of them. */
static int place_of(const char *word, const char *words) {
    size_t n = strlen(word);
    for (int i = 0; *words; i++) {
        size_t length = strcspn(words, " ");
        if (length == n && !strncmp(word, words, n)) return i;
        words += length;
        words += strspn(words, " ");
    }
    return -1;
}

/* All of the text up to `end` must be a number. */
static bool read_number(const char *text, const char *end, double *number) {
    char copy[32], *stopped;
    size_t n = (size_t)(end - text);
    if (!n || n >= sizeof copy) return false;
    memcpy(copy, text, n);
    copy[n] = 0;
    *number = strtod(copy, &stopped);
    return !*stopped;
}

static bool set_range(struct world_range *range, const char *value) {
    const char *dots = strstr(value, ".."), *end = value + strlen(value);
    if (!read_number(value, dots ? dots : end, &range->low)) return false;
    range->high = range->low;
    return !dots || (read_number(dots + 2, end, &range->high) && range->low <= range->high);
}

static bool set_one(struct world *world, const char *name, const char *value) {
    if (!strcmp(name, "order")) {
        size_t n = strlen(value);
        if (n < 1 || n > WORLD_RUNS_MAX || strspn(value, "AB") != n) return false;
        memcpy(world->order, value, n + 1);
        return true;
    }
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        if (!strcmp(name, numbers[i].name))
            return set_range((struct world_range *)(void *)((char *)world + numbers[i].offset),
                             value);
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++) {
        if (strcmp(name, choices[i].name)) continue;
        int place = place_of(value, choices[i].words);
        if (place >= 0) *(int *)(void *)((char *)world + choices[i].offset) = place;
        return place >= 0;
    }
    return false;
}

bool world_set(struct world *world, const char *settings, char *wrong) {
    while (*(settings += strspn(settings, " "))) {
        char one[2 * WORLD_RUNS_MAX];
        size_t n = strcspn(settings, " ");
        snprintf(one, sizeof one, "%.*s", (int)n, settings);
        snprintf(wrong, 64, "%.63s", one);
        char *value = strchr(one, '=');
        if (n >= sizeof one || !value) return false;
        *value++ = 0;
        if (!set_one(world, one, value)) return false;
        settings += n;
    }
    return true;
}

static const struct named *find(const char *name) {
    for (size_t i = 0; i < n_worlds; i++)
        if (!strcmp(worlds[i].name, name)) return &worlds[i];
    return NULL;
}

bool world_named(const char *name, struct world *world) {
    const struct named *named = find(name);
    if (!named) return false;
    char wrong[64];
    *world = usual;
    world->name = named->name;
    if (world_set(world, named->settings, wrong)) return true;
    fprintf(stderr, "world %s: '%s' is not understood\n", name, wrong);
    return false;
}

const char *world_name(size_t i) {
    return i < n_worlds ? worlds[i].name : NULL;
}

const char *world_meaning(const char *name) {
    return find(name)->meaning;
}

void world_list(FILE *to) {
    fprintf(to, "worlds:\n");
    for (size_t i = 0; i < n_worlds; i++)
        fprintf(to, "  %-22s %s\n", worlds[i].name, worlds[i].meaning);
    fprintf(to, "settings, as NAME=VALUE or NAME=LOW..HIGH:\n  %-22s ABBAABBA; a letter a run\n",
            "order");
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++)
        fprintf(to, "  %-22s %s\n", choices[i].name, choices[i].words);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        char range[64];
        int n = snprintf(range, sizeof range, "%g", numbers[i].low);
        if (numbers[i].low < numbers[i].high)
            snprintf(range + n, sizeof range - (size_t)n, "..%g", numbers[i].high);
        fprintf(to, "  %-22s %-10s %s\n", numbers[i].name, range, numbers[i].meaning);
    }
}
