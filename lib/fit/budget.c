#include "fit/budget.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "fit/heights.h"
#include "fit/information.h"
#include "fit/summary.h"

#define DEGREES (180 / 3.14159265358979323846)

/* Common practice, no source: what nobody states for an ordinary outing. */
static const double height_scale_uncertainty = 0.002, inertia_uncertainty = 0.1,
                    load_uncertainty_kg = 0.1, by_yaw = 0.005; /* of CdA a degree */

/* What bends cost goes in the fit by the square of the push to the side, which is told from Crr by
 * the speed. A tyre that scrubs, or a line that is rougher there, costs as much at any speed, and
 * looks like Crr and slope. By the same size, a fifth of a g to the side costing 0.004 of Crr
 * (common practice, no source). */
static const double bends_any_uncertainty = 0.1;
/* Of Crr, on the mean over the runs: less is not worth a line. */
static const double least_in_bends = 2e-4;

/* Of the density at a road's ends, beside its middle: less by the lapse rate is not worth a line.
 */
static const double least_by_lapse = 1e-3;

/* What a cause moves. */
struct move {
    double mass;    /* standard uncertainties of every rider's mass */
    double load_kg; /* of loaded runs */
    bool of_air;    /* a part of it, by what each recording's is uncertain of */
    enum cw_air_part air;
    double wind_ms, height_scale, inertia; /* the last two relative */
    double crr_fall_1k, bends_any;
};

struct cause {
    enum cw_cause_kind kind;
    double uncertainty; /* in its unit */
    struct move move;   /* by one standard uncertainty */
};

enum { MOST = 12 };

void cw_cause_name(enum cw_cause_kind kind, const char **name, const char **unit) {
    static const char *const texts[CW_CAUSES][2] = {
        [CW_CAUSE_MASS] = {"mass of rider and bicycle", "kg"},
        [CW_CAUSE_LOAD] = {"mass of the load", "kg"},
        [CW_CAUSE_TEMPERATURE] = {"air temperature", "C"},
        [CW_CAUSE_PRESSURE] = {"air pressure", "hPa"},
        [CW_CAUSE_HUMIDITY] = {"humidity", "%"},
        [CW_CAUSE_LAPSE] = {"lapse rate of the air", "K/km"},
        [CW_CAUSE_WIND] = {"mean wind along the road", "m/s"},
        [CW_CAUSE_HEIGHT_SCALE] = {"scale of the heights", "%"},
        [CW_CAUSE_INERTIA] = {"inertia of the wheels", "%"},
        [CW_CAUSE_YAW] = {"drag by 0.5 % a degree of yaw", "deg"},
        [CW_CAUSE_OWN_AIR] = {"each recording's own air (density)", "%"},
        [CW_CAUSE_WARM] = {"Crr of tyres a kelvin warmer", "%"},
        [CW_CAUSE_BENDS] = {"bends, at any speed alike", "Crr"},
    };
    *name = texts[kind][0];
    *unit = texts[kind][1];
}

/* A cause with its texts. */
static struct cw_cause cause_of(enum cw_cause_kind kind, double uncertainty, double *effect,
                                double *alone) {
    struct cw_cause cause = {
        .kind = kind, .uncertainty = uncertainty, .effect = effect, .alone = alone};
    cw_cause_name(kind, &cause.name, &cause.unit);
    return cause;
}

/* The largest that any recording shares with others, or has of its own where it shares nothing. */
static double most_of(const struct cw_recording_air *air, size_t n, enum cw_air_part part) {
    double most = 0, own = 0;
    for (size_t r = 0; r < n; r++) {
        most = fmax(most, air[r].shared[part]);
        own = fmax(own, air[r].own[part]);
    }
    return most > 0 ? most : own;
}

static double mass_uncertainty_kg(const struct cw_rider *rider) {
    return hypot(rider->mass_uncertainty_kg, rider->bike_mass_uncertainty_kg);
}

