/* Times as measured as a JSON value, to be put into a document. Inside the room only. */
#ifndef CW_REPORT_TIMED_JSON_H
#define CW_REPORT_TIMED_JSON_H

#include "report/json.h"
#include "report/timed_report.h"

/* {"outing", "gates_m":[...], "gates_chosen", "road_length_m", "shift_sd_m", "places_from_mark",
 *  "runs":[{"number", "setup", "time_watched_s":est|null, "time_s":est, "runout_taped_m":est|null,
 *           "runout_m":est|null, "entry_speed_ms":est, "exit_speed_ms":est,
 *           "gates":[{"gate_m", "time", "after_first_s", "speed_ms", "standard_error_s",
 * "shift_s"}]
 *         }],
 *  "noted_doubted":[{"number", "of":KEY, "noted", "recorded", "all_turned",
 * "others_noted_minus_recorded", "others_sd", "digits_swapped":value|null}], "setups":[{"name",
 * "runs", KEY:group}], "comparisons":[{"setup", "reference", KEY:diff,
 *                  "time_by_entry_at_most_s":est}],
 *  "speed_steps":[{"setup", "from_speed_ms", "to_speed_ms", "pairs"|"runs", "mean_s", "sd_s",
 *                  "precision", "force_precision"}]  (of a level road; else empty),
 *  "time_on_entry_speed":{"runs", "slope_sms":est, "correlation", "p_value"}|null, "warnings"}
 * KEY is each of time_watched_s (by stopwatch), time_s, runout_taped_m (by tape), runout_m and
 * entry_speed_ms; a noted value that the recorder gives the lie is in noted_doubted alone.
 * group: {"runs", "mean", "sd", "timing_error", "precision"}, diff: {"runs":[n,n], "test",
 * "difference":est, "percent", "p_value", "inside_scatter":true|false|null}; either is null where
 * no run has the quantity. A run's intervals are of its timing error alone. */
json_t *cw_timed_json(const struct cw_analysed *of, bool *failed);

#endif
