/* Whether a plan keeps its word: outings are planned, ridden with seeds that the plan has not seen,
 * and compared. The error that was promised is held against the error that comparisons then have,
 * and against what they print; and how often the difference that was planned for is found against
 * the power that was promised.
 *
 * A plan knows the world's air by its options (gusts, winds from run to run) and the kind of
 * recorder; or, with --like, no more than an outing of RUNS runs ridden in that world before, each
 * time another one.
 *
 * usage: study_plan WORLD N [--recorder KIND] [--like RUNS] [--runs RUNS] [--difference PERCENT]
 *                   [--seed FIRST] [--check] [-v]
 *
 * --runs: of each setup, and the difference is what the plan says that they find with 80 % power
 * (as it is without --difference, of 6). --difference: the plan says how many runs. --check: the
 * status tells whether all is within what the number of outings allows. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "compare/compare.h"
#include "outings.h"
#include "plan/plan.h"
#include "simulate/settings.h"
#include "simulate/worlds.h"

static const double cda_m2 = 0.42, crr = 0.005, mass_kg = 83;

struct asked {
    const struct cw_simulate_world *world;
    enum cw_plan_recorder recorder;
    size_t n, like, runs;
    double difference;
    unsigned long first;
    bool check, verbose;
};

struct tally_of_plans {
    size_t outings, found;
    double promised_power, promised_error, error2, promised_se, se, promised_half, half, runs,
        difference, held;
};

/* The seeds of what is ridden and of what the plans are like lie far apart. */
enum { LIKE_SEEDS = 500000 };

static bool fail(const char *what, unsigned long seed, const struct cw_error *error) {
    fprintf(stderr, "seed %lu: %s: %s\n", seed, what, error ? error->message : "");
    return false;
}

static bool make_plan(const struct asked *asked, const struct cw_analysed *like, unsigned long seed,
                      struct cw_plan *plan) {
    struct cw_plan_options options = cw_plan_options_default();
    struct cw_error error;
    if (!like && cw_simulate_set_all(&options.day, asked->world->settings, &error) < 0)
        return fail("no such day", seed, &error);
    /* As a world sets them, setups have names of their own. */
    options.day.n_setups = 2;
    strcpy(options.day.setups[0].name, "a");
    strcpy(options.day.setups[1].name, "b");
    options.recorder = asked->recorder;
    options.like = like;
    options.cda_m2 = cda_m2;
    options.crr = crr;
    options.mass_kg = mass_kg;
    options.start_speed_given = true;
    options.day.start_speed_ms = 4;
    options.runs = isnan(asked->difference) ? asked->runs : 0;
    options.difference_percent = asked->difference;
    return cw_plan_make(&options, plan, &error) >= 0 || fail("not planned", seed, &error);
}

/* The case in which a plan is ridden. text: room for its settings. */
static struct study_case case_of(const struct asked *asked, const struct cw_plan *plan,
                                 double difference, char *text, size_t size) {
    size_t at = (size_t)snprintf(text, size,
                                 "%s setups=a:%.4f:%.4f,b:%.6f:%.4f order=", asked->world->settings,
                                 cda_m2, crr, cda_m2 * (1 + difference / 100), crr);
    for (size_t i = 0; i < plan->n_order && at + 3 < size; i++)
        at += (size_t)snprintf(text + at, size - at, "%s%s", i ? "," : "",
                               plan->order[i].setup ? "b" : "a");
    return (struct study_case){asked->world->name, asked->world->meaning, text, false};
}

static bool ride(const struct asked *asked, const struct cw_plan *plan, unsigned long seed,
                 struct tally_of_plans *tally) {
    char settings[390];
    const struct cw_plan_promise *promise = &plan->promise;
    double difference = isnan(asked->difference) ? promise->smallest_percent[0] : asked->difference;
    struct study_case c = case_of(asked, plan, difference, settings, sizeof settings);
    struct study_outing outing;
    struct cw_compare compare;
    struct cw_error error;
    bool made = study_outing_make(&c, seed, &outing) && outing.fitted;
    if (!made) {
        study_outing_free(&outing);
        return fail("its runs were not all found", seed, NULL);
    }
    const struct cw_fit *fit = &outing.made.of->fit;
    if (cw_compare_setups(&fit, 1, NULL, &compare, &error) < 0) {
        study_outing_free(&outing);
        return fail("not compared", seed, &error);
    }
    const struct cw_comparison *d = &compare.comparisons[0];
    double off = d->percent.value - difference;
    /* Percent of CdA as comparisons have it are a little more than of its logarithm. */
    double unit = 1 + difference / 100;
    tally->outings++;
    tally->found += d->verdict == CW_VERDICT_HIGHER;
    tally->held += d->percent.low <= difference && difference <= d->percent.high;
    tally->error2 += off * off;
    tally->se += d->percent.standard_error;
    tally->half += (d->percent.high - d->percent.low) / 2;
    tally->promised_error += unit * promise->error_percent;
    tally->promised_se += unit * promise->standard_error_percent;
    tally->promised_half += unit * promise->half_percent;
    tally->promised_power += isnan(promise->power) ? cw_plan_power(0) : promise->power;
    tally->runs += (double)plan->runs;
    tally->difference += difference;
    if (asked->verbose)
        printf("seed %lu: %zu runs each, %.2f %%: off %+.2f, se %.2f (promised %.2f, %.2f), half "
               "%.2f (%.2f), %s\n",
               seed, plan->runs, difference, off, d->percent.standard_error,
               unit * promise->error_percent, unit * promise->standard_error_percent,
               (d->percent.high - d->percent.low) / 2, unit * promise->half_percent,
               cw_verdict_text(d->verdict));
    cw_compare_free(&compare);
    study_outing_free(&outing);
    return true;
}

