#include "report/winds.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/path.h"
#include "fit/between.h"
#include "outing/air_log.h"
#include "report/compare_facts.h"
#include "report/fit_facts.h"

static bool is_used(const struct cw_winds *winds, enum cw_wind_seen who) {
    return winds->seen[who].use == CW_WIND_USED;
}

static double half_percent(const struct cw_comparison *comparison) {
    return 0.5 * (comparison->percent.high - comparison->percent.low);
}

/* ---- who saw them ---- */

/* Of more files than so many only the number is said. */
enum { NAMED_MOST = 3 };

/* Adds a list's item i of n. */
static void add_item(struct cw_text *text, size_t i, size_t n, const char *item) {
    cw_text_add(text, "%s%s", i == 0 ? "" : i + 1 < n ? ", " : " and ", item);
}

static bool by_companion(const struct cw_analysed *of, size_t recording) {
    return cw_outing_rider_of(&of->outing, recording) && cw_recording_fitted(of, recording);
}

/* "log.csv", "log.csv and later.csv", "5 air logs". */
static void add_logs(const struct cw_analysis *analysis, struct cw_text *text) {
    size_t n = 0, i = 0;
    for (size_t o = 0; o < analysis->n; o++) n += analysis->outings[o].log_covers > 0;
    if (n > NAMED_MOST) cw_text_add(text, "%zu air logs", n);
    for (size_t o = 0; o < analysis->n && n <= NAMED_MOST; o++)
        if (analysis->outings[o].log_covers > 0)
            add_item(text, i++, n, cw_path_name(analysis->outings[o].log->file));
}

/* "friend.gpx", "5 recordings". */
static void add_companions(const struct cw_analysis *analysis, struct cw_text *text) {
    size_t n = 0, i = 0;
    for (size_t o = 0; o < analysis->n; o++)
        for (size_t r = 0; r < analysis->outings[o].n_recordings; r++)
            n += by_companion(&analysis->outings[o], r);
    if (n > NAMED_MOST) cw_text_add(text, "%zu recordings", n);
    for (size_t o = 0; o < analysis->n && n <= NAMED_MOST; o++)
        for (size_t r = 0; r < analysis->outings[o].n_recordings; r++)
            if (by_companion(&analysis->outings[o], r))
                add_item(text, i++, n, cw_path_name(analysis->outings[o].recordings[r].file));
}

static void add_known_by(const struct cw_analysis *analysis, struct cw_text *text) {
    const struct cw_winds *winds = &analysis->compare.wind;
    bool noted = is_used(winds, CW_WIND_NOTED), logged = is_used(winds, CW_WIND_LOGGED);
    size_t companion = winds->n_companion_runs, n = 0, i = 0;
    n += noted;
    n += logged;
    n += companion > 0;
    if (noted) add_item(text, i++, n, "the notes");
    if (logged) {
        add_item(text, i++, n, "");
        add_logs(analysis, text);
    }
    if (companion) {
        add_item(text, i, n, "");
        add_companions(analysis, text);
        size_t riders = 0;
        for (size_t o = 0; o < analysis->n; o++) riders += analysis->outings[o].outing.n_companions;
        cw_text_add(text, " (%zu %s of %s)", companion, companion == 1 ? "run" : "runs",
                    riders == 1 ? "a companion" : "companions");
    }
}

static void add_pair(const struct cw_compare *compare, struct cw_text *text) {
    const struct cw_comparison *first = &compare->comparisons[0];
    cw_text_add(text, "%s against %s", compare->setups[first->setup].name,
                compare->setups[first->reference].name);
}

static void add_half(struct cw_text *text, double percent) {
    cw_text_add(text, "± %.*f %%", percent < 9.95 ? 1 : 0, percent);
}

void cw_winds_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_compare *compare = cw_analysis_compared(analysis);
    struct cw_text text = {0};
    if (!compare || !cw_winds_known(&compare->wind)) return;
    const struct cw_winds *winds = &compare->wind;
    cw_text_add(&text,
                "wind along the road %.1f to %.1f km/h, known from run to run to ± %.1f km/h by ",
                winds->low_ms * CW_KMH_PER_MS, winds->high_ms * CW_KMH_PER_MS,
                winds->known_ms * CW_KMH_PER_MS);
    add_known_by(analysis, &text);
    if (compare->n_comparisons && isfinite(winds->half_percent_without)) {
        cw_text_add(&text, ": ");
        add_pair(compare, &text);
        cw_text_add(&text, " is sure to ");
        add_half(&text, half_percent(&compare->comparisons[0]));
        cw_text_add(&text, " by that, where without it would be to ");
        add_half(&text, winds->half_percent_without);
    }
    cw_sentences_take(sentences, &text);
}

