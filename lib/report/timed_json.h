/* Times as measured as a JSON value, to be put into a document. Inside the room only. */
#ifndef CW_REPORT_TIMED_JSON_H
#define CW_REPORT_TIMED_JSON_H

#include "report/json.h"
#include "report/timed_report.h"

/* {"outing", "gates_m":[...], "gates_chosen", "road_length_m", "shift_sd_m",
 *  "runs":[{"number", "setup", "time_s":est, "entry_speed_ms":est, "exit_speed_ms":est,
 *           "runout_m":est|null,
 *           "gates":[{"gate_m", "time", "after_first_s", "speed_ms", "standard_error_s",
 * "shift_s"}]
 *         }],
 *  "setups":[{"name", "runs", "time_s":group, "runout_m":group, "entry_speed_ms":group}],
 *  "comparisons":[{"setup", "reference", "time_s":diff, "runout_m":diff, "entry_speed_ms":diff,
 *                  "time_by_entry_at_most_s":est}],
 *  "speed_steps":[{"setup", "from_speed_ms", "to_speed_ms", "pairs"|"runs", "mean_s", "sd_s",
 *                  "precision", "force_precision"}]  (of a level road; else empty),
 *  "time_on_entry_speed":{"runs", "slope_sms":est, "correlation", "p_value"}|null, "warnings"}
 * group: {"runs", "mean", "sd", "timing_error", "precision"}, diff: {"runs":[n,n], "test",
 * "difference":est, "percent", "p_value", "inside_scatter":true|false|null}; either is null where
 * no run has the quantity. A run's intervals are of its timing error alone. */
json_t *cw_timed_json(const struct cw_analysed *of, bool *failed);

#endif
