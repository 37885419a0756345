/* The answer in a sentence, the same wherever it is given: terminal, page, picture. */
#ifndef CW_REPORT_ANSWER_H
#define CW_REPORT_ANSWER_H

#include <stddef.h>

#include "base/public.h"
#include "base/text.h"
#include "compare/compare.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Adds a setup's name the way the reader shows it, such as with a page's markup around it. */
typedef void (*cw_name_adder)(struct cw_text *text, const char *name);

/* Adds what comparison i says, without a full stop at its end; all but the names is ASCII.
 * Decided: "jacket: 4.1 % less drag than cape (2.3 to 5.9 %), p 0.003; at 40 km/h 16 W less (9 to
 * 23 W); over this road, by the model, 1.9 s faster (1.1 to 2.7 s)"; p is adjusted for the number
 * of comparisons. Undecided: what the data leave open, what they would have shown with 80 % power,
 * how many runs it takes. On different tyres: what of drag, rolling and their sum is told. Where
 * the load differs by a hundredth of the mass and more, and cw_analysis_explain was called: seconds
 * and metres as ridden, divided into what the load makes of them and what drag. A name of NULL adds
 * names as they are, for a sentence that is then shown or escaped as a whole. Powers are at a speed
 * that is round in the units given: 40 km/h or 25 mph; the sentence is metric otherwise. */
void cw_answer_add(const struct cw_compare *compare, size_t i, cw_name_adder name,
                   enum cw_units units, struct cw_text *text);

/* Which way it goes, of all that is compared: whether the setup costs less or more. */
enum cw_verdict cw_answer_verdict(const struct cw_comparison *comparison);

/* ---- for other sentences of the kind ---- */

/* A sentence has tenths, of a percent and of a second, unless all happens below them. */
int cw_answer_decimals(struct cw_estimate estimate);
/* "2.3 to 5.9 %", of what was said before; or "0.6 s faster to 5.0 s slower" where the interval
 * takes in nothing at all. */
void cw_answer_range_add(struct cw_estimate estimate, int decimals, const char *unit,
                         const char *below, const char *above, struct cw_text *text);
/* "; at 40 km/h 16 W less (9 to 23 W)", on the flat, as ridden; nothing where it is not known. */
void cw_answer_watts_add(const struct cw_comparison *comparison, enum cw_units units,
                         struct cw_text *text);
/* "about 12 runs of each"; what is beyond all patience is said so. */
void cw_answer_runs_add(double runs, struct cw_text *text);
/* ", p 0.012", as text says it. */
void cw_answer_p_add(double p, struct cw_text *text);

CW_PUBLIC_END

#endif
