#include "report/rests.h"

#include <math.h>
#include <string.h>

#include "report/fit_facts.h"
#include "report/table.h"

static void add_setups(const struct cw_analysed *of, struct cw_text *text) {
    const struct cw_outing *outing = &of->outing;
    size_t said = 0;
    for (size_t i = 0; i < outing->n_setups; i++) {
        const struct cw_setup *setup = &outing->setups[i];
        size_t runs = cw_setup_runs(of, i);
        if (!runs || outing->n_setups == 1) continue;
        cw_text_add(text, "%s%s", said++ ? ", " : " (", setup->name);
        if (setup->rider) {
            const char *rider = outing->companions[setup->rider - 1].name;
            cw_text_add(text, strcmp(setup->name, rider) ? " (companion %s)" : " (companion)",
                        rider);
        }
        cw_text_add(text, " %zu", runs);
    }
    if (said) cw_text_add(text, ")");
}

/* So many runs are named in their order. */
enum { ORDER_MOST = 16 };

static void add_order(const struct cw_analysed *of, struct cw_text *text) {
    size_t said = 0, left = 0, last = 0;
    if (!of->outing.order.n) return;
    cw_text_add(text, " in the order");
    for (size_t i = 0; i < of->fit.n_runs; i++) {
        const char *setup = cw_analysed_setup(of, of->fit.runs[i].setup);
        size_t descent = of->runs.at[of->fit.runs[i].run].descent;
        if (of->runs.in_pieces && descent == last) continue;
        last = descent;
        if (said == ORDER_MOST) {
            left++;
            continue;
        }
        said++;
        cw_text_add(text, " %s", setup ? setup : "-");
    }
    if (left) cw_text_add(text, " and %zu more", left);
}

static void say_runs(const struct cw_analysed *of, struct cw_sentences *sentences) {
    size_t n = of->fit.n_runs, turned_down = 0, dropped = 0, reversed = 0;
    struct cw_text text = {0};
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        dropped += !run->kept && (run->reasons & CW_REASON_OUTLIER);
        turned_down += !run->kept && !(run->reasons & CW_REASON_OUTLIER);
    }
    for (size_t i = 0; i < n; i++) reversed += of->runs.at[of->fit.runs[i].run].reversed;
    cw_text_add(&text, "%s: %zu %s", of->outing.name, n, n == 1 ? "run" : "runs");
    if (of->runs.in_pieces)
        cw_text_add(&text, ", the pieces of %zu descents,", of->runs.n_descents);
    if (of->fit.n_roads > 1) cw_text_add(&text, " on %zu roads", of->fit.n_roads);
    add_setups(of, &text);
    add_order(of, &text);
    if (reversed) cw_text_add(&text, "; %zu the other way", reversed);
    if (dropped) cw_text_add(&text, "; %zu dropped", dropped);
    if (turned_down) {
        cw_text_add(&text, "; %zu turned down (coastwise runs ", turned_down);
        cw_text_add_word(&text, of->outing.file ? of->outing.file : "OUTING");
        cw_text_add(&text, " says why)");
    }
    cw_sentences_take(sentences, &text);
}

static void say_air(const struct cw_analysed *of, struct cw_sentences *sentences) {
    const struct cw_place *place = &of->fit.place;
    const struct cw_estimate *found = &of->fit.wind_along_ms;
    double wind_ms = of->outing.wind_along_ms, off_ms = of->outing.wind_uncertainty_ms;
    if (of->fit.wind_told) {
        wind_ms = found->value;
        off_ms = found->standard_error;
    }
    cw_sentences_add(sentences,
                     "air of %.1f °C and %.0f hPa, %.3f kg/m³; mean wind along the road %.1f ± "
                     "%.1f km/h, as %s",
                     place->temperature_c, place->pressure_pa / 100, place->density_kgm3,
                     wind_ms * CW_KMH_PER_MS, off_ms * CW_KMH_PER_MS,
                     of->fit.wind_told       ? "the runs either way tell"
                     : of->outing.wind_given ? "the outing file says"
                                             : "it is taken where the outing file is silent");
}

void cw_rests_said(const struct cw_analysed *of, struct cw_sentences *sentences) {
    say_runs(of, sentences);
    say_air(of, sentences);
}
