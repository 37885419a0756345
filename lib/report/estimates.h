/* Estimates as text, with as many digits as their errors justify: in a table, a line, a row. */
#ifndef CW_REPORT_ESTIMATES_H
#define CW_REPORT_ESTIMATES_H

#include <stdbool.h>

#include "base/estimate.h"
#include "base/text.h"
#include "report/csv.h"
#include "report/plain.h"
#include "report/table.h"

/* Decimals that show standard_error with two digits (0..6); 3 where it is 0 or not finite. */
int cw_error_decimals(double standard_error);

/* A speed in km/h. */
struct cw_estimate cw_estimate_kmh(struct cw_estimate estimate_ms);

/* The estimate, or all NaN where it is not known. */
struct cw_estimate cw_estimate_where(bool known, struct cw_estimate estimate);

/* What the noise alone leaves open: the interval on either side in the ratio of the two standard
 * errors, and never more than all of it, which may hold what is known beforehand too. All NaN where
 * they are not parted. */
struct cw_estimate cw_estimate_of_noise(struct cw_estimate estimate);

/* value, standard error, low, high: four columns. */
#define CW_ESTIMATE_COLUMNS(head, unit, sign)                                                      \
    {head, unit, true}, {sign, unit, true}, {"95 % from", unit, true}, {                           \
        "to", unit, true                                                                           \
    }
void cw_table_add_estimate(struct cw_table *table, struct cw_estimate estimate);
/* The same; of what is not told no more than its range. */
void cw_table_add_range(struct cw_table *table, struct cw_estimate estimate, bool told);
/* A p-value to three decimals; below 0.001 it says that. */
void cw_table_add_p(struct cw_table *table, double p);

/* "0.00521 ± 0.00035 (95 %: 0.00452 to 0.00590)" and the unit. */
void cw_estimate_add(struct cw_text *out, struct cw_estimate estimate, const char *unit,
                     const struct cw_signs *sign);

#define CW_ESTIMATE_HEADS(name) name, name "_standard_error", name "_low", name "_high"
void cw_csv_add_estimate(struct cw_csv *csv, struct cw_estimate estimate);

#endif
