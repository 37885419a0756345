#include "fit/budget.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/information.h"

/* Common practice, no source: what nobody states for an ordinary outing. */
static const double height_scale_uncertainty = 0.002, inertia_uncertainty = 0.1,
                    load_uncertainty_kg = 0.1;

/* What a cause moves. */
struct move {
    double mass_kg, load_kg; /* of every run; of loaded runs */
    double temperature_c, pressure_pa, humidity;
    double wind_ms, height_scale, inertia; /* the last two relative */
};

struct cause {
    enum cw_cause_kind kind;
    const char *name, *unit;
    double uncertainty; /* in unit */
    struct move move;   /* by one standard uncertainty */
};

enum { MOST = 9 };

static size_t causes_of(const struct cw_outing *outing, bool wind_fitted,
                        struct cause cause[MOST]) {
    size_t n = 0;
    double mass = hypot(outing->rider_mass_uncertainty_kg, outing->bike_mass_uncertainty_kg);
    int loaded = 0;
    for (size_t i = 0; i < outing->n_setups; i++) loaded |= outing->setups[i].load_kg != 0;
    cause[n++] =
        (struct cause){CW_CAUSE_MASS, "mass of rider and bicycle", "kg", mass, {.mass_kg = mass}};
    if (loaded)
        cause[n++] = (struct cause){CW_CAUSE_LOAD,
                                    "mass of the load",
                                    "kg",
                                    load_uncertainty_kg,
                                    {.load_kg = load_uncertainty_kg}};
    cause[n++] = (struct cause){CW_CAUSE_TEMPERATURE,
                                "air temperature",
                                "C",
                                outing->temperature_uncertainty_c,
                                {.temperature_c = outing->temperature_uncertainty_c}};
    cause[n++] = (struct cause){CW_CAUSE_PRESSURE,
                                "air pressure",
                                "hPa",
                                outing->pressure_uncertainty_hpa,
                                {.pressure_pa = 100 * outing->pressure_uncertainty_hpa}};
    cause[n++] = (struct cause){CW_CAUSE_HUMIDITY,
                                "humidity",
                                "%",
                                outing->humidity_uncertainty_percent,
                                {.humidity = outing->humidity_uncertainty_percent / 100}};
    if (!wind_fitted)
        cause[n++] = (struct cause){CW_CAUSE_WIND,
                                    "mean wind along the road",
                                    "m/s",
                                    outing->wind_uncertainty_ms,
                                    {.wind_ms = outing->wind_uncertainty_ms}};
    if (outing->elevation != CW_ELEVATION_SURVEYED && outing->elevation != CW_ELEVATION_LEVEL)
        cause[n++] = (struct cause){CW_CAUSE_HEIGHT_SCALE,
                                    "scale of the heights",
                                    "%",
                                    100 * height_scale_uncertainty,
                                    {.height_scale = height_scale_uncertainty}};
    cause[n++] = (struct cause){CW_CAUSE_INERTIA,
                                "inertia of the wheels",
                                "%",
                                100 * inertia_uncertainty,
                                {.inertia = inertia_uncertainty}};
    return n;
}

static double ratio(double moved, double before) {
    return before > 0 ? moved / before : 1;
}

/* Moves one run's data; undone by copying back what was saved of it. */
static void move_run(struct cw_run_data *data, const struct cw_outing *outing,
                     const struct cw_place *place, const struct move *move,
                     const struct cw_place *moved) {
    data->bicycle.mass_kg += move->mass_kg;
    if (data->setup < outing->n_setups && outing->setups[data->setup].load_kg != 0)
        data->bicycle.mass_kg += move->load_kg;
    data->bicycle.wheel_inertia_kgm2 *= 1 + move->inertia;
    data->surroundings.density_kgm3 *= ratio(moved->density_kgm3, place->density_kgm3);
    data->surroundings.wind_along_ms += cw_run_data_headwind(data, move->wind_ms);
    double scale =
        (1 + move->height_scale) * ratio(moved->barometric_scale, place->barometric_scale);
    for (size_t j = 0; j < data->n; j++)
        data->height_seen_m[j] =
            place->height_m + scale * (data->height_seen_m[j] - place->height_m);
}

static enum cw_status solve(struct cw_joint *joint, const struct cw_noise *noise,
                            struct cw_information *information, double *value,
                            struct cw_error *error) {
    double unused;
    enum cw_status status =
        cw_joint_evaluate(joint, NULL, joint->n_runs, noise, &unused, information, error);
    return status < 0 ? status : cw_information_solve(information, value, NULL, error);
}

