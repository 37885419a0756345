/* What the reports of a fit have in common: the noise by name, and what is to be said in words.
 * Inside the room only. */
#ifndef CW_REPORT_FIT_FACTS_H
#define CW_REPORT_FIT_FACTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/estimate.h"
#include "base/text.h"
#include "fit/noise_search.h"
#include "report/estimates.h"
#include "report/fit_report.h"
#include "report/sentences.h"
#include "report/table.h"

/* One list of the noise for all reports. */
struct cw_noise_fact {
    const char *key;  /* in the JSON */
    const char *name; /* for people */
    const char *unit;
    enum cw_noise_parameter parameter;
};
const struct cw_noise_fact *cw_noise_facts(size_t *n);

/* A noise parameter with its interval; all NaN where nothing was recorded to find it from.
 * Variances are known as ratios: the interval is that of the logarithm, the standard error the
 * value's times the logarithm's. */
struct cw_estimate cw_noise_estimate(const struct cw_fit *fit, enum cw_noise_parameter parameter);

/* Rows of the noise found and of each recording's lag: name and unit, value, low, high. */
void cw_noise_rows(const struct cw_analysed *of, struct cw_table *table);

/* A recording's lag; NaN where no run of it was fitted. */
struct cw_estimate cw_lag_estimate(const struct cw_analysed *of, size_t recording);
bool cw_recording_fitted(const struct cw_analysed *of, size_t recording);

/* The air's density with what the outing file's uncertainties do to it. */
struct cw_estimate cw_density_estimate(const struct cw_analysed *of);

/* Whether runs differ in temperature, and by how many percent Crr then falls a kelvin. */
bool cw_fit_warms(const struct cw_fit *fit);
/* The lapse rate as a cause of error; NULL where the road drops too little for it to matter. */
const struct cw_cause *cw_fit_lapse(const struct cw_fit *fit);
struct cw_estimate cw_fall_percent(const struct cw_fit *fit);

/* Adds before, and a pressure in both units: "480 kPa (70 psi)"; nothing where it is NaN. */
void cw_pressure_add(struct cw_text *text, const char *before, double pressure_kpa);

/* How many runs were fitted with that setup. */
size_t cw_setup_runs(const struct cw_analysed *of, size_t setup);

/* The setup's CdA and Crr under one CdA for all its runs; NULL where nothing was averaged. */
const struct cw_setup_result *cw_setup_pair(const struct cw_analysed *of, size_t setup);
/* A setup's mean CdA; NaN where it is not known. */
struct cw_estimate cw_setup_cda(const struct cw_analysed *of, size_t setup);

/* Why a run's CdA alone is not known: "CdA and Crr not told apart (correlation -0.9998)". */
void cw_unknown_alone_add(const struct cw_fit_run *run, struct cw_text *text);

void cw_fit_defaults(const struct cw_analysed *of, struct cw_sentences *sentences);
/* What could change the answer; what could not; both. */
void cw_fit_doubts(const struct cw_analysed *of, struct cw_sentences *warnings);
void cw_fit_notes(const struct cw_analysed *of, struct cw_sentences *warnings);
void cw_fit_warnings(const struct cw_analysed *of, struct cw_sentences *sentences);

#endif
