/* How good the command line's answers are on outings of another make than the library's own
 * (world.h): each is written as files, the program is run on them, and what it says is held against
 * what is true. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "nature_check.h"
#include "tally.h"
#include "world.h"
#include "world_check.h"

#ifndef PROGRAM
#define PROGRAM "coastwise"
#endif

/* An answer that takes longer is none. */
#define PATIENCE_S 300u

struct options {
    const char *program;
    bool verbose, label_found, runs_only, check;
    const char *keep;
};

/* What came of an outing. No pointers: it goes through a pipe in one piece. */
struct answer {
    uint64_t seed;
    bool right; /* runs found: as many as there were, from when to when they were */
    size_t found, made, matched;
    double start_off_s, end_off_s; /* sums over the matched: how much later than true */
    bool answered;                 /* by compare, with a difference */
    bool fitted;                   /* by fit too */
    char why[160];                 /* not answered */
    double truth_percent, true_time_s;
    struct cw_estimate percent, time_s, level[2], crr[2];
    double true_level[2], true_crr[2];
    int verdict;                                   /* -1 lower, 1 higher, 0 undecided */
    struct tally alone, alone_crr, together, wind; /* over its runs */
    double true_runout_m;
    struct cw_estimate runout_m; /* difference of the places where runs stood still */
    size_t fit_runs, identifiable;
    double took_s;
};
_Static_assert(sizeof(struct answer) <= 2048, "an answer must go through a pipe in one piece");

/* Reading answers. */