/* What bends cost, a unit of it, a metre on the mean over all runs. */
static double mean_bend(const struct cw_joint *joint) {
    double lost = 0, way = 0;
    for (size_t i = 0; i < joint->n_runs; i++) {
        const struct cw_run_data *data = &joint->data[i];
        for (size_t j = 1; j < data->n; j++) {
            double ds = data->s_m[j] - data->s_m[j - 1];
            lost += ds * cw_bend_loss(CW_BENDS_USUAL_MS, data->curve_1m[j],
                                      data->surroundings.gravity_ms2);
            way += ds;
        }
    }
    return way > 0 ? lost / way : 0;
}

/* By what part the air at the runs' highest and lowest place is denser or thinner than is taken,
 * where the lapse rate is off by its uncertainty. */
static double by_lapse(const struct cw_joint *joint, double uncertainty_1m) {
    double low = INFINITY, high = -INFINITY, kelvin = NAN;
    for (size_t i = 0; i < joint->n_runs; i++) {
        const struct cw_run_data *data = &joint->data[i];
        if (!(data->surroundings.column.cooling_1m != 0)) continue;
        kelvin = data->temperature_c + 273.15;
        for (size_t j = 0; j < data->n; j++) {
            low = fmin(low, data->height_seen_m[j]);
            high = fmax(high, data->height_seen_m[j]);
        }
    }
    return high > low ? 0.5 * (high - low) * uncertainty_1m / kelvin : 0;
}

static size_t causes_of(const struct cw_outing *outing, const struct cw_recording_air *air,
                        size_t n_recordings, const struct cw_joint *joint,
                        struct cause cause[MOST]) {
    bool wind_fitted = joint->priors.wind.sd > 0, warm = cw_joint_warms(joint);
    double in_bends = bends_any_uncertainty * mean_bend(joint);
    size_t n = 0;
    double mass = mass_uncertainty_kg(&outing->rider);
    int loaded = 0;
    for (size_t i = 0; i < outing->n_setups; i++) loaded |= outing->setups[i].load_kg != 0;
    cause[n++] = (struct cause){CW_CAUSE_MASS, mass, {.mass = 1}};
    if (loaded)
        cause[n++] =
            (struct cause){CW_CAUSE_LOAD, load_uncertainty_kg, {.load_kg = load_uncertainty_kg}};
    cause[n++] = (struct cause){CW_CAUSE_TEMPERATURE,
                                most_of(air, n_recordings, CW_AIR_TEMPERATURE),
                                {.air = CW_AIR_TEMPERATURE, .of_air = true}};
    cause[n++] = (struct cause){CW_CAUSE_PRESSURE,
                                most_of(air, n_recordings, CW_AIR_PRESSURE) / 100,
                                {.air = CW_AIR_PRESSURE, .of_air = true}};
    cause[n++] = (struct cause){CW_CAUSE_HUMIDITY,
                                100 * most_of(air, n_recordings, CW_AIR_HUMIDITY),
                                {.air = CW_AIR_HUMIDITY, .of_air = true}};
    double lapse_1m = most_of(air, n_recordings, CW_AIR_LAPSE);
    if (by_lapse(joint, lapse_1m) > least_by_lapse)
        cause[n++] =
            (struct cause){CW_CAUSE_LAPSE, 1000 * lapse_1m, {.air = CW_AIR_LAPSE, .of_air = true}};
    if (!wind_fitted)
        cause[n++] = (struct cause){
            CW_CAUSE_WIND, outing->wind_uncertainty_ms, {.wind_ms = outing->wind_uncertainty_ms}};
    if (cw_heights_prior(outing->elevation)->scaled)
        cause[n++] = (struct cause){CW_CAUSE_HEIGHT_SCALE,
                                    100 * height_scale_uncertainty,
                                    {.height_scale = height_scale_uncertainty}};
    cause[n++] = (struct cause){
        CW_CAUSE_INERTIA, 100 * inertia_uncertainty, {.inertia = inertia_uncertainty}};
    if (warm)
        cause[n++] = (struct cause){
            CW_CAUSE_WARM, 100 * CW_CRR_FALL_SD_1K, {.crr_fall_1k = CW_CRR_FALL_SD_1K}};
    if (in_bends > least_in_bends)
        cause[n++] = (struct cause){CW_CAUSE_BENDS, in_bends, {.bends_any = bends_any_uncertainty}};
    return n;
}