/* ---- what they saw ---- */

/* "the notes", "log.csv". */
static void add_who(const struct cw_analysis *analysis, enum cw_wind_seen who,
                    struct cw_text *text) {
    if (who == CW_WIND_NOTED)
        cw_text_add(text, "the notes of the wind");
    else
        add_logs(analysis, text);
}

/* Of the first outing that has notes. */
static double stated_ms(const struct cw_analysis *analysis) {
    for (size_t o = 0; o < analysis->n; o++)
        if (analysis->outings[o].outing.wind_ms.n)
            return analysis->outings[o].outing.wind_ms.uncertainty;
    return NAN;
}

/* Errors that are larger than stated by this much are worth a word. */
static const double much_larger = 2;

void cw_winds_seen_said(const struct cw_analysis *analysis, struct cw_sentences *sentences) {
    const struct cw_winds *winds = &analysis->compare.wind;
    for (int k = 0; k < CW_WIND_SEEN; k++) {
        enum cw_wind_seen who = (enum cw_wind_seen)k;
        const struct cw_winds_seen *seen = &winds->seen[who];
        struct cw_text factor = {0}, errors = {0};
        if (!is_used(winds, who)) continue;
        if (seen->factor.low > 1 || seen->factor.high < 1) {
            add_who(analysis, who, &factor);
            cw_text_add(&factor,
                        " saw %.2f (95 %%: %.2f to %.2f) of the wind on the road, which is "
                        "accounted for",
                        seen->factor.median, seen->factor.low, seen->factor.high);
            cw_sentences_take(sentences, &factor);
        }
        if (!(seen->error_factor.median > much_larger)) continue;
        add_who(analysis, who, &errors);
        bool noted = who == CW_WIND_NOTED;
        double scale = CW_KMH_PER_MS * (noted ? stated_ms(analysis) : cw_wind_log_sd_ms);
        cw_text_add(&errors,
                    " %s off by %.1f km/h (95 %%: %.1f to %.1f km/h), where ± %.1f km/h %s",
                    noted ? "are each" : "is, over a run,", scale * seen->error_factor.median,
                    scale * seen->error_factor.low, scale * seen->error_factor.high, scale,
                    noted ? "was stated" : "is taken for a sensor");
        cw_sentences_take(sentences, &errors);
    }
}

/* ---- what is not used ---- */

static double seen_ms(const struct cw_run_among *run, enum cw_wind_seen who) {
    return who == CW_WIND_NOTED ? run->wind_noted_ms : run->wind_logged_ms;
}

static void add_beside(struct cw_text *text, double off_ms) {
    cw_text_add(text, "%.1f km/h %s the others", fabs(off_ms) * CW_KMH_PER_MS,
                off_ms < 0 ? "below" : "above");
}

/* The run whose wind was seen the most wrong way round, beside the mean of its outing's. */
static void add_most_against(const struct cw_analysis *analysis, enum cw_wind_seen who,
                             struct cw_text *text) {
    const struct cw_compare *compare = &analysis->compare;
    const struct cw_run_among *most = NULL;
    double worst = 0, off_seen = 0, off_found = 0;
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        double n = 0, seen = 0, found = 0;
        if (isnan(seen_ms(run, who))) continue;
        for (size_t j = 0; j < compare->n_runs; j++) {
            const struct cw_run_among *other = &compare->runs[j];
            if (other == run || other->outing != run->outing || isnan(seen_ms(other, who)))
                continue;
            seen += seen_ms(other, who);
            found += other->wind_along_ms.value;
            n++;
        }
        if (!(n > 0)) continue;
        seen = seen_ms(run, who) - seen / n;
        found = run->wind_along_ms.value - found / n;
        if (!(seen * found < worst)) continue;
        worst = seen * found;
        most = run;
        off_seen = seen;
        off_found = found;
    }
    if (!most) return;
    cw_text_add(text, " (run %ld was seen ", cw_among_number(analysis, most));
    add_beside(text, off_seen);
    cw_text_add(text, ", and its drag says ");
    add_beside(text, off_found);
    cw_text_add(text, ")");
}

