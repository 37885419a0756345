/* What was noted beside the recorder: times by stopwatch and run-outs by tape, and those of them
 * that the recorder gives the lie. */
#ifndef CW_TIMED_NOTED_H
#define CW_TIMED_NOTED_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "road/ridden.h"
#include "timed/timed.h"

/* Of two values that disagree nothing tells which is wrong. */
enum { CW_NOTED_LEAST = 3 };

/* What those that agree have in common. */
struct cw_noted_rest {
    double off; /* noted - recorded, their median: where the marks are not the gates */
    double sd;  /* of one more such difference */
};

/* Which of n values noted disagree with what was recorded by more than both can explain.
 *
 * A mark is anywhere, so noted - recorded is a constant that nobody knows, the runs' median, and an
 * error of the stated size, error[i]. Where the marks are about another stretch than the gates,
 * noted = a + b recorded: a few runs don't tell b, so it is taken for 1 with an sd of `stretch`.
 * What differences scatter beyond all that, by their median absolute deviation, is added. Stated
 * errors are taken to be known to a sixth, 20 degrees of freedom (JCGM 100:2008, eq. G.3), and the
 * threshold is Student's t on these and the runs' own, such that by itself it would raise an alarm
 * in one outing of 250: some 4.5 standard errors. By test_timed_noted.c runs that agree raise one
 * in fewer than 1 of 1000 outings, and in 4 of 1000 where errors are up to twice what was stated;
 * tens and units that were swapped are found in 9 of 10 outings, where a wheel counts from a mark
 * and by stopwatch in 98 of 100.
 *
 * Sets doubted[0..n); none below CW_NOTED_LEAST. Values are finite. */
enum cw_status cw_noted_judge(size_t n, const double *noted, const double *recorded,
                              const double *error, double stretch, bool *doubted,
                              struct cw_noted_rest *rest, struct cw_error *fault);

/* Whether all values are counted the other way: noted falls by as much as recorded rises, where the
 * two would else scatter by more than 4 standard errors. False below CW_NOTED_LEAST. */
enum cw_status cw_noted_turned(size_t n, const double *noted, const double *recorded,
                               const double *error, bool *turned, struct cw_error *fault);

/* The value that two neighbouring digits swapped make of `noted`, written with so many decimals,
 * that is nearest to `expected`; NaN where none is within most of it. */
double cw_noted_swapped(double noted, int decimals, double expected, double most);

/* Sets each timed run's time_watched_s and runout_taped_m, of runs whose recorded ones are set, and
 * timed's doubts; a doubted value is NaN in its run. */
enum cw_status cw_timed_noted_make(const struct cw_ridden *input, struct cw_timed *timed,
                                   struct cw_error *error);

#endif
