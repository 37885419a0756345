#include "compare/force.h"

#include <math.h>
#include <string.h>

#include "physics/forces.h"

static const struct cw_estimate unknown = {NAN, NAN, NAN, NAN, 0};

struct cw_estimate cw_setup_force_n(const struct cw_fit *fit, const struct cw_setup_result *setup,
                                    double speed_ms) {
    const struct cw_outing *outing = fit->of.outing;
    size_t s = 0;
    while (s < outing->n_setups && strcmp(outing->setups[s].name, setup->name)) s++;
    if (s == outing->n_setups) return unknown;
    const struct cw_bicycle bicycle = cw_outing_bicycle(outing, outing->setups[s].rider, s);
    const struct cw_surroundings still = {.density_kgm3 = fit->place.density_kgm3,
                                          .gravity_ms2 = fit->place.gravity_ms2};
    struct cw_loss loss = cw_coast_loss(&bicycle, &still, speed_ms, 1);
    double weight_n = bicycle.mass_kg * still.gravity_ms2;
    struct cw_estimate cda = setup->cda_m2, crr = setup->crr;
    double together = setup->correlation;
    if (fit->crr_given) { /* and known beside the runs */
        double sd = outing->crr_uncertainty;
        crr = (struct cw_estimate){outing->crr, isfinite(sd) ? sd : 0, NAN, NAN, 0};
        together = 0;
    }
    double drag_n = weight_n * loss.drag * cda.standard_error,
           rolling_n = weight_n * crr.standard_error;
    double variance = drag_n * drag_n + rolling_n * rolling_n + 2 * together * drag_n * rolling_n;
    double force_n = weight_n * cw_loss_sum(&loss, cda.value, crr.value);
    if (!isfinite(force_n) || !isfinite(variance)) return unknown;
    return cw_estimate_make(force_n, sqrt(fmax(0, variance)),
                            0.5 * (cda.high - cda.low) / cda.standard_error);
}