static void doubt_seen(const struct cw_analysis *analysis, enum cw_wind_seen who,
                       struct cw_sentences *warnings) {
    struct cw_text text = {0};
    bool noted = who == CW_WIND_NOTED;
    switch (analysis->compare.wind.seen[who].use) {
    case CW_WIND_AGAINST:
        cw_text_add(&text, "the wind of ");
        if (noted)
            cw_text_add(&text, "the notes");
        else
            add_logs(analysis, &text);
        cw_text_add(&text, " goes against what the runs show");
        add_most_against(analysis, who, &text);
        cw_text_add(&text, ": is + a headwind%s? It is not used",
                    noted ? "" : ", and the direction where it comes from");
        break;
    case CW_WIND_UNRELATED:
        add_who(analysis, who, &text);
        cw_text_add(&text, " %s nothing of the winds that the runs had, and %s not used",
                    noted ? "tell" : "tells", noted ? "are" : "is");
        break;
    case CW_WIND_USED:
    case CW_WIND_UNSEEN:
        return;
    }
    cw_sentences_take(warnings, &text);
}

/* ---- what would have helped ---- */

/* Runs of one setup agree to within some 0.05 m/s of wind in light air and in gusts, and not in air
 * whose mean differs between runs by 0.3 to 0.7 m/s (study_world: found 0.25 to 0.49 m/s). */
static const double much_between_ms = 0.15;
/* Help that leaves more than this part of an interval is not worth the errand. */
static const double much_better = 0.7;

static void add_help(const struct cw_compare *compare, struct cw_text *text) {
    double half = half_percent(&compare->comparisons[0]);
    const struct {
        const char *who;
        double percent;
    } help[] = {{"a sensor beside the road", compare->wind.half_percent_with_sensor},
                {"a companion who coasts along", compare->wind.half_percent_with_companion}};
    size_t said = 0;
    for (size_t i = 0; i < sizeof help / sizeof *help; i++) {
        if (!(help[i].percent < much_better * half)) continue;
        if (said++) {
            cw_text_add(text, ", with %s to ", help[i].who);
        } else {
            cw_text_add(text, ". With %s ", help[i].who);
            add_pair(compare, text);
            cw_text_add(text, " would have been sure to about ");
        }
        add_half(text, help[i].percent);
    }
    if (!said) return;
    cw_text_add(text, ", in place of ");
    add_half(text, half);
}

void cw_winds_doubt_unknown(const struct cw_compare *compare, struct cw_sentences *warnings) {
    const struct cw_winds *winds = &compare->wind;
    bool known = cw_winds_known(winds);
    double left_ms = known ? winds->known_ms : compare->wind_sd_ms;
    struct cw_text text = {0};
    if (!(compare->wind_sd_ms > much_between_ms && left_ms > much_between_ms)) return;
    cw_text_add(&text, "a windy outing: the wind differs by some %.1f km/h from run to run",
                compare->wind_sd_ms * CW_KMH_PER_MS);
    if (known) cw_text_add(&text, " and is known to ± %.1f km/h", left_ms * CW_KMH_PER_MS);
    if (isfinite(compare->wind_percent_per_ms))
        cw_text_add(&text, ", which is worth %.0f %% of a run's CdA",
                    fabs(compare->wind_percent_per_ms) * left_ms);
    cw_text_add(&text,
                ": it is in the intervals, but a stiller hour tells more than many more runs");
    if (compare->n_comparisons && !known) add_help(compare, &text);
    cw_sentences_take(warnings, &text);
}

void cw_winds_doubts(const struct cw_analysis *analysis, struct cw_sentences *warnings) {
    for (int who = 0; who < CW_WIND_SEEN; who++)
        doubt_seen(analysis, (enum cw_wind_seen)who, warnings);
    cw_winds_doubt_unknown(&analysis->compare, warnings);
}

/* ---- an outing's log and clocks ---- */

/* More columns than so many are counted. */
enum { COLUMNS_MOST = 8 };

