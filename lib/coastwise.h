/* coastwise: the public face of the library. Each header says what it offers. */
#ifndef COASTWISE_H
#define COASTWISE_H

#include "base/checksum.h"
#include "base/error.h"
#include "base/estimate.h"
#include "base/text.h"
#include "base/warning.h"
#include "base/write.h"

#include "recording/recording.h"
#include "recording/samples.h"
#include "recording/write.h"

#include "outing/input.h"
#include "outing/keys.h"
#include "outing/outing.h"

#include "road/label.h"
#include "road/metric.h"
#include "road/motion.h"
#include "road/road.h"
#include "road/runs.h"

#include "physics/air.h"
#include "physics/descent.h"
#include "physics/forces.h"
#include "physics/gravity.h"
#include "physics/stopping.h"

#include "simulate/simulate.h"

#include "fit/fit.h"

#include "compare/compare.h"
#include "compare/power.h"
#include "compare/random_effects.h"
#include "compare/tests.h"
#include "compare/timed.h"
#include "compare/timing.h"

#include "report/compare_report.h"
#include "report/csv.h"
#include "report/fit_report.h"
#include "report/interval.h"
#include "report/page.h"
#include "report/picture.h"
#include "report/report.h"
#include "report/runs_report.h"
#include "report/table.h"
#include "report/timed_report.h"

#endif
