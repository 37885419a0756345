/* A report of a made-up outing: simulated, found, labelled, fitted and compared. */
#ifndef CW_MADE_REPORT_H
#define CW_MADE_REPORT_H

#include "report/report.h"
#include "simulate/simulate.h"

struct made_report {
    struct cw_simulated made;
    struct cw_motion *motions;
    struct cw_runs runs;
    size_t *setups;
    struct cw_fit fit;
    struct cw_compare compare;
    bool compared;
    struct cw_report_outing outing;
    struct cw_report report; /* of outing alone */
};

/* Runs with the numbers turned_down (as found) are skipped, as by an outing file. Free with
 * made_report_free, also after an error. *made must stay where it is. */
enum cw_status made_report_make(const struct cw_simulate_options *options, const long *turned_down,
                                size_t n_turned_down, struct made_report *made,
                                struct cw_error *error);
void made_report_free(struct made_report *made);

#endif
