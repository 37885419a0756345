/* coastwise: the public face of the library. Each header says what it offers. */
#ifndef COASTWISE_H
#define COASTWISE_H

#include "base/checksum.h"
#include "base/error.h"
#include "base/estimate.h"
#include "base/text.h"
#include "base/warning.h"
#include "base/write.h"

#include "stats/power.h"
#include "stats/random_effects.h"
#include "stats/tests.h"

#include "physics/air.h"
#include "physics/descent.h"
#include "physics/forces.h"
#include "physics/gravity.h"
#include "physics/stopping.h"

#include "recording/format.h"
#include "recording/read.h"
#include "recording/recording.h"
#include "recording/samples.h"
#include "recording/write.h"

#include "outing/input.h"
#include "outing/keys.h"
#include "outing/outing.h"
#include "outing/read.h"
#include "outing/write.h"

#include "motion/metric.h"
#include "motion/motion.h"

#include "runs/runs.h"

#include "simulate/simulate.h"

#include "road/road.h"

#include "fit/fit.h"

#include "compare/compare.h"

#include "timed/timed.h"
#include "timed/timing.h"

#include "analysis/analysis.h"

#include "report/compare_report.h"
#include "report/csv.h"
#include "report/fit_report.h"
#include "report/look.h"
#include "report/runs_report.h"
#include "report/table.h"
#include "report/timed_report.h"

#include "picture/picture.h"

#include "page/page.h"

#endif