static double ratio(double moved, double before) {
    return before > 0 ? moved / before : 1;
}

/* The air of a recording, off by one standard uncertainty of a part: what it shares with others,
 * or, of a run alone, all that there is. */
static struct cw_place moved_air(const struct cw_recording_air *air, enum cw_elevation elevation,
                                 enum cw_air_part part, bool alone) {
    double by = alone ? hypot(air->shared[part], air->own[part]) : air->shared[part];
    struct cw_place moved = air->place;
    if (part == CW_AIR_TEMPERATURE) moved.temperature_c += by;
    if (part == CW_AIR_PRESSURE) moved.pressure_pa += by;
    if (part == CW_AIR_HUMIDITY) moved.humidity = fmin(1, moved.humidity + by);
    if (part == CW_AIR_LAPSE) moved.lapse_1m += by;
    cw_place_settle(&moved, elevation);
    return moved;
}

/* Moves one run's data; undone by copying back what was saved of it. */
static void move_run(struct cw_run_data *data, const struct cw_outing *outing,
                     const struct cw_recording_air *air, const struct move *move, bool alone) {
    const struct cw_place *place = &air[data->recording].place;
    struct cw_place moved = *place;
    if (move->of_air) moved = moved_air(&air[data->recording], outing->elevation, move->air, alone);
    data->bicycle.mass_kg +=
        move->mass *
        mass_uncertainty_kg(cw_outing_rider(outing, cw_outing_rider_of(outing, data->recording)));
    if (data->setup < outing->n_setups && outing->setups[data->setup].load_kg != 0)
        data->bicycle.mass_kg += move->load_kg;
    data->bicycle.wheel_inertia_kgm2 *= 1 + move->inertia;
    data->surroundings.density_kgm3 *= ratio(moved.density_kgm3, place->density_kgm3);
    data->surroundings.wind_along_ms += cw_run_data_headwind(data, move->wind_ms);
    if (move->of_air && move->air == CW_AIR_LAPSE) data->surroundings.column = moved.column;
    double scale =
               (1 + move->height_scale) * ratio(moved.barometric_scale, place->barometric_scale),
           bend_1m = moved.barometric_bend_1m - place->barometric_bend_1m;
    for (size_t j = 0; j < data->n; j++) {
        double up_m = scale * (data->height_seen_m[j] - place->height_m);
        data->height_seen_m[j] = place->height_m + up_m * (1 + 0.5 * bend_1m * up_m);
    }
}

/* The data of all runs, to be put back. */
struct saved {
    struct cw_run_data *data;
    double *heights;
};

static enum cw_status save(const struct cw_joint *joint, struct saved *saved,
                           struct cw_error *error) {
    size_t total = 0, at = 0;
    for (size_t i = 0; i < joint->n_runs; i++) total += joint->data[i].n;
    saved->data = malloc(joint->n_runs * sizeof *saved->data);
    saved->heights = malloc(total * sizeof *saved->heights);
    if (!saved->data || !saved->heights) return cw_error_memory(error);
    for (size_t i = 0; i < joint->n_runs; i++) {
        saved->data[i] = joint->data[i];
        memcpy(saved->heights + at, joint->data[i].height_seen_m,
               joint->data[i].n * sizeof *saved->heights);
        at += joint->data[i].n;
    }
    return CW_OK;
}

static void put_back(struct cw_joint *joint, const struct saved *saved) {
    size_t at = 0;
    for (size_t i = 0; i < joint->n_runs; i++) {
        joint->data[i] = saved->data[i];
        memcpy(joint->data[i].height_seen_m, saved->heights + at,
               joint->data[i].n * sizeof *saved->heights);
        at += joint->data[i].n;
    }
}

