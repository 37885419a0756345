/* What is predicted, as tables for people, CSV of the whole way, and JSON. */
#ifndef CW_REPORT_PREDICT_REPORT_H
#define CW_REPORT_PREDICT_REPORT_H

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "predict/predict.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

enum cw_status cw_report_predict_table(const struct cw_prediction *prediction,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error);
/* A row for every second of every ride, at corners of the road and at its end. */
enum cw_status cw_report_predict_csv(const struct cw_prediction *prediction, struct cw_text *out,
                                     struct cw_error *error);
/* The base's quantities stand at the top, what is changed beside it in "with". */
enum cw_status cw_report_predict_json(const struct cw_prediction *prediction, struct cw_text *out,
                                      struct cw_error *error);

CW_PUBLIC_END

#endif
