/* The picture of a prediction. */
#ifndef CW_PICTURE_PREDICTED_H
#define CW_PICTURE_PREDICTED_H

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "predict/predict.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Adds speed along the road, a line for the base and each of what is changed, and the road's
 * heights under it, as an <svg> element whole by itself, in the units given. CW_E_DATA, and nothing
 * is added, where no ride moves. */
enum cw_status cw_picture_predicted_add(const struct cw_prediction *prediction, enum cw_units units,
                                        struct cw_text *text, struct cw_error *error);

CW_PUBLIC_END

#endif