/* The yaw at which a run met the air, rms along the road, in degrees; 0 where nobody saw a
 * crosswind. */
static double yaw_deg(const struct cw_run_data *data, const struct cw_runs *runs) {
    double cross_ms = runs->at[data->run].logged.cross_ms, square = 0, way = 0;
    for (size_t j = 1; j < data->n && isfinite(cross_ms); j++) {
        double ds = data->s_m[j] - data->s_m[j - 1];
        double yaw = atan2(cross_ms, 0.5 * (data->speed_ms[j] + data->speed_ms[j - 1]));
        square += yaw * yaw * ds;
        way += ds;
    }
    return way > 0 ? sqrt(square / way) * DEGREES : 0;
}

/* Air from the side has another CdA than air from ahead, by how much hardly anybody knows of their
 * own bicycle: nothing is moved and solved, for a run's CdA is what is off. */
static void add_yaw(const struct cw_joint *joint, const struct cw_runs *runs,
                    struct cw_budget *budget, double *effect) {
    double squares = 0, *alone = effect + budget->n_x;
    for (size_t i = 0; i < joint->n_runs; i++) {
        double yaw = yaw_deg(&joint->data[i], runs);
        squares += yaw * yaw;
        effect[joint->n_tyres + i] = alone[2 * i] = joint->cda_m2[i] * by_yaw * yaw;
    }
    if (!(squares > 0)) return;
    budget->causes[budget->n++] =
        cause_of(CW_CAUSE_YAW, sqrt(squares / (double)joint->n_runs), effect, alone);
}

/* Wind, m/s, by which a kind's answer is found: small beside what runs are ridden at. */
static const double kind_wind_ms = 0.1;

/* Numbers the kinds of runs; 0 kinds where Crr is not asked for of several tyres. */
static void set_kinds(const struct cw_joint *joint, struct cw_budget *budget) {
    bool asked = joint->n_tyres > 1;
    for (size_t t = 0; t < joint->n_tyres; t++) asked = asked && !joint->crr_prior[t].known;
    for (size_t i = 0; i < joint->n_runs && asked; i++) {
        size_t j = 0;
        while (j < i && (joint->data[j].setup != joint->data[i].setup ||
                         joint->data[j].reversed != joint->data[i].reversed))
            j++;
        budget->kind[i] = j < i ? budget->kind[j] : budget->n_kinds++;
    }
}

struct solver {
    struct cw_joint *joint;
    const struct cw_noise *noise;
    struct cw_summary said;
    double *room; /* for a run's own solution */
};

/* Solves for CdA and Crr: of all runs together into value, and, behind that, of each alone. */
static enum cw_status solve(struct solver *s, bool together, bool alone, double *value,
                            struct cw_error *error) {
    size_t nt = s->joint->n_tyres, n = s->joint->n_runs;
    enum cw_status status = cw_joint_evaluate(s->joint, NULL, n, s->noise, NULL, &s->said.together,
                                              alone ? s->said.alone : NULL, error);
    if (status >= 0 && together)
        status = cw_information_solve_usual(&s->said.together, value, NULL, error);
    value += nt + n;
    for (size_t i = 0; alone && i < n && status >= 0; i++) {
        status = cw_information_solve_usual(&s->said.alone[i], s->room, NULL, error);
        value[2 * i] = s->room[nt];
        value[2 * i + 1] = cw_joint_own_crr(s->joint, i, s->room[s->joint->data[i].tyres]);
    }
    return status;
}

