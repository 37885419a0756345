#include "report/predict_facts.h"

#include <math.h>

#include "report/cautions.h"
#include "report/table.h"

double cw_predict_slope(double sine) {
    return sine / sqrt(1 - sine * sine);
}

/* "74.6 m down" or up. */
static void add_drop(double drop_m, struct cw_text *text) {
    if (fabs(drop_m) < 0.05)
        cw_text_add(text, "no higher at one end than at the other");
    else
        cw_text_add(text, "%.1f m %s", fabs(drop_m), drop_m < 0 ? "up" : "down");
}

void cw_predict_road_add(const struct cw_predict_road *road, struct cw_text *text) {
    switch (road->kind) {
    case CW_PREDICT_SLOPES:
        cw_text_add(text, "The road %s", road->name);
        break;
    case CW_PREDICT_RUN:
        cw_text_add(text, "Along run %ld of %s", road->run, road->name);
        break;
    case CW_PREDICT_WHOLE:
        cw_text_add(text, "All the way of %s", road->name);
        break;
    case CW_PREDICT_OUTING:
        cw_text_add(text, "The road of %s, from its runs' mean start to where all still roll",
                    road->name);
        break;
    }
    cw_text_add(text, ": %.0f m, ", road->length_m);
    add_drop(cw_predict_road_drop(road), text);
    if (road->steepest_sine < 0)
        cw_text_add(text, ", at its steepest %.1f %%", 100 * cw_predict_slope(road->steepest_sine));
}

/* "83.0 kg, CdA 0.350 m2, Crr 0.0050, air 1.225 kg/m3, still air, from a held start" */
static void add_given(const struct cw_predicted *ride, struct cw_text *text) {
    double wind = ride->number[CW_PREDICT_WIND].value,
           start = ride->number[CW_PREDICT_START_SPEED].value,
           power = ride->number[CW_PREDICT_POWER].value;
    if (*ride->setup) cw_text_add(text, "%s, ", ride->setup);
    cw_text_add(text, "%.1f kg, CdA %.4f m2, Crr %.5f, air of %.4f kg/m3", //
                ride->of[CW_PREDICT_MASS].value, ride->of[CW_PREDICT_CDA].value,
                ride->of[CW_PREDICT_CRR].value, ride->of[CW_PREDICT_DENSITY].value);
    if (wind == 0)
        cw_text_add(text, ", no wind");
    else
        cw_text_add(text, ", a %s of %.1f km/h", wind > 0 ? "headwind" : "tailwind",
                    fabs(wind) * CW_KMH_PER_MS);
    if (start < 0.01)
        cw_text_add(text, ", from a held start");
    else
        cw_text_add(text, ", from %.1f km/h", start * CW_KMH_PER_MS);
    if (power > 0)
        cw_text_add(text, ", at %.0f W", power);
    else
        cw_text_add(text, ", unpedalled");
}

void cw_predict_ride_add(const struct cw_prediction *prediction, size_t i, struct cw_text *text) {
    const struct cw_predicted *ride = &prediction->at[i];
    if (i) cw_text_add(text, "With %s: ", ride->label);
    add_given(ride, text);
    cw_text_add(text, ": %s", cw_predict_end_text(ride->end));
    if (ride->end == CW_PREDICT_STANDS)
        cw_text_add(text, ", after %.1f m", ride->of[CW_PREDICT_RUNOUT].value);
}

/* ---- what was taken ---- */

void cw_predict_taken(const struct cw_prediction *prediction, struct cw_sentences *said) {
    const struct cw_predicted *ride = &prediction->at[0];
    const struct cw_predict_number *number = ride->number;
    const bool *usual = ride->usual;
    if (prediction->from && *ride->setup)
        cw_sentences_add(said,
                         "CdA and Crr are those of setup %s as %s tells them, the mean of its "
                         "runs: a single ride scatters about that",
                         ride->setup, prediction->from->outing.file);
    if (prediction->from && *ride->setup && prediction->from->fit.crr_given)
        cw_sentences_add(said,
                         "Crr is the outing file's, moved by what the runs say of it: CdA goes "
                         "with that");
    if (isnan(number[CW_PREDICT_DENSITY_GIVEN].value) && usual[CW_PREDICT_TEMPERATURE] &&
        usual[CW_PREDICT_PRESSURE])
        cw_sentences_add(said, "the air is the standard atmosphere's at %.0f m: %.1f C, %.1f hPa",
                         number[CW_PREDICT_ALTITUDE].value, number[CW_PREDICT_TEMPERATURE].value,
                         number[CW_PREDICT_PRESSURE].value);
    else if (isnan(number[CW_PREDICT_DENSITY_GIVEN].value) && usual[CW_PREDICT_TEMPERATURE])
        cw_sentences_add(said, "the air has %.1f C, of the standard atmosphere at %.0f m",
                         number[CW_PREDICT_TEMPERATURE].value, number[CW_PREDICT_ALTITUDE].value);
    else if (isnan(number[CW_PREDICT_DENSITY_GIVEN].value) && usual[CW_PREDICT_PRESSURE])
        cw_sentences_add(said, "the air has %.1f hPa, of the standard atmosphere at %.0f m",
                         number[CW_PREDICT_PRESSURE].value, number[CW_PREDICT_ALTITUDE].value);
    if (usual[CW_PREDICT_WIND]) cw_sentences_add(said, "there is no wind");
    if (usual[CW_PREDICT_START_SPEED]) {
        if (prediction->road->kind == CW_PREDICT_SLOPES)
            cw_sentences_add(said, "it starts from a stand");
        else
            cw_sentences_add(said, "it starts at %.1f km/h, as %s there",
                             number[CW_PREDICT_START_SPEED].value * CW_KMH_PER_MS,
                             prediction->road->kind == CW_PREDICT_OUTING ? "the runs did"
                                                                         : "the recording does");
    }
    if (usual[CW_PREDICT_INERTIA])
        cw_sentences_add(said, "both wheels have %.3g kg m2 and a radius of %.3g m",
                         number[CW_PREDICT_INERTIA].value, number[CW_PREDICT_RADIUS].value);
    if (usual[CW_PREDICT_GRAVITY])
        cw_sentences_add(said, "gravity is %.5g m/s2", number[CW_PREDICT_GRAVITY].value);
}

