/* Setups and tyres along time, outing by outing, as rows and JSON. Inside the library only. */
#ifndef CW_REPORT_HISTORY_H
#define CW_REPORT_HISTORY_H

#include <jansson.h>
#include <stdbool.h>

#include "analysis/analysis.h"
#include "report/estimates.h"
#include "report/look.h"
#include "report/table.h"

/* Whether several outings have a setup, or a set of tyres, in common. */
bool cw_history_told(const struct cw_analysis *analysis);

/* Setup, date, road's length and slope, air, runs, CdA; the last of each setup's rows is of all its
 * runs. */
#define CW_HISTORY_COLUMNS(celsius, m2, plus_minus)                                                \
    {"setup", "", false}, {"date", "", false}, {"road", "m", true}, {"slope", "%", true},          \
        {"air", celsius, true}, {"runs", "", true}, CW_ESTIMATE_COLUMNS("CdA", m2, plus_minus)
void cw_history_rows_add(const struct cw_analysis *analysis, struct cw_table *table);

/* Tyres, date, air, runs, and Crr as it would be at CW_CRR_AT_C; likewise. */
#define CW_TYRES_HISTORY_COLUMNS(celsius, plus_minus)                                              \
    {"tyres", "", false}, {"date", "", false}, {"air", celsius, true}, {"runs", "", true},         \
        CW_ESTIMATE_COLUMNS("Crr", "", plus_minus)
void cw_tyres_history_rows_add(const struct cw_analysis *analysis, struct cw_table *table);

/* [{"setup", "outing", "start", "road_m", "slope", "temperature_c", "density_kgm3", "runs",
 * "cda_m2"}], and the same of tyres with "crr_at_20c". Arrays, empty where nothing is told. */
json_t *cw_history_json(const struct cw_analysis *analysis, bool *failed);
json_t *cw_tyres_history_json(const struct cw_analysis *analysis, bool *failed);

/* Adds both tables for a terminal; nothing where nothing is told. */
void cw_history_tables(const struct cw_analysis *analysis, const struct cw_look *look,
                       struct cw_text *out);

#endif
