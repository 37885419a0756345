/* A run, kept or turned down, and all of them. */
#ifndef CW_RUNS_RUN_H
#define CW_RUNS_RUN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

enum cw_run_end {
    CW_END_STOP,
    CW_END_BRAKE,
    CW_END_PEDALLING,
    CW_END_TURN,
    CW_END_RECORDING /* gap, break or end of the recording */
};
/* "stop", "brake", ... as in the JSON; constants. */
const char *cw_run_end_text(enum cw_run_end end);

/* Why a stretch that looked like a run was turned down; a set of bits. */
enum cw_run_reason {
    CW_REASON_SHORT = 1 << 0,     /* too short to tell CdA or Crr */
    CW_REASON_PEDALLED = 1 << 1,  /* pedalled */
    CW_REASON_BRAKED = 1 << 2,    /* braked */
    CW_REASON_GAP = 1 << 3,       /* gap in the recording */
    CW_REASON_OFF_ROAD = 1 << 4,  /* off the road that the other runs share */
    CW_REASON_STEADY = 1 << 5,    /* speed too steady to tell CdA from Crr */
    CW_REASON_SKIPPED = 1 << 6,   /* left out by the outing file */
    CW_REASON_NO_HEIGHT = 1 << 7, /* no elevation along it */
    CW_REASON_OUTLIER = 1 << 8,   /* disagrees with its fellows, and was asked to be left out */
    CW_REASON_WAKE = 1 << 9       /* ridden in the wake of another rider of the outing */
};
#define CW_REASON_COUNT 10
/* Text of a single bit: "too short", ...; a constant. */
const char *cw_run_reason_text(enum cw_run_reason reason);

/* The road that most kept runs share. Wherever a run is kept, one is on it. */
#define CW_ROAD_MAIN ((size_t)0)
/* A run that shares no road with a kept one, or whose road was not looked for. */
#define CW_ROAD_NONE SIZE_MAX

/* Who saw the winds of runs beside their riders: notes, an air log. */
enum cw_wind_seen { CW_WIND_NOTED, CW_WIND_LOGGED, CW_WIND_SEEN };
/* What came of it: nothing was seen, or of one run only; it is used; it goes against what the runs
 * show, as if its sign were turned; it tells nothing of their winds. */
enum cw_wind_use { CW_WIND_UNSEEN, CW_WIND_USED, CW_WIND_AGAINST, CW_WIND_UNRELATED };

/* A pair of indices into the samples of one recording; owns nothing. */
struct cw_run {
    size_t recording;   /* index of the recording */
    size_t first, last; /* samples, both belong to the run */
    long number;        /* 1, 2, ... in time order over all recordings, kept or not */
    double start_s, duration_s, distance_m, drop_m, mean_slope;
    double entry_speed_ms, top_speed_ms, exit_speed_ms;
    enum cw_run_end ends;
    bool kept;
    unsigned reasons; /* bits of cw_run_reason; 0 for a kept run */
    bool by_energy;   /* neither cadence nor power says of the better half of it that the legs were
                       * still: soft pedalling may hide in it, and its ends are known to some
                       * seconds only */
    bool from_brake;  /* it begins where brakes are let go */
    size_t road;      /* set by cw_roads_number (road/shared.h) once runs are chosen: runs over the
                       * same road have the same number, CW_ROAD_MAIN for the one that most share, 1
                       * the next, ...; CW_ROAD_NONE before that and for runs turned down elsewhere */
    bool reversed;  /* set with it: ridden against the road's way, which is that of its first run */
    size_t descent; /* set with it: runs that are the pieces of one descent, parted by brakes or
                     * strokes on the way, have the same number, 1 the first; 0 before that */
    /* What the outing file notes of it, set with its setup; NaN where it notes nothing. */
    struct cw_noted {
        double wind_ms;  /* the mean along the road, + as the outing's wind_along_ms has it */
        double runout_m; /* where it stood still, from any one mark, + further along */
        double time_s;   /* between any two marks */
    } noted;
    /* What an air log says of it, set likewise. */
    struct cw_logged {
        double wind_ms;  /* as noted */
        double cross_ms; /* from the right + */
    } logged;
    size_t setup; /* index into the outing's setups, set by whoever labels the runs; CW_NO_SETUP
                   * before that and for runs turned down */
};

struct cw_runs {
    size_t n, capacity;
    struct cw_run *at; /* owned; by start time */
    size_t n_roads;    /* set with them; 0 before */
    size_t n_descents; /* likewise */
    bool in_pieces;    /* likewise: a road was coasted down in pieces again and again */
    /* Coasts that tell next to nothing: before a corner, before a light. Turned down, without
     * number or road, by start time; owned. */
    size_t n_slight, slight_capacity;
    struct cw_run *slight;
};
void cw_runs_free(struct cw_runs *runs);

CW_PUBLIC_END

#endif