/* ---- what to mind ---- */

static void doubt_ride(const struct cw_prediction *prediction, size_t i,
                       struct cw_sentences *said) {
    const struct cw_predicted *ride = &prediction->at[i];
    struct cw_text name = {0};
    if (i) cw_text_add(&name, "with %s: ", ride->label);
    const char *which = name.bytes ? name.bytes : "";
    if (ride->end == CW_PREDICT_NEVER)
        cw_sentences_add(
            said,
            "%sit never moves: neither slope nor air sets it rolling where it starts; give a "
            "start speed, or a power",
            which);
    else if (ride->end == CW_PREDICT_STANDS)
        cw_sentences_add(said,
                         "%sit stands still after %.1f m, before the road's end: there is no time "
                         "to the end",
                         which, ride->of[CW_PREDICT_RUNOUT].value);
    if (ride->end != CW_PREDICT_NEVER && isnan(ride->of[CW_PREDICT_STOPPING].value))
        cw_sentences_add(said,
                         "%swhere it is fastest brakes may not stop it at all on such a slope: "
                         "this is no road to coast",
                         which);
    if (ride->of[CW_PREDICT_CRR].value < 0)
        cw_sentences_add(said,
                         "%sthe Crr that the runs tell is below 0: they do not tell it from CdA, "
                         "and only what both make together is known",
                         which);
    if (prediction->wanted_time_s > 0 && isnan(ride->of[CW_PREDICT_WANTED_CDA].value))
        cw_sentences_add(said, "%sno CdA from 0 to 10 m2 takes %.10g s on this road", which,
                         prediction->wanted_time_s);
    if (prediction->worth_kg > 0 && isnan(ride->of[CW_PREDICT_WORTH_CDA].value))
        cw_sentences_add(said,
                         "%sno CdA does what %.10g kg more do: a time to the road's end is "
                         "compared, and one of them has none",
                         which, prediction->worth_kg);
    cw_text_free(&name);
}

void cw_predict_doubts(const struct cw_prediction *prediction, struct cw_sentences *said) {
    const struct cw_predict_road *road = prediction->road;
    const struct cw_predicted *base = &prediction->at[0];
    for (size_t i = 0; i < prediction->n; i++) doubt_ride(prediction, i, said);
    if (road->kind != CW_PREDICT_OUTING && (road->scale_sd > 0 || road->tilt_sd_m > 0))
        cw_sentences_add(said,
                         "heights are as recorded: the drop of %.0f m is taken to be known to "
                         "%.1f m",
                         cw_predict_road_drop(road),
                         hypot(road->scale_sd * cw_predict_road_drop(road), road->tilt_sd_m));
    if (fabs(base->correlation) > 0.9)
        cw_sentences_add(said,
                         "CdA and Crr are correlated by %.3f: what both make is known better than "
                         "either, and differences better than what they are of",
                         base->correlation);
}

void cw_predict_cautions(const struct cw_prediction *prediction, struct cw_sentences *said) {
    const struct cw_predicted *fastest = &prediction->at[0];
    for (size_t i = 1; i < prediction->n; i++)
        if (!(prediction->at[i].of[CW_PREDICT_TOP_SPEED].value <=
              fastest->of[CW_PREDICT_TOP_SPEED].value) &&
            isfinite(prediction->at[i].of[CW_PREDICT_TOP_SPEED].value))
            fastest = &prediction->at[i];
    double top_ms = fastest->of[CW_PREDICT_TOP_SPEED].value,
           stop_m = fastest->of[CW_PREDICT_STOPPING].value;
    if (isnan(top_ms)) return;
    if (isfinite(stop_m))
        cw_sentences_add(said,
                         "From %.0f km/h a sound bicycle needs some %.0f m to stop there in the "
                         "dry, and far more in the wet.",
                         top_ms * CW_KMH_PER_MS, 5 * ceil(stop_m / 5));
    else
        cw_sentences_add(said, "It comes to %.0f km/h, where brakes may not stop it at all.",
                         top_ms * CW_KMH_PER_MS);
    cw_sentences_add(said, "%s", cw_caution_coasting);
    cw_sentences_add(said, "%s", cw_caution_law);
}