static double number(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static struct cw_estimate estimate(const json_t *object, const char *key) {
    const json_t *e = json_object_get(object, key);
    struct cw_estimate estimate = {number(e, "value"), number(e, "standard_error"),
                                   number(e, "low"), number(e, "high"), 0};
    return estimate;
}

static bool known(const struct cw_estimate *e) {
    return isfinite(e->value) && isfinite(e->low) && isfinite(e->high);
}

static const char *text(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    return value ? value : "";
}

/* Days since 1970 of a date in the Gregorian calendar (Fliegel and Van Flandern 1968, Commun. ACM
 * 11:657, for the Julian day number, less that of 1970-01-01). */
static long days(long y, long m, long d) {
    return d - 32075 + 1461 * (y + 4800 + (m - 14) / 12) / 4 +
           367 * (m - 2 - (m - 14) / 12 * 12) / 12 - 3 * ((y + 4900 + (m - 14) / 12) / 100) / 4 -
           2440588;
}

static double unix_time(const char *iso) {
    int y, month, d, h, min;
    double s;
    if (sscanf(iso, "%d-%d-%dT%d:%d:%lfZ", &y, &month, &d, &h, &min, &s) != 6) return NAN;
    return (double)days(y, month, d) * 86400 + h * 3600 + min * 60 + s;
}

/* Running the program. */

static char *joined(const char *directory, const char *name) {
    size_t n = strlen(directory) + strlen(name) + 2;
    char *path = malloc(n);
    if (path) snprintf(path, n, "%s/%s", directory, name);
    return path;
}

static bool redirect(const char *directory, const char *name, int to) {
    char *path = joined(directory, name);
    int fd = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
    free(path);
    return fd >= 0 && dup2(fd, to) >= 0;
}

/* The program's exit status; -1 when it was killed or could not be run. What it wrote is in
 * COMMAND.json and COMMAND.err. */
static int run(const struct options *options, const char *command, const char *directory) {
    char out[32], err[32];
    snprintf(out, sizeof out, "%s.json", command);
    snprintf(err, sizeof err, "%s.err", command);
    char *outing = joined(directory, "outing.ini");
    pid_t child = outing ? fork() : -1;
    if (child == 0) {
        alarm(PATIENCE_S);
        if (!redirect(directory, out, STDOUT_FILENO) || !redirect(directory, err, STDERR_FILENO))
            _exit(126);
        execlp(options->program, options->program, command, "--json", outing, (char *)NULL);
        fprintf(stderr, "%s: %s\n", options->program, strerror(errno));
        _exit(127);
    }
    free(outing);
    int status;
    while (child > 0 && waitpid(child, &status, 0) < 0)
        if (errno != EINTR) return -1;
    return child > 0 && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static json_t *answer_of(const char *command, const char *directory) {
    char name[32];
    snprintf(name, sizeof name, "%s.json", command);
    char *path = joined(directory, name);
    json_t *json = path ? json_load_file(path, 0, NULL) : NULL;
    free(path);
    return json;
}

/* What it complained of first, without the file's name and with # for every number, so that the
 * same complaint reads the same. */
static void complaint(const char *command, int status, const char *directory, char why[160]) {
    static const char own[] = "coastwise: ";
    char name[32], line[1024] = "", first[1024] = "";
    snprintf(name, sizeof name, "%s.err", command);
    char *path = joined(directory, name);
    FILE *f = path ? fopen(path, "r") : NULL;
    free(path);
    while (f && fgets(line, sizeof line, f)) {
        bool message = !strncmp(line, own, strlen(own));
        if (!*first || message) memcpy(first, line, sizeof first);
        if (message) break; /* rather than the tables that may stand around it */
    }
    if (f) fclose(f);
    first[strcspn(first, "\n")] = 0;
    const char *from = strstr(first, directory);
    from = from ? strstr(from, ": ") : NULL;
    from = from ? from + 2 : first;
    size_t n = (size_t)snprintf(why, 160, "%s (%d): ", command, status);
    for (bool in_number = false; *from && n < 158; from++) {
        bool digit = *from >= '0' && *from <= '9';
        if (!digit)
            why[n++] = *from;
        else if (!in_number)
            why[n++] = '#';
        in_number = digit;
    }
    why[n] = 0;
}

/* The runs found. */

struct found_run {
    double start_s, end_s;
    size_t trace;
    long number, road;
};

struct found {
    size_t n;
    struct found_run at[4 * WORLD_RUNS_MAX];
};

/* The trace that a file is of. */
static size_t trace_of(const struct world_outing *o, const char *file) {
    const char *base = strrchr(file, '/');
    base = base ? base + 1 : file;
    for (size_t i = 0; i < o->n_traces; i++) {
        char name[32];
        world_recording_name(o, i, name);
        if (!strcmp(base, name)) return i;
    }
    return 0;
}

/* From when to when a run was, by the true time. */
static struct found_run found_run(const struct world_outing *o, const json_t *run) {
    struct found_run f = {.trace = trace_of(o, text(run, "recording"))};
    f.start_s = unix_time(text(run, "start")) - o->trace[f.trace].clock_s;
    f.end_s = f.start_s + number(run, "duration_s");
    f.number = (long)number(run, "number");
    f.road = (long)fmax(number(run, "road"), 0);
    return f;
}

static void read_found(const json_t *json, const struct world_outing *o, struct found *found) {
    size_t i;
    json_t *run;
    found->n = 0;
    json_array_foreach(json_object_get(json, "runs"), i, run) {
        if (!json_is_true(json_object_get(run, "kept")) || found->n == 4 * WORLD_RUNS_MAX) continue;
        found->at[found->n++] = found_run(o, run);
    }
}

/* The run that a found one is of: the one it shares most time with; -1 if none. */
static int truth_of(const struct world_outing *o, const struct found_run *f) {
    int best = -1;
    double most = 0;
    for (size_t i = 0; i < o->n_runs; i++) {
        if (o->run[i].trace != f->trace) continue;
        double shared = fmin(f->end_s, o->run[i].end_s) - fmax(f->start_s, o->run[i].start_s);
        if (shared > most) {
            most = shared;
            best = (int)i;
        }
    }
    return best;
}

/* Off by more is not the run. Where samples lie further apart, an end may be a sample further in.
 */
#define ALLOWED_S 3.0

static bool ends_right(const struct world_outing *o, const struct found_run *f,
                       const struct world_run *run) {
    double apart = o->world.interval_s.high;
    double in = ALLOWED_S + (apart > 1 ? apart : 0);
    /* Rolling out at less than 2 m/s may be left off. */
    return f->start_s > run->start_s - ALLOWED_S && f->start_s < run->start_s + in &&
           f->end_s < run->end_s + ALLOWED_S && f->end_s > run->rolls_s - in;
}

/* A companion's run in the rider's wake may be kept or not. */
#define IN_WAKE_S 1.0

static void judge_found(const struct world_outing *o, const struct found *found, struct answer *a) {
    bool seen[2 * WORLD_RUNS_MAX] = {false};
    a->right = true;
    for (size_t i = 0; i < o->n_runs; i++) a->made += o->run[i].wake_s < IN_WAKE_S;
    for (size_t i = 0; i < found->n; i++) {
        const struct found_run *f = &found->at[i];
        int of = truth_of(o, f);
        bool counts = of < 0 || o->run[of].wake_s < IN_WAKE_S;
        a->found += counts;
        if (counts) a->right &= of >= 0 && !seen[of] && ends_right(o, f, &o->run[of]);
        if (of < 0) continue;
        seen[of] = true;
        a->matched++;
        a->start_off_s += f->start_s - o->run[of].start_s;
        a->end_off_s += f->end_s - o->run[of].end_s;
    }
    a->right &= a->found == a->made;
}

/* The rider's runs that were found, and the numbers of what is none. */
static size_t label_found(const struct world_outing *o, const struct found *found, size_t *runs,
                          char *skip, size_t size) {
    size_t n = 0, k = 0;
    skip[0] = 0;
    for (size_t i = 0; i < found->n; i++) {
        int of = truth_of(o, &found->at[i]);
        if (of >= 0 && (size_t)of < o->n_own)
            runs[n++] = (size_t)of;
        else if (of < 0 && k < size)
            k += (size_t)snprintf(skip + k, size - k, "%s%ld", k ? " " : "", found->at[i].number);
    }
    return n;
}

/* What is true of the time over the road, as compare means it: from the runs' mean start and entry
 * speed to where, on the mean, they still roll at 3 m/s, on the road that most runs share. */
static double true_time(const struct world_outing *o, const struct found *found) {
    double from = 0, to = 0, entry = 0;
    size_t n = 0;
    int way = 0;
    for (size_t i = 0; i < found->n; i++) {
        const struct found_run *f = &found->at[i];
        int of = truth_of(o, f);
        if (of < 0 || (size_t)of >= o->n_own || f->road > 1) continue;
        if (way && o->run[of].way != way) return NAN; /* both ways as one road: not defined */
        way = o->run[of].way;
        struct world_moment start = world_at(o, (size_t)of, f->start_s), end;
        double end_s = f->end_s;
        while ((end = world_at(o, (size_t)of, end_s)).speed_ms < 3 && end_s > f->start_s)
            end_s -= 1.0 / WORLD_TRACE_PER_S;
        from += start.s_m;
        entry += start.speed_ms;
        to += end.s_m;
        n++;
    }
    if (!n) return NAN;
    double k = (double)n;
    return world_time_s(o, 1, way, from / k, to / k, entry / k) -
           world_time_s(o, 0, way, from / k, to / k, entry / k);
}

static void add(struct tally *tally, const struct cw_estimate *e, double truth, double scale) {
    if (known(e) && isfinite(truth))
        tally_add(tally, (e->value - truth) / scale, e->standard_error / scale,
                  tally_inside(e, truth));
}

static void read_fit(const json_t *json, const struct world_outing *o, struct answer *a) {
    const json_t *outing = json_array_get(json_object_get(json, "outings"), 0);
    size_t i;
    json_t *run;
    json_array_foreach(json_object_get(outing, "runs"), i, run) {
        a->fit_runs++;
        struct found_run f = found_run(o, run);
        int of = truth_of(o, &f);
        if (of < 0) continue;
        double cda = o->run[of].cda_m2;
        const json_t *alone = json_object_get(run, "alone");
        struct cw_estimate e = estimate(alone, "cda_m2");
        if (json_is_true(json_object_get(alone, "identifiable")) && known(&e)) {
            a->identifiable++;
            add(&a->alone, &e, cda, cda);
            e = estimate(alone, "crr");
            add(&a->alone_crr, &e, o->run[of].crr, 1);
        }
        e = estimate(json_object_get(run, "together"), "cda_m2");
        add(&a->together, &e, cda, cda);
    }
    const json_t *crr = json_object_get(outing, "crr");
    a->crr[0] = estimate(crr, o->world.tyres ? "narrow" : "all");
    a->crr[1] = estimate(crr, o->world.tyres ? "wide" : "");
}

/* The wind of the runs, where it says them. */
static void read_winds(const json_t *json, const struct world_outing *o, const struct found *found,
                       struct answer *a) {
    size_t i;
    json_t *run;
    json_array_foreach(json_object_get(json, "runs"), i, run) {
        struct cw_estimate e = estimate(run, "wind_along_ms");
        for (size_t k = 0; k < found->n && known(&e); k++) {
            int of = truth_of(o, &found->at[k]);
            if (found->at[k].number != (long)number(run, "number") || of < 0) continue;
            add(&a->wind, &e, o->run[0].way * o->run[of].way * o->run[of].wind_ms, 1);
        }
    }
}

/* The comparison of b; NULL if there is none. */
static const json_t *comparison(const json_t *of) {
    size_t i;
    json_t *c;
    json_array_foreach(json_object_get(of, "comparisons"), i,
                       c) if (!strcmp(text(c, "setup"), "b")) return c;
    return NULL;
}

static double true_runout_m(const struct world_outing *o) {
    double sum[2] = {0, 0}, n[2] = {0, 0};
    for (size_t i = 0; i < o->n_own; i++) {
        sum[o->run[i].setup] += o->run[i].way * world_at(o, i, o->run[i].end_s).s_m;
        n[o->run[i].setup]++;
    }
    return sum[1] / n[1] - sum[0] / n[0];
}

static void read_compare(const json_t *json, const struct world_outing *o,
                         const struct found *found, struct answer *a) {
    size_t i;
    json_t *setup;
    json_array_foreach(json_object_get(json, "setups"), i, setup) {
        const char *name = text(setup, "name");
        if (!strcmp(name, "a") || !strcmp(name, "b"))
            a->level[name[0] - 'a'] = estimate(setup, "cda_m2");
    }
    read_winds(json, o, found, a);
    const json_t *measured = json_array_get(json_object_get(json, "as_measured"), 0);
    a->runout_m = estimate(json_object_get(comparison(measured), "runout_m"), "difference");
    a->true_runout_m = true_runout_m(o);
    const json_t *c = comparison(json);
    a->percent = estimate(c, "percent");
    a->time_s = estimate(c, "time_over_road_s");
    const char *verdict = text(c, "verdict");
    a->verdict = !strcmp(verdict, "lower") ? -1 : !strcmp(verdict, "higher");
    a->truth_percent = 100 * (o->cda_m2[1] / o->cda_m2[0] - 1);
    a->answered = known(&a->percent);
    if (!a->answered) snprintf(a->why, sizeof a->why, "compare: no difference in its answer");
}

static void ask(const struct options *options, const struct world_outing *o, const char *directory,
                struct answer *a) {
    static struct found found;
    size_t runs[4 * WORLD_RUNS_MAX];
    for (size_t i = 0; i < o->n_own; i++) runs[i] = i;
    if (!world_write_recordings(o, directory) ||
        !world_write_outing(o, directory, runs, o->n_own, NULL)) {
        snprintf(a->why, sizeof a->why, "the files could not be written");
        return;
    }
    run(options, "runs", directory); /* whether it likes the order or not, it tells the runs */
    json_t *json = answer_of("runs", directory);
    read_found(json, o, &found);
    json_decref(json);
    judge_found(o, &found, a);
    if (options->runs_only) {
        snprintf(a->why, sizeof a->why, "only runs were asked for");
        return;
    }
    if (options->label_found) {
        char skip[1024];
        size_t n = label_found(o, &found, runs, skip, sizeof skip);
        if (!n || !world_write_outing(o, directory, runs, n, skip)) {
            snprintf(a->why, sizeof a->why, "no run that was one is found");
            return;
        }
    }
    int status = run(options, "compare", directory);
    if (status != 0) {
        complaint("compare", status, directory, a->why);
        return;
    }
    json = answer_of("compare", directory);
    read_compare(json, o, &found, a);
    json_decref(json);
    if (!a->answered) return;
    a->true_time_s = true_time(o, &found);
    a->fitted = run(options, "fit", directory) == 0;
    if (!a->fitted) return;
    json = answer_of("fit", directory);
    read_fit(json, o, a);
    json_decref(json);
}

static void empty(const char *directory) {
    DIR *d = opendir(directory);
    struct dirent *entry;
    while (d && (entry = readdir(d))) {
        if (entry->d_name[0] == '.') continue;
        char *path = joined(directory, entry->d_name);
        if (path) unlink(path);
        free(path);
    }
    if (d) closedir(d);
    rmdir(directory);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static struct answer answer_make(const struct options *options, const struct world *world,
                                 uint64_t seed, const char *directory) {
    struct world_outing o;
    struct answer a = {.seed = seed, .true_time_s = NAN};
    a.level[0] = a.level[1] = a.crr[0] = a.crr[1] = a.time_s = a.percent = a.runout_m =
        (struct cw_estimate){NAN, NAN, NAN, NAN, 0};
    double begin = now();
    if (world_ride(world, seed, &o)) {
        for (int b = 0; b < 2; b++) {
            a.true_level[b] = o.cda_m2[b];
            a.true_crr[b] = o.crr[b];
        }
        ask(options, &o, directory, &a);
        if (options->keep) world_write_truth(&o, directory);
    } else {
        snprintf(a.why, sizeof a.why, "the outing could not be ridden");
    }
    world_outing_free(&o);
    a.took_s = now() - begin;
    return a;
}

/* Many outings at a time: a child for each, that sends its answer through a pipe. */

static void one(const struct options *options, const struct world *world, uint64_t seed,
                const char *top, int to) {
    char *directory;
    if (options->keep) {
        directory = joined(options->keep, "");
        mkdir(directory, 0777);
    } else {
        char name[32];
        snprintf(name, sizeof name, "%llu", (unsigned long long)seed);
        directory = joined(top, name);
        if (!directory || mkdir(directory, 0777) < 0) _exit(1);
    }
    struct answer answer = answer_make(options, world, seed, directory);
    if (!options->keep) empty(directory);
    free(directory);
    _exit(write(to, &answer, sizeof answer) != (ssize_t)sizeof answer);
}

static bool all(const struct options *options, const struct world *world, size_t n, uint64_t first,
                size_t jobs, struct answer *answers) {
    const char *temporary = getenv("TMPDIR");
    char *top = joined(temporary ? temporary : "/tmp", "study_world.XXXXXX");
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
    size_t verdicts_false, verdicts_right;
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
    add(&r->difference, &a->percent, a->truth_percent, 1);
    add(&r->time, &a->time_s, a->true_time_s, 1);
    add(&r->runout, &a->runout_m, a->true_runout_m, 1);
    add_all(&r->wind, &a->wind);
    for (int b = 0; b < 2; b++) {
        add(&r->level, &a->level[b], a->true_level[b], a->true_level[b]);
        add(&r->crr, &a->crr[b], a->true_crr[b], 1);
    }
    add_all(&r->alone, &a->alone);
    add_all(&r->alone_crr, &a->alone_crr);
    add_all(&r->together, &a->together);
    r->runs += a->fit_runs;
    r->identifiable += a->identifiable;
    r->verdicts_false += a->verdict && !(a->verdict * a->truth_percent > 0);
    r->verdicts_right += a->verdict && a->verdict * a->truth_percent > 0;
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
    if (!options->runs_only)
        printf("  answered %zu of %zu; %.1f s an outing\n", r.answered, r.outings,
               r.seconds / (double)n);
    printf("  runs found right in %zu, another number in %zu, ends off in %zu", r.right,
           r.miscounted, r.off);
    if (r.matched)
        printf("; on the mean they start %+.1f s and end %+.1f s from where they do",
               r.start_off_s / (double)r.matched, r.end_off_s / (double)r.matched);
    printf("\n");
    if (!options->runs_only) print_whys(answers, n);
    if (r.answered) {
        qsort(r.half_widths, r.answered, sizeof *r.half_widths, by_size);
        print_tally("difference, %", &r.difference, 1);
        printf("    half width %.2f (%.2f to %.2f in 90 of 100); verdicts %zu false, %zu right\n",
               quantile(r.half_widths, r.answered, 0.5), quantile(r.half_widths, r.answered, 0.05),
               quantile(r.half_widths, r.answered, 0.95), r.verdicts_false, r.verdicts_right);
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
    fine = options->runs_only || judge(&r) || !options->check;
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
    struct options options = {.program = PROGRAM};
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
            options.label_found = true;
        else if (!strcmp(a, "--runs-only"))
            options.runs_only = true;
        else if (!strcmp(a, "--check"))
            options.check = true;
        else if (!strcmp(a, "--jobs") && next)
            jobs = strtoul(argv[++i], NULL, 10);
        else if (!strcmp(a, "--program") && next)
            options.program = argv[++i];
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