/* CdA and Crr of each run alone. */
static enum cw_status solve_alone(struct cw_joint *joint, const struct cw_noise *noise,
                                  double *value, struct cw_error *error) {
    struct cw_information information;
    size_t nt = joint->n_tyres;
    double unused, *x = malloc((nt + 1) * sizeof *x);
    enum cw_status status =
        x ? cw_information_alloc(nt, 1, &information, error) : cw_error_memory(error);
    if (status < 0) {
        free(x);
        return status;
    }
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++) {
        status = cw_joint_evaluate(joint, &i, 1, noise, &unused, &information, error);
        if (status >= 0) status = cw_information_solve(&information, x, NULL, error);
        value[2 * i] = x[nt];
        value[2 * i + 1] = x[joint->data[i].tyres];
    }
    cw_information_free(&information);
    free(x);
    return status;
}

enum cw_status cw_budget_make(const struct cw_outing *outing, const struct cw_place *place,
                              struct cw_joint *joint, const struct cw_noise *noise,
                              struct cw_budget *budget, struct cw_error *error) {
    struct cause cause[MOST];
    size_t n = causes_of(outing, joint->priors.wind.sd > 0, cause),
           n_x = joint->n_tyres + joint->n_runs, n_alone = 2 * joint->n_runs;
    size_t total = 0;
    for (size_t i = 0; i < joint->n_runs; i++) total += joint->data[i].n;
    struct cw_information information = {0};
    double *base = malloc((n_x + n_alone) * sizeof *base),
           *heights = malloc(total * sizeof *heights);
    struct cw_run_data *before = malloc(joint->n_runs * sizeof *before);
    *budget = (struct cw_budget){.n = n, .n_x = n_x};
    budget->causes = calloc(n, sizeof *budget->causes);
    budget->effects = calloc(n * (n_x + n_alone), sizeof *budget->effects);
    enum cw_status status = CW_OK;
    if (!base || !heights || !before || !budget->causes || !budget->effects) {
        status = cw_error_memory(error);
        goto cleanup;
    }
    status = cw_information_alloc(joint->n_tyres, joint->n_runs, &information, error);
    if (status < 0) goto cleanup;
    size_t at = 0;
    for (size_t i = 0; i < joint->n_runs; i++) {
        before[i] = joint->data[i];
        memcpy(heights + at, joint->data[i].height_seen_m, joint->data[i].n * sizeof *heights);
        at += joint->data[i].n;
    }
    status = solve(joint, noise, &information, base, error);
    if (status >= 0) status = solve_alone(joint, noise, base + n_x, error);
    for (size_t c = 0; c < n && status >= 0; c++) {
        double *effect = budget->effects + c * (n_x + n_alone);
        budget->causes[c] = (struct cw_cause){cause[c].kind, cause[c].name, cause[c].uncertainty,
                                              cause[c].unit, effect,        effect + n_x};
        if (!(cause[c].uncertainty > 0)) continue;
        struct cw_place moved = *place;
        moved.temperature_c += cause[c].move.temperature_c;
        moved.pressure_pa += cause[c].move.pressure_pa;
        moved.humidity = fmin(1, moved.humidity + cause[c].move.humidity);
        cw_place_settle(&moved, outing->elevation);
        at = 0;
        for (size_t i = 0; i < joint->n_runs; i++)
            move_run(&joint->data[i], outing, place, &cause[c].move, &moved);
        cw_joint_linearise(joint);
        status = solve(joint, noise, &information, effect, error);
        if (status >= 0) status = solve_alone(joint, noise, effect + n_x, error);
        for (size_t k = 0; k < n_x + n_alone; k++) effect[k] -= base[k];
        for (size_t i = 0; i < joint->n_runs; i++) {
            joint->data[i] = before[i];
            memcpy(joint->data[i].height_seen_m, heights + at, joint->data[i].n * sizeof *heights);
            at += joint->data[i].n;
        }
    }
    cw_joint_linearise(joint);
cleanup:
    cw_information_free(&information);
    free(base);
    free(heights);
    free(before);
    if (status < 0) cw_budget_free(budget);
    return status;
}

double cw_budget_of(const struct cw_budget *budget, size_t i) {
    double squares = 0;
    for (size_t c = 0; c < budget->n; c++)
        squares += budget->causes[c].effect[i] * budget->causes[c].effect[i];
    return sqrt(squares);
}

double cw_budget_of_alone(const struct cw_budget *budget, size_t i, size_t what) {
    double squares = 0;
    for (size_t c = 0; c < budget->n; c++) {
        double effect = budget->causes[c].alone[2 * i + what];
        squares += effect * effect;
    }
    return sqrt(squares);
}

void cw_budget_free(struct cw_budget *budget) {
    free(budget->causes);
    free(budget->effects);
    *budget = (struct cw_budget){0};
}
