#include "fit/student.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

double cw_student_quantile(double df) {
    if (!(df < 1e6)) return gsl_cdf_ugaussian_Pinv(0.975);
    return gsl_cdf_tdist_Pinv(0.975, fmax(df, 1));
}
