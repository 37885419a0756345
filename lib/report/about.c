#include "report/about.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "report/clock.h"
#include "report/fit_facts.h"
#include "report/table.h"

static const struct cw_run *run_of(const struct cw_analysed *of, size_t i) {
    return &of->runs.at[of->fit.runs[i].run];
}

static void add_setups(const struct cw_analysed *of, cw_name_adder name, struct cw_text *text) {
    size_t said = 0;
    for (size_t s = 0; s < of->outing.n_setups; s++) {
        size_t runs = cw_setup_runs(of, s);
        if (!runs || of->outing.n_setups == 1) continue;
        cw_text_add(text, said++ ? ", " : " (");
        name(text, of->outing.setups[s].name);
        cw_text_add(text, " %zu", runs);
    }
    if (said) cw_text_add(text, ")");
}

/* By the clock of the place, as far as it is known. */
static double clock_s(const struct cw_analysed *of, size_t i) {
    return run_of(of, i)->start_s + cw_clock_of(of).offset_s;
}

static void add_days(double first_s, double last_s, struct cw_text *text) {
    char first[40], last[40];
    cw_time_write(first_s, first, sizeof first);
    cw_time_write(last_s, last, sizeof last);
    first[10] = last[10] = '\0'; /* YYYY-MM-DD */
    if (strcmp(first, last))
        cw_text_add(text, " from %s to %s", first, last);
    else
        cw_text_add(text, " on %s", first);
}

static void add_road(const struct cw_analysed *of, struct cw_text *text) {
    double length_m = 0, drop_m = 0;
    size_t n = of->fit.n_runs, back = 0;
    for (size_t i = 0; i < n; i++) {
        const struct cw_run *run = run_of(of, i);
        length_m += run->distance_m / (double)n;
        drop_m += run->drop_m / (double)n;
        back += run->reversed;
    }
    if (back) cw_text_add(text, ", %zu of them the other way", back);
    if (of->fit.n_roads > 1)
        cw_text_add(text, ", on %zu roads, on average %.0f m long", of->fit.n_roads, length_m);
    else
        cw_text_add(text, ", %s%.0f m of road", n > 1 ? "each " : "", length_m);
    if (of->outing.elevation == CW_ELEVATION_LEVEL)
        cw_text_add(text, ", level");
    else if (!back && drop_m > 0)
        cw_text_add(text, ", falling %.0f m (%.1f %%)", drop_m, 100 * drop_m / length_m);
}

static void add_air(const struct cw_analysed *of, struct cw_text *text) {
    const struct cw_fit *fit = &of->fit;
    if (fit->warmest_c - fit->coldest_c >= 0.5)
        cw_text_add(text, ". Air %.0f to %.0f °C", fit->coldest_c, fit->warmest_c);
    else
        cw_text_add(text, ". Air %.1f °C", fit->place.temperature_c);
    cw_text_add(text, ", %.0f hPa; wind along the road ", fit->place.pressure_pa / 100);
    if (fit->wind_told)
        cw_text_add(text, "%.1f ± %.1f km/h, as runs either way tell it",
                    CW_KMH_PER_MS * fit->wind_along_ms.value,
                    CW_KMH_PER_MS * fit->wind_along_ms.standard_error);
    else
        cw_text_add(text, "%.1f ± %.1f km/h, %s", CW_KMH_PER_MS * of->outing.wind_along_ms,
                    CW_KMH_PER_MS * of->outing.wind_uncertainty_ms,
                    of->outing.wind_given ? "as the outing file says"
                                          : "taken, as the outing file says nothing of it");
}

void cw_about_add(const struct cw_analysed *of, cw_name_adder name, struct cw_text *text) {
    size_t n = of->fit.n_runs;
    cw_text_add(text, "%zu %s", n, n == 1 ? "run" : "runs");
    if (!n) return;
    add_setups(of, name, text);
    add_days(clock_s(of, 0), clock_s(of, n - 1), text);
    add_road(of, text);
    add_air(of, text);
}

void cw_about_all_add(const struct cw_analysis *analysis, cw_name_adder name,
                      struct cw_text *text) {
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    double first_s = INFINITY, last_s = -INFINITY;
    size_t runs = 0;
    for (size_t o = 0; o < analysis->n; o++) {
        const struct cw_analysed *of = &analysis->outings[o];
        runs += of->fit.n_runs;
        if (!of->fit.n_runs) continue;
        first_s = fmin(first_s, clock_s(of, 0));
        last_s = fmax(last_s, clock_s(of, of->fit.n_runs - 1));
    }
    cw_text_add(text, "%zu outings", analysis->n);
    if (first_s <= last_s) add_days(first_s, last_s, text);
    cw_text_add(text, ", %zu runs", runs);
    for (size_t s = 0; compare && s < compare->n_setups; s++) {
        cw_text_add(text, s ? ", " : " (");
        name(text, compare->setups[s].name);
        cw_text_add(text, " %zu", compare->setups[s].runs);
    }
    if (compare && compare->n_setups) cw_text_add(text, ")");
}
