/* coastwise: the public face of the library, room by room in the order in which data flows. Each
 * header says what it offers; README.md beside this file says what is public and why, and how to
 * compile against it. */
#ifndef COASTWISE_H
#define COASTWISE_H

/* What every call speaks of: statuses, texts, estimates. */
#include "base/checksum.h"
#include "base/error.h"
#include "base/estimate.h"
#include "base/public.h"
#include "base/text.h"
#include "base/version.h"
#include "base/warning.h"
#include "base/write.h"

/* Formulas and statistics that stand by themselves. */
#include "stats/power.h"
#include "stats/student.h"
#include "stats/tests.h"

#include "physics/air.h"
#include "physics/descent.h"
#include "physics/forces.h"
#include "physics/gravity.h"
#include "physics/steady.h"
#include "physics/stopping.h"

/* From files to answers, a stage a room; analysis goes the whole way. */
#include "recording/format.h"
#include "recording/read.h"
#include "recording/recording.h"
#include "recording/samples.h"
#include "recording/write.h"

#include "outing/input.h"
#include "outing/outing.h"
#include "outing/read.h"
#include "outing/write.h"

#include "motion/height_kind.h"
#include "motion/metric.h"
#include "motion/motion.h"
#include "motion/speed.h"

#include "runs/options.h"
#include "runs/run.h"
#include "runs/runs.h"

#include "simulate/options.h"
#include "simulate/run.h"
#include "simulate/settings.h"
#include "simulate/simulate.h"
#include "simulate/worlds.h"

#include "road/ridden.h"
#include "road/road.h"
#include "road/shared.h"

#include "fit/cause.h"
#include "fit/fit.h"
#include "fit/noise.h"
#include "fit/place.h"

#include "compare/compare.h"
#include "compare/history.h"
#include "compare/split.h"

#include "timed/gates.h"
#include "timed/timed.h"
#include "timed/timing.h"

#include "explain/explain.h"

#include "analysis/analysis.h"
#include "analysis/inputs.h"

/* On another road, on another day. */
#include "plan/loose.h"
#include "plan/plan.h"
#include "predict/predict.h"
#include "predict/road.h"

/* The answers to read, to hand on and to show. */
#include "report/answer.h"
#include "report/compare_report.h"
#include "report/explain_report.h"
#include "report/fit_report.h"
#include "report/look.h"
#include "report/plan_report.h"
#include "report/predict_report.h"
#include "report/runs_report.h"
#include "report/timed_report.h"

#include "picture/picture.h"
#include "picture/predicted.h"

#include "page/page.h"
#include "page/sheet.h"

#endif
