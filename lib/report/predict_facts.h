/* What is said about a prediction, once for all forms. */
#ifndef CW_REPORT_PREDICT_FACTS_H
#define CW_REPORT_PREDICT_FACTS_H

#include "base/text.h"
#include "predict/predict.h"
#include "report/sentences.h"

/* The slope, height over horizontal way, of a sine. */
double cw_predict_slope(double sine);

/* The road in a line; how a ride goes in a sentence. */
void cw_predict_road_add(const struct cw_predict_road *road, struct cw_text *text);
void cw_predict_ride_add(const struct cw_prediction *prediction, size_t i, struct cw_text *text);

/* What was taken where nothing was given; what to mind; the cautions. */
void cw_predict_taken(const struct cw_prediction *prediction, struct cw_sentences *said);
void cw_predict_doubts(const struct cw_prediction *prediction, struct cw_sentences *said);
void cw_predict_cautions(const struct cw_prediction *prediction, struct cw_sentences *said);

#endif
