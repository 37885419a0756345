/* Random numbers in streams that do not disturb each other, and Ornstein-Uhlenbeck processes. */
#ifndef CW_SIMULATE_RANDOM_H
#define CW_SIMULATE_RANDOM_H

#include <stddef.h>
#include <stdint.h>

/* A stream for each kind of noise. */
enum cw_stream {
    CW_STREAM_SCATTER = 1,
    CW_STREAM_INTERVAL,
    CW_STREAM_SPEED,
    CW_STREAM_CADENCE,
    CW_STREAM_POSITION_DRIFT,
    CW_STREAM_POSITION,
    CW_STREAM_ELEVATION_DRIFT,
    CW_STREAM_ELEVATION,
    CW_STREAM_RUN_WIND,
    CW_STREAM_WANDER_WIND,
    CW_STREAM_DAY,
    CW_STREAM_BRUSH,
    CW_STREAM_INTERVAL_MORE,
    CW_STREAM_HOLE,
    CW_STREAM_JUMP,
    CW_STREAM_POSITION_FAST,
    CW_STREAM_MAP,
    CW_STREAM_FELT_DRIFT,
    CW_STREAM_NOTE,
    CW_STREAM_TAPE,
    CW_STREAM_WATCH,
    CW_STREAM_LOG,
    CW_STREAM_GUST = 1000 /* and one more for each run */
};

struct cw_random {
    void *state; /* of a Mersenne twister, 32 bits (MT19937); NULL when memory ran out */
};

/* The stream's generator, started from the seed. Free with cw_random_free. */
struct cw_random cw_random_make(unsigned long seed, unsigned long stream);
void cw_random_free(struct cw_random *random);
/* Normal, mean 0, sd 1. */
double cw_random_normal(struct cw_random *random);
/* Evenly from low to high. */
double cw_random_even(struct cw_random *random, double low, double high);
/* A whole number from 0 to below n, 1 to 2^32 - 1. */
unsigned long cw_random_below(struct cw_random *random, unsigned long n);

/* An Ornstein-Uhlenbeck process: stationary with that sd, correlation exp(-dt/time_s). */
struct cw_drift {
    double sd, time_s, value;
};
/* The first value drawn from the stationary distribution. */
struct cw_drift cw_drift_make(double sd, double time_s, struct cw_random *random);
/* The value dt_s later; the step is exact whatever dt_s. */
double cw_drift_step(struct cw_drift *drift, double dt_s, struct cw_random *random);

/* A process on a regular grid from time 0, straight between its points. */
struct cw_gust_series {
    size_t n;
    double step_s;
    double *value_ms;
};
/* Fills value_ms, which the caller has allocated for n. */
void cw_gust_series_fill(struct cw_gust_series *series, double sd, double time_s,
                         struct cw_random *random);
/* At a time; the ends go on as they are. state is a struct cw_gust_series. */
double cw_gust_series_at(double time_s, const void *state);

#endif
