/* How good the command line's answers are on outings of another make than the library's own
 * (world.h): each is written as files, the program is run on them, and what it says is held against
 * what is true (world_answer.h). */
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "nature_check.h"
#include "tally.h"
#include "world.h"
#include "world_answer.h"
#include "world_check.h"
#include "world_program.h"

#ifndef PROGRAM
#define PROGRAM "coastwise"
#endif

struct options {
    struct asking asking;
    bool verbose, check;
    const char *keep;
};

/* Many outings at a time: a child for each, that sends its answer through a pipe. */

static void one(const struct options *options, const struct world *world, uint64_t seed,
                const char *top, int to) {
    char *directory;
    if (options->keep) {
        directory = program_path(options->keep, "");
        mkdir(directory, 0777);
    } else {
        char name[32];
        snprintf(name, sizeof name, "%llu", (unsigned long long)seed);
        directory = program_path(top, name);
        if (!directory || mkdir(directory, 0777) < 0) _exit(1);
    }
    struct answer answer = answer_make(&options->asking, world, seed, directory);
    if (!options->keep) program_clear(directory);
    free(directory);
    _exit(write(to, &answer, sizeof answer) != (ssize_t)sizeof answer);
}

static bool all(const struct options *options, const struct world *world, size_t n, uint64_t first,
                size_t jobs, struct answer *answers) {
    const char *temporary = getenv("TMPDIR");
    char *top = program_path(temporary ? temporary : "/tmp", "study_world.XXXXXX");
    int ends[2];
    if (!top || !mkdtemp(top) || pipe(ends) < 0) {
        fprintf(stderr, "study_world: no temporary directory: %s\n", strerror(errno));
        free(top);
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        answers[i] = (struct answer){.seed = first + i};
        snprintf(answers[i].why, sizeof answers[i].why, "the study itself failed");
    }
    bool progress = isatty(STDERR_FILENO), fine = true;
    size_t begun = 0, done = 0;
    while (done < n && fine) {
        if (begun < n && begun - done < jobs) {
            fflush(stdout);
            pid_t child = fork();
            if (child == 0) one(options, world, first + begun, top, ends[1]);
            fine = child > 0;
            begun++;
            continue;
        }
        int status;
        fine = wait(&status) > 0;
        done++;
        if (fine && WIFEXITED(status) && WEXITSTATUS(status) == 0) {
            struct answer answer;
            fine = read(ends[0], &answer, sizeof answer) == (ssize_t)sizeof answer;
            if (fine) answers[answer.seed - first] = answer;
        }
        if (progress) fprintf(stderr, "\r%s: %zu of %zu ", world->name, done, n);
    }
    if (progress) fprintf(stderr, "\r\033[K");
    close(ends[0]);
    close(ends[1]);
    rmdir(top);
    free(top);
    return fine;
}

/* Counting. */

struct results {
    size_t outings, answered, unfitted, right, miscounted, off, matched, runs, identifiable;
    double start_off_s, end_off_s;
    size_t verdicts_false, verdicts_right, crr_false, crr_right, either_false;
    struct tally crr_difference, power;
    struct tally difference, level, alone, alone_crr, together, crr, time, wind, runout;
    double *half_widths; /* of the difference */
    double seconds;
};

static void add_all(struct tally *tally, const struct tally *more) {
    tally->n += more->n;
    tally->held += more->held;
    tally->sum += more->sum;
    tally->sum2 += more->sum2;
    tally->said2 += more->said2;
}