/* Solves with a cause moved. The air that recordings share is known otherwise than that of one. */
static enum cw_status solve_moved(const struct cw_outing *outing,
                                  const struct cw_recording_air *air, const struct move *move,
                                  const struct saved *saved, struct solver *solver, double *effect,
                                  struct cw_error *error) {
    struct cw_joint *joint = solver->joint;
    enum cw_status status = CW_OK;
    double crr_fall_1k = joint->crr_fall_1k, bends_any = joint->bends_any;
    joint->crr_fall_1k += move->crr_fall_1k;
    joint->bends_any += move->bends_any;
    for (int alone = 0; alone < (move->of_air ? 2 : 1) && status >= 0; alone++) {
        for (size_t i = 0; i < joint->n_runs; i++)
            move_run(&joint->data[i], outing, air, move, alone);
        cw_joint_linearise(joint);
        status = solve(solver, !alone, alone || !move->of_air, effect, error);
        put_back(joint, saved);
    }
    joint->crr_fall_1k = crr_fall_1k;
    joint->bends_any = bends_any;
    return status;
}

/* What run i's CdA is off by where its recording's own air is. A recording that was warmer than it
 * is taken to be had thinner air and tyres that rolled better: both make its CdA too small, so they
 * add. Tyres count where runs are taken to differ in temperature. */
static double own_air(const struct cw_joint *joint, size_t i, const struct cw_recording_air *air) {
    double all = joint->cda_m2[i] * cw_air_parts_error(&air->place, air->own);
    if (!cw_joint_warms(joint)) return all;
    const struct cw_linear *linear = &joint->linear[i];
    const double alone[CW_AIR_PARTS] = {[CW_AIR_TEMPERATURE] = air->own[CW_AIR_TEMPERATURE]};
    double density = joint->cda_m2[i] * cw_air_parts_error(&air->place, alone);
    double rolling = joint->crr_fall_1k * air->own[CW_AIR_TEMPERATURE] *
                     joint->crr[joint->data[i].tyres] * linear->roll_m[linear->n - 1] /
                     linear->drag_m[linear->n - 1];
    return sqrt(all * all + 2 * density * rolling + rolling * rolling);
}

/* How all runs answer to the winds of each kind. base: x with nothing moved. */
static enum cw_status answer_to_winds(const struct saved *saved, const double *base,
                                      struct solver *solver, struct cw_budget *budget,
                                      struct cw_error *error) {
    struct cw_joint *joint = solver->joint;
    enum cw_status status = CW_OK;
    for (size_t k = 0; k < budget->n_kinds && status >= 0; k++) {
        double *by = budget->by_wind + k * budget->n_x;
        for (size_t i = 0; i < joint->n_runs; i++)
            if (budget->kind[i] == k)
                joint->data[i].surroundings.wind_along_ms +=
                    cw_run_data_headwind(&joint->data[i], kind_wind_ms);
        cw_joint_linearise(joint);
        status = solve(solver, true, false, by, error);
        put_back(joint, saved);
        /* A headwind taken for granted makes less of the drag; one not known of makes it more. */
        for (size_t x = 0; x < budget->n_x; x++) by[x] = (base[x] - by[x]) / kind_wind_ms;
    }
    return status;
}

