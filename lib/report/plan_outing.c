#include <math.h>
#include <string.h>

#include "report/plan_facts.h"
#include "report/plan_report.h"

/* A number as it is, or a line to fill in. */
static void add_number(struct cw_text *out, const char *key, double value, int decimals,
                       const char *comment) {
    if (isnan(value)) {
        cw_text_add(out, "; %s =           ; %s\n", key, comment);
        return;
    }
    cw_text_add(out, "%s = ", key);
    cw_text_add_number(out, value, decimals);
    cw_text_add(out, "\n");
}

static void add_rider(const struct cw_plan *plan, struct cw_text *out) {
    const struct cw_analysed *like = plan->options.like;
    double rider_kg = NAN, bike_kg = NAN;
    /* Of a total that was given nobody knows the parts. */
    if (like && fabs(like->outing.rider.mass_kg + like->outing.rider.bike_mass_kg -
                     plan->options.mass_kg) < 1e-9) {
        rider_kg = like->outing.rider.mass_kg;
        bike_kg = like->outing.rider.bike_mass_kg;
    }
    cw_text_add(out, "\n[rider]\n");
    add_number(out, "mass_kg", rider_kg, 2, "with clothes and all that is carried");
    cw_text_add(out, "\n[bike]\n");
    add_number(out, "mass_kg", bike_kg, 2, "with bottles and bags, without a setup's load");
    add_number(out, "wheel_inertia_kgm2", plan->options.day.wheel_inertia_kgm2, 4, "");
    add_number(out, "wheel_radius_m", plan->options.day.wheel_radius_m, 4, "");
}

static void add_order(const struct cw_plan *plan, struct cw_text *out) {
    size_t column = strlen("order =");
    cw_text_add(out, "\n[runs]\norder =");
    for (size_t i = 0; i < plan->n_order; i++) {
        const char *name = cw_plan_setup(plan, plan->order[i].setup);
        if (column + strlen(name) + 1 > 78) {
            cw_text_add(out, "\n   ");
            column = 3;
        }
        cw_text_add(out, " %s", name);
        column += strlen(name) + 1;
    }
    cw_text_add(out,
                "\n; skip =              ; numbers as `coastwise runs` prints them, of runs that "
                "were disturbed\n");
    cw_text_add(out, "; wind_along_ms = ");
    for (size_t i = 0; i < plan->n_order; i++) cw_text_add(out, "%s-", i ? " " : "");
    cw_text_add(out,
                "\n; noted a run, in place of the -, + is a headwind; a - stays where none was "
                "noted\n");
}

enum cw_status cw_report_plan_outing(const struct cw_plan *plan, struct cw_text *out,
                                     struct cw_error *error) {
    cw_text_add(out,
                "; An outing that is planned. Fill in what stands behind a semicolon and take the\n"
                "; semicolon away; what is not known may stay.\n"
                "; Expected top speed: %.0f km/h.\n\n[outing]\n"
                "; name =              ; what it is called in tables and on pages\n"
                "; recordings =        ; the files, with commas between them\n"
                "elevation = %s\n",
                3.6 * plan->top_speed_ms, cw_elevation_text(plan->options.day.elevation));
    add_rider(plan, out);
    cw_text_add(out, "\n[air]\n"
                     "; temperature_c =     ; on the hill\n"
                     "; pressure_hpa =      ; on the hill, not reduced to sea level\n"
                     "; humidity_percent =\n"
                     "; wind_along_ms =     ; the mean, + is a headwind down the road\n");
    for (size_t s = 0; s < plan->options.day.n_setups; s++)
        cw_text_add(out,
                    "\n[setup %s]\n; description =       ; what the setup is, in words\n"
                    "; load_kg =           ; what it adds to the mass\n"
                    "; pressure_kpa =      ; of its tyres\n",
                    cw_plan_setup(plan, s));
    add_order(plan, out);
    return out->failed ? cw_error_memory(error) : CW_OK;
}
