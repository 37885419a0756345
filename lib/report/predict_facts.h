/* What is said about a prediction, once for all forms. */
#ifndef CW_REPORT_PREDICT_FACTS_H
#define CW_REPORT_PREDICT_FACTS_H

#include "base/text.h"
#include "predict/predict.h"
#include "report/sentences.h"
#include "report/table.h"

/* The slope, height over horizontal way, of a sine. */
double cw_predict_slope(double sine);

/* The road in a line; how a ride goes in a sentence. */
void cw_predict_road_add(const struct cw_predict_road *road, struct cw_text *text);
void cw_predict_ride_add(const struct cw_prediction *prediction, size_t i, struct cw_text *text);

/* What is told of a ride, in cells; beside the base, with the difference. cells keeps its place:
 * table points into it. To be freed by cw_table_free. */
struct cw_predict_cells {
    struct cw_column columns[7];
    struct cw_table table;
};
void cw_predict_ride_cells(const struct cw_prediction *prediction, size_t i, enum cw_units units,
                           const char *plus_minus, struct cw_predict_cells *cells);

/* What was taken where nothing was given; what to mind; the cautions. */
void cw_predict_taken(const struct cw_prediction *prediction, struct cw_sentences *said);
void cw_predict_doubts(const struct cw_prediction *prediction, struct cw_sentences *said);
void cw_predict_cautions(const struct cw_prediction *prediction, struct cw_sentences *said);

#endif