/* An outing ridden before, of so many runs in the same world. */
static bool ride_before(const struct asked *asked, unsigned long seed, struct study_outing *like) {
    char settings[390];
    struct cw_plan before = {0};
    struct cw_plan_run order[100];
    before.order = order;
    before.n_order = asked->like < 100 ? asked->like : 100;
    for (size_t i = 0; i < before.n_order; i++)
        order[i] = (struct cw_plan_run){(i % 4 == 1 || i % 4 == 2), 0};
    struct study_case c = case_of(asked, &before, 4, settings, sizeof settings);
    bool made = study_outing_make(&c, LIKE_SEEDS + seed, like) && like->fitted;
    if (!made) study_outing_free(like);
    return made || fail("no outing to be like", seed, NULL);
}

static void study(const struct asked *asked, struct tally_of_plans *tally) {
    struct cw_plan plan = {0};
    bool planned = !asked->like && make_plan(asked, NULL, 0, &plan);
    for (size_t i = 0; i < asked->n; i++) {
        unsigned long seed = asked->first + i;
        struct study_outing like;
        if (asked->like) {
            if (!ride_before(asked, seed, &like)) continue;
            planned = make_plan(asked, like.made.of, seed, &plan);
        }
        if (planned) ride(asked, &plan, seed, tally);
        if (asked->like) {
            cw_plan_free(&plan);
            study_outing_free(&like);
        }
    }
    cw_plan_free(&plan);
}

/* Whether a ratio of errors, of which one is a root mean square over so many, may be 1. */
static bool sound(const char *what, double ratio, double allowed) {
    bool fine = fabs(ratio - 1) <= allowed;
    if (!fine) printf("  %s: %.3f is farther from 1 than %.2f\n", what, ratio, allowed);
    return fine;
}

static bool tell(const struct asked *asked, const struct tally_of_plans *t) {
    double n = (double)t->outings, found = (double)t->found / n, power = t->promised_power / n;
    double promised = t->promised_error / n, had = sqrt(t->error2 / n);
    printf("%s%s: %zu outings, %.1f runs each, %.2f %%\n", asked->world->name,
           asked->like ? ", like an outing" : "", t->outings, t->runs / n, t->difference / n);
    printf("  error: promised %.3f %%, was %.3f, ratio %.3f\n", promised, had, had / promised);
    printf("  standard error as printed: promised %.3f %%, was %.3f, ratio %.3f\n",
           t->promised_se / n, t->se / n, t->se / t->promised_se);
    printf("  half interval as printed: promised %.3f %%, was %.3f, ratio %.3f\n",
           t->promised_half / n, t->half / n, t->half / t->promised_half);
    printf("  found: promised %.1f, was %.1f of 100; intervals held %.1f\n", 100 * power,
           100 * found, 100 * t->held / n);
    fflush(stdout);
    if (!asked->check) return true;
    /* Ten of a hundred, and three standard errors of what so few outings tell. */
    double chance = 3 / sqrt(2 * n);
    bool fine = sound("the error", had / promised, 0.1 + chance);
    fine = sound("the printed error", t->se / t->promised_se, 0.1 + chance / 2) && fine;
    fine = sound("the half interval", t->half / t->promised_half, 0.1 + chance / 2) && fine;
    if (fabs(found - power) > 0.06 + 3 * sqrt(power * (1 - power) / n)) {
        printf("  found too seldom or too often\n");
        fine = false;
    }
    return fine;
}

int main(int argc, char **argv) {
    struct asked asked = {.runs = 6, .difference = NAN, .first = 1};
    bool wrong = argc < 3;
    asked.world = argc > 1 ? cw_simulate_world_named(argv[1]) : NULL;
    if (argc > 1 && !cw_plan_recorder_named(argv[1], &asked.recorder))
        asked.recorder = CW_PLAN_WHEEL;
    asked.n = argc > 2 ? strtoul(argv[2], NULL, 10) : 0;
    for (int i = 3; i < argc; i++) {
        const char *value = i + 1 < argc ? argv[i + 1] : "";
        if (!strcmp(argv[i], "-v")) {
            asked.verbose = true;
        } else if (!strcmp(argv[i], "--check")) {
            asked.check = true;
        } else {
            i++;
            if (!strcmp(argv[i - 1], "--recorder"))
                wrong = wrong || !cw_plan_recorder_named(value, &asked.recorder);
            else if (!strcmp(argv[i - 1], "--like"))
                asked.like = strtoul(value, NULL, 10);
            else if (!strcmp(argv[i - 1], "--runs"))
                asked.runs = strtoul(value, NULL, 10);
            else if (!strcmp(argv[i - 1], "--difference"))
                asked.difference = strtod(value, NULL);
            else if (!strcmp(argv[i - 1], "--seed"))
                asked.first = strtoul(value, NULL, 10);
            else
                wrong = true;
        }
    }
    if (wrong || !asked.world) {
        fprintf(stderr, "usage: study_plan WORLD N [--recorder KIND] [--like RUNS] [--runs RUNS]\n"
                        "                  [--difference PERCENT] [--seed FIRST] [--check] [-v]\n");
        return 2;
    }
    struct tally_of_plans tally = {0};
    study(&asked, &tally);
    if (!tally.outings) return 1;
    return tell(&asked, &tally) ? 0 : 1;
}
