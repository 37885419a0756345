#include "report/doubts.h"

#include <math.h>

#include "base/path.h"
#include "physics/air.h"

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

static const char *base_name(const char *path) {
    return path + cw_path_folder(path);
}

void cw_doubts_add(const struct cw_analysed *of, struct cw_sentences *warnings) {
    const struct cw_outing *outing = &of->outing;
    doubt_pressure(of, "air", "", outing->air.pressure_hpa, warnings);
    for (size_t i = 0; i < outing->n_own_air; i++)
        doubt_pressure(of, "air ", base_name(of->recordings[outing->own_air[i].recording].file),
                       outing->own_air[i].air.pressure_hpa, warnings);
    doubt_mass(outing->rider_mass_kg, heavy_rider_kg, "rider", warnings);
    doubt_mass(outing->bike_mass_kg, heavy_bike_kg, "bike", warnings);
}