void cw_winds_defaults(const struct cw_analysed *of, struct cw_sentences *defaults) {
    const struct cw_air_log *log = of->log;
    struct cw_text text = {0};
    for (size_t r = 0; r < of->n_recordings; r++)
        if (by_companion(of, r)) {
            cw_sentences_add(defaults, "the recorders' clocks agree");
            cw_sentences_add(defaults, "gusts are each rider's own; were some of them the same for "
                                       "both, this would be surer");
            break;
        }
    if (!log || !log->n_unused) return;
    cw_text_add(&text, "%s: %s ", cw_path_name(log->file),
                log->n_unused == 1 ? "column" : "columns");
    for (size_t i = 0; i < log->n_unused && i < COLUMNS_MOST; i++)
        add_item(&text, i, log->n_unused, log->unused[i]);
    if (log->n_unused > COLUMNS_MOST)
        cw_text_add(&text, " and %zu more", log->n_unused - COLUMNS_MOST);
    cw_text_add(&text, " %s left alone", log->n_unused == 1 ? "is" : "are");
    cw_sentences_take(defaults, &text);
}

static void add_span(struct cw_text *text, double from_s, double to_s) {
    char from[40], to[40];
    cw_time_write(floor(from_s), from, sizeof from);
    cw_time_write(floor(to_s), to, sizeof to);
    cw_text_add(text, "%s to %s", from, to);
}

void cw_winds_log_warning(const struct cw_analysed *of, struct cw_sentences *warnings) {
    size_t kept = 0;
    double first_s = INFINITY, last_s = -INFINITY;
    struct cw_text text = {0};
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept) continue;
        kept++;
        first_s = fmin(first_s, run->start_s);
        last_s = fmax(last_s, run->start_s + run->duration_s);
    }
    if (!of->log || of->log_covers >= kept) return;
    cw_text_add(&text, "%s covers ", cw_path_name(of->log->file));
    if (of->log_covers) {
        cw_text_add(&text, "%zu of %zu runs; the air of the others is as the outing file has it",
                    of->log_covers, kept);
    } else if (isfinite(of->log_shift_h)) {
        cw_text_add(&text,
                    "no run: it would if its times were %g h %s; look at utc_offset in [outing], "
                    "and at summer time",
                    fabs(of->log_shift_h), of->log_shift_h < 0 ? "earlier" : "later");
    } else {
        cw_text_add(&text, "no run: it holds ");
        add_span(&text, of->log->from_s[0], of->log->to_s[of->log->n - 1]);
        cw_text_add(&text, ", and runs were ridden ");
        add_span(&text, first_s, last_s);
    }
    cw_sentences_take(warnings, &text);
}

/* ---- run by run ---- */

void cw_winds_rows(const struct cw_analysis *analysis, size_t outing, const char *plus_minus,
                   const struct cw_clock *clock, struct cw_column columns[CW_WIND_COLUMNS_MOST],
                   struct cw_table *table) {
    const struct cw_compare *compare = &analysis->compare;
    bool noted = false, logged = false, seen = false;
    for (size_t i = 0; i < compare->n_runs; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        if (run->outing != outing) continue;
        seen = seen || cw_among_seen(run);
        noted = noted || !isnan(run->wind_noted_ms);
        logged = logged || !isnan(run->wind_logged_ms);
    }
    size_t n = 0;
    columns[n++] = (struct cw_column){"run", "", true};
    columns[n++] = (struct cw_column){"setup", "", false};
    columns[n++] = (struct cw_column){"start", clock->name, false};
    columns[n++] = (struct cw_column){"wind", "m/s", true};
    columns[n++] = (struct cw_column){plus_minus, "m/s", true};
    if (noted) columns[n++] = (struct cw_column){"noted", "m/s", true};
    if (logged) columns[n++] = (struct cw_column){"logged", "m/s", true};
    *table = (struct cw_table){.columns = columns, .n_columns = n, .units = table->units};
    for (size_t i = 0; i < compare->n_runs && seen; i++) {
        const struct cw_run_among *run = &compare->runs[i];
        if (run->outing != outing) continue;
        cw_table_add(table, "%ld", cw_among_number(analysis, run));
        cw_table_add_name(table, compare->setups[run->setup].name);
        cw_table_add_clock(table, clock, run->time_s, true);
        cw_table_add_number(table, run->wind_along_ms.value, 2);
        cw_table_add_number(table, run->wind_along_ms.noise_standard_error, 2);
        if (noted) cw_table_add_number(table, run->wind_noted_ms, 2);
        if (logged) cw_table_add_number(table, run->wind_logged_ms, 2);
    }
}
