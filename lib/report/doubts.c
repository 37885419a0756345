#include "report/doubts.h"

#include <math.h>

#include "base/path.h"
#include "fit/heights.h"
#include "physics/air.h"
#include "report/table.h"

/* The weather keeps within some 35 hPa of the standard atmosphere (common practice, no source). */
static const double weather_hpa = 40;

static void doubt_pressure(const struct cw_analysed *of, const char *section, const char *name,
                           double pressure_hpa, struct cw_sentences *warnings) {
    double height_m = of->fit.place.height_m, usual_hpa = cw_isa_pressure_pa(height_m) / 100;
    if (!(pressure_hpa > usual_hpa + weather_hpa)) return;
    cw_sentences_add(
        warnings,
        "pressure_hpa = %.1f in [%s%s], but some %.0f hPa are usual at %.0f m: this "
        "looks like the pressure reduced to sea level, and makes every CdA %.0f %% too "
        "small; give the pressure where it was ridden",
        pressure_hpa, section, name, usual_hpa, height_m, 100 * (1 - usual_hpa / pressure_hpa));
}

/* Heavier than nearly all riders and bicycles (common practice, no source). */
static const double heavy_rider_kg = 120, heavy_bike_kg = 30, kg_a_pound = 0.45359237;

static void doubt_mass(double mass_kg, double heavy_kg, const char *section,
                       struct cw_sentences *warnings) {
    if (!(mass_kg > heavy_kg)) return;
    cw_sentences_add(warnings,
                     "mass_kg = %g in [%s] looks like pounds: %g lb are %.1f kg; every CdA grows "
                     "with the mass",
                     mass_kg, section, mass_kg, kg_a_pound * mass_kg);
}

/* ---- smoothed heights ---- */

/* By study_world on a road of even slope, runs of 30, 38 and 51 s, heights smoothed over 3, 6 and
 * 10 s, 12 outings each: CdA came out 8 to 10 % too high in runs of 30 s, 4 to 12 in those of 38,
 * 4, 5 and 11 in those of 51; intervals held 92 to 100 in 100. Without smoothing it was at most 2 %
 * off, and the difference between setups was as good with it as without. */
static const double long_part = 0.1, short_run_s = 40;

static void doubt_smoothing(const struct cw_analysed *of, struct cw_sentences *warnings) {
    const struct cw_fit *fit = &of->fit;
    double lag_s = 0, run_s = 0;
    if (!(cw_heights_prior(of->outing.elevation)->lag_s.mean > 0)) return;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_run *run = &of->runs.at[fit->runs[i].run];
        run_s += run->duration_s / (double)fit->n_runs;
        lag_s = fmax(lag_s, fit->recorders[run->recording].lag_s);
    }
    struct cw_text text = {0};
    if (run_s < short_run_s)
        cw_text_add(&text,
                    "the runs last %.0f s: too short to tell well over how many seconds the device "
                    "smooths its heights (2 to 4 are common)",
                    run_s);
    else if (lag_s > long_part * run_s)
        cw_text_add(&text,
                    "the device smooths its heights over %.1f s, and the runs last %.0f s: the "
                    "road is too short for it",
                    lag_s, run_s);
    if (!text.bytes) return;
    cw_text_add(&text, ". CdA itself then comes out too high, by some 10 %%; differences between "
                       "setups are not touched. Ride a longer road");
    cw_sentences_take(warnings, &text);
}

/* ---- wind ---- */

/* Wind that strong is never steady (common practice, no source). */
static const double much_wind_ms = 2, much_gust_ms = 0.6;

static void doubt_wind(const struct cw_analysed *of, struct cw_sentences *warnings) {
    double said = of->outing.wind_along_ms, found = of->fit.wind_along_ms.value;
    double gust = of->fit.noise.gust_sd_ms, wind = of->fit.wind_told ? found : said;
    struct cw_text text = {0};
    if (fabs(wind) > much_wind_ms)
        cw_text_add(&text, "a windy outing: %.0f km/h along the road, as %s",
                    fabs(wind) * CW_KMH_PER_MS,
                    of->fit.wind_told ? "the runs either way tell" : "the outing file says");
    else if (gust > much_gust_ms)
        cw_text_add(&text, "a windy outing: gusts of %.1f km/h", gust * CW_KMH_PER_MS);
    if (!text.bytes) return;
    cw_text_add(&text,
                ". Wind like that is not the same in each run: look at how runs of one setup "
                "scatter, and ride again in stiller air");
    cw_sentences_take(warnings, &text);
}

void cw_doubts_add(const struct cw_analysed *of, struct cw_sentences *warnings) {
    const struct cw_outing *outing = &of->outing;
    doubt_pressure(of, "air", "", outing->air.pressure_hpa, warnings);
    for (size_t i = 0; i < outing->n_own_air; i++)
        doubt_pressure(of, "air ", cw_path_name(of->recordings[outing->own_air[i].recording].file),
                       outing->own_air[i].air.pressure_hpa, warnings);
    doubt_mass(outing->rider.mass_kg, heavy_rider_kg, "rider", warnings);
    doubt_mass(outing->rider.bike_mass_kg, heavy_bike_kg, "bike", warnings);
    doubt_smoothing(of, warnings);
    doubt_wind(of, warnings);
}