static void count(const struct answer *a, struct results *r) {
    r->outings++;
    r->right += a->right;
    r->miscounted += a->found != a->made;
    r->off += a->found == a->made && !a->right;
    r->matched += a->matched;
    r->start_off_s += a->start_off_s;
    r->end_off_s += a->end_off_s;
    r->seconds += a->took_s;
    if (!a->answered) return;
    r->half_widths[r->answered++] = (a->percent.high - a->percent.low) / 2;
    r->unfitted += !a->fitted;
    tally_add_estimate(&r->difference, &a->percent, a->truth_percent, 1);
    tally_add_estimate(&r->time, &a->time_s, a->true_time_s, 1);
    tally_add_estimate(&r->runout, &a->runout_m, a->true_runout_m, 1);
    add_all(&r->wind, &a->wind);
    for (int b = 0; b < 2; b++) {
        tally_add_estimate(&r->level, &a->level[b], a->true_level[b], a->true_level[b]);
        tally_add_estimate(&r->crr, &a->crr[b], a->true_crr[b], 1);
    }
    add_all(&r->alone, &a->alone);
    add_all(&r->alone_crr, &a->alone_crr);
    add_all(&r->together, &a->together);
    r->runs += a->fit_runs;
    r->identifiable += a->identifiable;
    tally_add_estimate(&r->crr_difference, &a->crr_difference, a->true_crr_difference, 1);
    tally_add_estimate(&r->power, &a->power_w, a->true_power_w, 1);
    bool wrong = a->verdict && !(a->verdict * a->truth_percent > 0);
    bool crr_wrong = a->crr_verdict && !(a->crr_verdict * a->true_crr_difference > 0);
    r->verdicts_false += wrong;
    r->verdicts_right += a->verdict && !wrong;
    r->crr_false += crr_wrong;
    r->crr_right += a->crr_verdict && !crr_wrong;
    r->either_false += wrong || crr_wrong;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Of sorted numbers, straight between neighbours. */
static double quantile(const double *sorted, size_t n, double part) {
    double at = part * (double)(n - 1);
    size_t i = (size_t)at;
    return i + 1 < n ? sorted[i] + (at - (double)i) * (sorted[i + 1] - sorted[i]) : sorted[i];
}

static void print_whys(const struct answer *answers, size_t n) {
    for (size_t i = 0; i < n; i++) {
        size_t same = 0;
        bool told = answers[i].answered;
        for (size_t j = 0; j < n; j++) {
            if (answers[j].answered || strcmp(answers[i].why, answers[j].why)) continue;
            told |= j < i;
            same++;
        }
        if (!told) printf("  not answered, %zu: %s\n", same, answers[i].why);
    }
}

static void print_tally(const char *what, const struct tally *tally, double unit) {
    if (tally->n) tally_print(what, tally, unit);
}

static void print_answer(const struct answer *a) {
    printf("seed %llu: %zu of %zu runs%s", (unsigned long long)a->seed, a->found, a->made,
           a->right ? "" : ", not as they were");
    if (a->answered)
        printf("; %+.2f %% (%.2f to %.2f) true %+.2f; level %.4f (%.4f to %.4f) true %.4f; crr "
               "%.5f (%.5f to %.5f); time %+.2f s (%.2f to %.2f) true %+.2f; alone holds %zu of "
               "%zu, together %zu of %zu\n",
               a->percent.value, a->percent.low, a->percent.high, a->truth_percent,
               a->level[0].value, a->level[0].low, a->level[0].high, a->true_level[0],
               a->crr[0].value, a->crr[0].low, a->crr[0].high, a->time_s.value, a->time_s.low,
               a->time_s.high, a->true_time_s, a->alone.held, a->alone.n, a->together.held,
               a->together.n);
    else
        printf("; not answered: %s\n", a->why);
}

static bool judge(const struct results *r) {
    bool sound = r->answered == r->outings && !r->miscounted;
    if (!sound)
        printf("NOT SOUND: of %zu outings %zu were answered; in %zu not all runs were found, or "
               "others\n",
               r->outings, r->answered, r->miscounted);
    if (!r->answered) return false;
    sound &= tally_sound("level", &r->level, r->answered, 0.003);
    return tally_sound("difference", &r->difference, r->answered, 0.3) && sound;
}

/* false when it can't be done, or with check when what comes out is not sound. */
static bool study(const struct options *options, const struct world *world, const char *changes,
                  size_t n, uint64_t first, size_t jobs) {
    struct answer *answers = malloc(n * sizeof *answers);
    struct results r = {.half_widths = malloc(n * sizeof(double))};
    bool fine = answers && r.half_widths && all(options, world, n, first, jobs, answers);
    if (!fine) goto cleanup;
    for (size_t i = 0; i < n; i++) {
        count(&answers[i], &r);
        if (options->verbose) print_answer(&answers[i]);
    }
    printf("%s: %s%s%s\n", world->name, world_meaning(world->name), *changes ? "; " : "", changes);
    if (!options->asking.runs_only)
        printf("  answered %zu of %zu; %.1f s an outing\n", r.answered, r.outings,
               r.seconds / (double)n);
    printf("  runs found right in %zu, another number in %zu, ends off in %zu", r.right,
           r.miscounted, r.off);
    if (r.matched)
        printf("; on the mean they start %+.1f s and end %+.1f s from where they do",
               r.start_off_s / (double)r.matched, r.end_off_s / (double)r.matched);
    printf("\n");
    if (!options->asking.runs_only) print_whys(answers, n);
    if (r.answered) {
        qsort(r.half_widths, r.answered, sizeof *r.half_widths, by_size);
        print_tally("difference, %", &r.difference, 1);
        printf("    half width %.2f (%.2f to %.2f in 90 of 100); verdicts %zu false, %zu right\n",
               quantile(r.half_widths, r.answered, 0.5), quantile(r.half_widths, r.answered, 0.05),
               quantile(r.half_widths, r.answered, 0.95), r.verdicts_false, r.verdicts_right);
        if (r.crr_difference.n) {
            print_tally("Crr difference, 1e-4", &r.crr_difference, 1e4);
            printf("    verdicts %zu false, %zu right; of drag or of rolling %zu false\n",
                   r.crr_false, r.crr_right, r.either_false);
        }
        print_tally("power at 30 km/h, W", &r.power, 1);
        if (world->tyres && !(r.crr_difference.n && r.power.n))
            printf("  of tyres: %zu with a Crr difference, %zu with a power on the flat\n",
                   r.crr_difference.n, r.power.n);
        print_tally("level, %", &r.level, 100);
        if (r.unfitted) printf("    of these, %zu that fit does not answer\n", r.unfitted);
        print_tally("CdA alone, %", &r.alone, 100);
        printf("    identifiable %zu of %zu\n", r.identifiable, r.runs);
        print_tally("Crr alone, 1e-4", &r.alone_crr, 1e4);
        print_tally("CdA together, %", &r.together, 100);
        print_tally("Crr, 1e-4", &r.crr, 1e4);
        print_tally("time over road, s", &r.time, 1);
        print_tally("run-out, m", &r.runout, 1);
        print_tally("wind of a run, m/s", &r.wind, 1);
    }
    fine = options->asking.runs_only || judge(&r) || !options->check;
    fflush(stdout);
cleanup:
    free(answers);
    free(r.half_widths);
    return fine;
}

static int usage(void) {
    fprintf(stderr,
            "usage: study_world WORLD|all N [FIRST-SEED] [SETTING=VALUE...] [-v] [--jobs N]\n"
            "                   [--program PATH] [--label-found] [--runs-only] [--check]\n"
            "                   [--keep DIRECTORY]\n"
            "       study_world --self-test\n"
            "--label-found: the outing file's order is made to fit the runs that were found\n"
            "--runs-only: nothing is compared, only the runs found are judged\n"
            "--check: the status tells whether the answers are as they should be\n"
            "--keep: the first outing only, with its truth and the answers, is left there\n");
    world_list(stderr);
    return 2;
}

int main(int argc, char **argv) {
    struct options options = {.asking.program = PROGRAM};
    const char *words[3] = {NULL};
    char changes[1024] = "";
    size_t n_words = 0, jobs = 1;
    for (int i = 1; i < argc; i++) {
        const char *a = argv[i], *next = i + 1 < argc ? argv[i + 1] : NULL;
        if (!strcmp(a, "--self-test")) {
            bool nature = nature_check(), worlds = world_check();
            return !(nature && worlds);
        }
        if (!strcmp(a, "-v"))
            options.verbose = true;
        else if (!strcmp(a, "--label-found"))
            options.asking.label_found = true;
        else if (!strcmp(a, "--runs-only"))
            options.asking.runs_only = true;
        else if (!strcmp(a, "--check"))
            options.check = true;
        else if (!strcmp(a, "--jobs") && next)
            jobs = strtoul(argv[++i], NULL, 10);
        else if (!strcmp(a, "--program") && next)
            options.asking.program = argv[++i];
        else if (!strcmp(a, "--keep") && next)
            options.keep = argv[++i];
        else if (a[0] == '-')
            return usage();
        else if (strchr(a, '=') && strlen(changes) + strlen(a) + 2 < sizeof changes)
            strcat(strcat(changes, *changes ? " " : ""), a);
        else if (n_words < 3)
            words[n_words++] = a;
        else
            return usage();
    }
    if (n_words < 2) return usage();
    size_t n = strtoul(words[1], NULL, 10);
    uint64_t first = words[2] ? strtoull(words[2], NULL, 10) : 1;
    options.asking.with_truth = options.keep != NULL;
    if (options.keep) n = 1;
    if (!n || !jobs) return usage();
    bool sound = true, every = !strcmp(words[0], "all");
    const char *name = words[0];
    for (size_t i = 0; (name = every ? world_name(i) : words[0]); i++) {
        struct world world;
        char wrong[64];
        if (!world_named(name, &world)) {
            fprintf(stderr, "study_world: no world is called '%s'\n", name);
            return 2;
        }
        if (!world_set(&world, changes, wrong)) {
            fprintf(stderr, "study_world: '%s' is not understood\n", wrong);
            return 2;
        }
        sound &= study(&options, &world, changes, n, first, jobs);
        if (!every) break;
    }
    return !sound;
}