enum cw_status cw_budget_make(const struct cw_outing *outing, const struct cw_recording_air *air,
                              size_t n_recordings, const struct cw_runs *runs,
                              struct cw_joint *joint, const struct cw_noise *noise,
                              struct cw_budget *budget, struct cw_error *error) {
    struct cause cause[MOST];
    size_t n = causes_of(outing, air, n_recordings, joint, cause),
           n_x = joint->n_tyres + joint->n_runs, n_alone = 2 * joint->n_runs;
    struct solver solver = {
        .joint = joint, .noise = noise, .room = malloc((joint->n_tyres + 1) * sizeof(double))};
    struct saved saved = {0};
    double *base = malloc((n_x + n_alone) * sizeof *base);
    *budget = (struct cw_budget){.n = n, .n_x = n_x, .n_tyres = joint->n_tyres};
    budget->causes = calloc(n + 1, sizeof *budget->causes);
    budget->effects = calloc((n + 1) * (n_x + n_alone), sizeof *budget->effects);
    budget->own_air = calloc(joint->n_runs, sizeof *budget->own_air);
    budget->kind = calloc(joint->n_runs, sizeof *budget->kind);
    if (budget->kind) set_kinds(joint, budget);
    budget->by_wind = calloc(budget->n_kinds * n_x + 1, sizeof *budget->by_wind);
    enum cw_status status = save(joint, &saved, error);
    if (status >= 0 && (!base || !solver.room || !budget->causes || !budget->effects ||
                        !budget->own_air || !budget->kind || !budget->by_wind))
        status = cw_error_memory(error);
    if (status >= 0) status = cw_summary_alloc(joint, true, &solver.said, error);
    if (status >= 0) status = solve(&solver, true, true, base, error);
    for (size_t c = 0; c < n && status >= 0; c++) {
        double *effect = budget->effects + c * (n_x + n_alone);
        budget->causes[c] = cause_of(cause[c].kind, cause[c].uncertainty, effect, effect + n_x);
        if (!(cause[c].uncertainty > 0)) continue;
        status = solve_moved(outing, air, &cause[c].move, &saved, &solver, effect, error);
        for (size_t k = 0; k < n_x + n_alone; k++) effect[k] -= base[k];
    }
    if (status >= 0) add_yaw(joint, runs, budget, budget->effects + n * (n_x + n_alone));
    if (status >= 0) status = answer_to_winds(&saved, base, &solver, budget, error);
    for (size_t i = 0; i < joint->n_runs && status >= 0; i++)
        budget->own_air[i] = own_air(joint, i, &air[joint->data[i].recording]);
    cw_joint_linearise(joint);
    cw_summary_free(&solver.said);
    free(solver.room);
    free(base);
    free(saved.data);
    free(saved.heights);
    if (status < 0) cw_budget_free(budget);
    return status;
}

enum cw_status cw_budget_of_winds(struct cw_joint *joint, const struct cw_noise *noise,
                                  struct cw_budget *budget, struct cw_error *error) {
    size_t n_x = joint->n_tyres + joint->n_runs;
    struct solver solver = {.joint = joint, .noise = noise};
    struct saved saved = {0};
    *budget = (struct cw_budget){.n_x = n_x, .n_tyres = joint->n_tyres};
    budget->own_air = calloc(joint->n_runs, sizeof *budget->own_air);
    budget->kind = calloc(joint->n_runs, sizeof *budget->kind);
    if (budget->kind) set_kinds(joint, budget);
    budget->by_wind = calloc(budget->n_kinds * n_x + 1, sizeof *budget->by_wind);
    if (!budget->own_air || !budget->kind || !budget->by_wind) return cw_error_memory(error);
    if (!budget->n_kinds) return CW_OK;
    double *base = malloc(n_x * sizeof *base);
    enum cw_status status = base ? save(joint, &saved, error) : cw_error_memory(error);
    if (status >= 0) status = cw_summary_alloc(joint, false, &solver.said, error);
    if (status >= 0) status = solve(&solver, true, false, base, error);
    if (status >= 0) status = answer_to_winds(&saved, base, &solver, budget, error);
    cw_joint_linearise(joint);
    cw_summary_free(&solver.said);
    free(base);
    free(saved.data);
    free(saved.heights);
    return status;
}

double cw_budget_of(const struct cw_budget *budget, size_t i) {
    double own = i < budget->n_tyres ? 0 : budget->own_air[i - budget->n_tyres];
    double squares = own * own;
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

double cw_budget_warm(const struct cw_budget *budget, size_t i) {
    for (size_t c = 0; c < budget->n; c++)
        if (budget->causes[c].kind == CW_CAUSE_WARM) return budget->causes[c].effect[i];
    return 0;
}

void cw_budget_free(struct cw_budget *budget) {
    free(budget->causes);
    free(budget->effects);
    free(budget->own_air);
    free(budget->kind);
    free(budget->by_wind);
    *budget = (struct cw_budget){0};
}
