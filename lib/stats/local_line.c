#include "stats/local_line.h"

double cw_local_line(const double *y, size_t first, size_t last, double at, double reach) {
    double w0 = 0, w1 = 0, w2 = 0, y0 = 0, y1 = 0;
    for (size_t i = first; i <= last; i++) {
        double d = (double)i - at, u = d / reach;
        double w = (1 - u * u) * (1 - u * u) + 1e-6;
        w0 += w;
        w1 += w * d;
        w2 += w * d * d;
        y0 += w * y[i];
        y1 += w * d * y[i];
    }
    double determinant = w0 * w2 - w1 * w1;
    return determinant > 1e-9 * w0 * w2 ? (w2 * y0 - w1 * y1) / determinant : y0 / w0;
}
