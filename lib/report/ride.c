#include "report/ride.h"

#include <math.h>
#include <string.h>

#include "analysis/ride_kind.h"
#include "base/utf8.h"
#include "report/estimates.h"
#include "report/heights.h"
#include "report/json.h"
#include "report/plain.h"

/* ---- what kind of ride ---- */

/* The one setup of a file that names none. */
static bool has_labels(const struct cw_analysed *of) {
    const struct cw_outing *outing = &of->outing;
    return of->has_file && (outing->order.n ||
                            (outing->n_setups == 1 && strcmp(outing->setups[0].name, "all") != 0));
}

/* What single coasts tell, and how poorly. */
static void add_told(const struct cw_analysed *of, const struct cw_compare *compare,
                     struct cw_text *text) {
    const struct cw_fit *fit = &of->fit;
    const struct cw_fit_run *best = NULL;
    size_t told = 0;
    for (size_t i = 0; i < fit->n_runs; i++) {
        const struct cw_fit_run *run = &fit->runs[i];
        if (!cw_coast_tells(run)) continue;
        told++;
        if (!best || run->together_cda_m2.standard_error < best->together_cda_m2.standard_error)
            best = run;
    }
    if (!told) {
        cw_text_add(text, "; %s%s", fit->n_runs == 1 ? "it tells no CdA" : "no coast tells a CdA",
                    fit->crr_given ? "" : ": give Crr in [rolling], if you know it");
    } else {
        const struct cw_estimate *cda = &best->together_cda_m2;
        int decimals = cw_error_decimals(cda->standard_error);
        if (fit->n_runs == 1)
            cw_text_add(text, "; it tells a CdA of");
        else if (told == 1)
            cw_text_add(text, "; 1 of %zu coasts tells a CdA, run %ld:", fit->n_runs,
                        of->runs.at[best->run].number);
        else
            cw_text_add(text, "; %zu of %zu coasts tell a CdA, the best of them run %ld:", told,
                        fit->n_runs, of->runs.at[best->run].number);
        cw_text_add(text, " %.*f m² (95 %%: %.*f to %.*f m²)", decimals, cda->value, decimals,
                    cda->low, decimals, cda->high);
    }
    if (fit->n_runs < 2 || !compare || compare->n_told != 1) return;
    const struct cw_setup_result *setup = &compare->setups[0];
    int decimals = cw_error_decimals(setup->cda_m2.standard_error);
    if (cw_level_is_told(setup))
        cw_text_add(text, "; were all of one setup, they would tell %.*f m² (%.*f to %.*f m²)",
                    decimals, setup->cda_m2.value, decimals, setup->cda_m2.low, decimals,
                    setup->cda_m2.high);
}

void cw_ride_add(const struct cw_analysed *of, const struct cw_compare *compare,
                 struct cw_text *text) {
    struct cw_ride_kind ride = cw_ride_kind_of(of);
    if (has_labels(of)) return;
    if (!ride.kept) {
        if (!of->runs.n && !of->runs.n_slight) return; /* that is said as a fault */
        cw_text_add(text, "no coast here tells CdA or Crr: coast further, from more speed, without "
                          "pedalling or braking, again and again over the same road");
    } else if (!ride.tests) {
        if (ride.kept == 1)
            cw_text_add(text, "an ordinary ride, no test: it has one coast that can be used");
        else if (!ride.repeated)
            cw_text_add(text,
                        "an ordinary ride, no test: no road was coasted twice the same way, so "
                        "there is nothing to compare setups by");
        else
            cw_text_add(text,
                        "an ordinary ride, hardly a test: of its %zu coasts only %zu are on one "
                        "road",
                        ride.kept, ride.on_road);
        if (of->fitted)
            add_told(of, compare, text);
        else
            cw_text_add(text,
                        "; for a test, coast one road again and again, changing one thing, in "
                        "turns (ABBA)");
    } else {
        cw_text_add(text, "one road was coasted ");
        if (ride.on_road == 2)
            cw_text_add(text, "twice");
        else
            cw_text_add(text, "%zu times", ride.on_road);
        if (ride.back) cw_text_add(text, ", %zu of them the other way", ride.back);
        cw_text_add(text, ", but the setup of each run is not known: what to type follows below");
    }
}

json_t *cw_ride_json(const struct cw_analysed *of, const struct cw_compare *compare, bool *failed) {
    struct cw_text text = {0};
    cw_ride_add(of, compare, &text);
    json_t *value = text.bytes && !text.failed ? cw_json_string(text.bytes) : json_null();
    if (text.failed) *failed = true;
    cw_text_free(&text);
    return value;
}

/* ---- what to type ---- */

/* Whether the recording has runs, or runs on the repeated road; the outing has no need of others.
 */
static bool is_used(const struct cw_analysed *of, size_t recording, bool on_road) {
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (run->kept && run->recording == recording && (!on_road || run->road == CW_ROAD_MAIN))
            return true;
    }
    return false;
}

/* One more word of a command, which a backslash takes over the end of a line. */
static void add_word(struct cw_text *out, size_t *column, const struct cw_look *look,
                     const char *word, bool is_file) {
    struct cw_text quoted = {0}, shown = {0};
    if (is_file && *word == '-' && word[1]) cw_text_add(&quoted, "./"); /* no option */
    cw_text_add_word(&quoted, word);
    cw_plain_add(&shown, quoted.bytes ? quoted.bytes : "");
    size_t width = shown.bytes ? cw_utf8_width(shown.bytes) : 0;
    if (*column + 1 + width + 2 > look->columns) {
        cw_text_add(out, " \\\n   ");
        *column = 3;
    }
    cw_text_add(out, " %s", shown.bytes ? shown.bytes : "");
    *column += 1 + width;
    if (quoted.failed || shown.failed) out->failed = true;
    cw_text_free(&quoted);
    cw_text_free(&shown);
}

static void add_begin(const struct cw_analysed *of, bool on_road, const struct cw_look *look,
                      struct cw_text *out) {
    static const char words[] = "  coastwise start";
    size_t column = strlen(words);
    cw_text_add(out, "%s", words);
    for (size_t r = 0; r < of->n_recordings; r++)
        if (is_used(of, r, on_road)) add_word(out, &column, look, of->recordings[r].file, true);
    cw_text_add(out, "\n");
}

/* Recordings with as many runs as setups are compared by, within a day. */
enum { RUNS_OF_A_DAY = 4 };

static void add_days(const struct cw_analysed *of, bool on_road, const struct cw_look *look,
                     struct cw_text *out) {
    size_t used = 0, whole = 0;
    for (size_t r = 0; r < of->n_recordings; r++) {
        size_t runs = 0;
        if (!is_used(of, r, on_road)) continue;
        for (size_t i = 0; i < of->runs.n; i++)
            runs += of->runs.at[i].kept && of->runs.at[i].recording == r;
        used++;
        whole += runs >= RUNS_OF_A_DAY;
    }
    if (used > 1 && whole == used)
        cw_wrapped_add(out,
                       "or the same with the recordings of one day, for each day: compare then "
                       "takes all of the outing files",
                       look, 0);
}

/* More runs than these are not named one by one. */
enum { NAMED_MOST = 12 };

/* An order as it might be: one thing and another in turns, and no setup for what is elsewhere. */
static void add_order(const struct cw_analysed *of, const struct cw_ride_kind *ride,
                      const struct cw_look *look, struct cw_text *out) {
    const struct cw_outing *outing = &of->outing;
    bool named = outing->n_setups > 1;
    const char *names[] = {named ? outing->setups[0].name : "first",
                           named ? outing->setups[1].name : "second"};
    struct cw_text order = {0};
    size_t column = 0, on_road = 0;
    for (size_t i = 0; i < of->runs.n && ride->kept <= NAMED_MOST; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept || (ride->one_is_kept && run->road != CW_ROAD_MAIN)) continue;
        size_t turn = on_road % 4;
        bool out_of_it = run->road != CW_ROAD_MAIN;
        cw_text_add(&order, "%s%s", order.length ? " " : "",
                    out_of_it ? "-" : names[turn == 1 || turn == 2]);
        on_road += !out_of_it;
    }
    if (ride->kept > NAMED_MOST)
        cw_text_add(&order, "%s %s %s %s ...", names[0], names[1], names[1], names[0]);
    cw_text_add(out, "  coastwise start --update");
    column = strlen("  coastwise start --update");
    add_word(out, &column, look, outing->file ? outing->file : "OUTING.ini", true);
    add_word(out, &column, look, "--order", false);
    add_word(out, &column, look, order.bytes ? order.bytes : "", false);
    cw_text_add(out, "\n");
    cw_text_free(&order);
}

void cw_ride_lines_add(const struct cw_analysed *of, const struct cw_look *look,
                       struct cw_text *out) {
    struct cw_ride_kind ride = cw_ride_kind_of(of);
    if (has_labels(of) || !ride.kept || (of->has_file && !ride.repeated)) return;
    cw_text_add(out,
                ride.repeated ? "\nTo compare setups on that road, type%s\n"
                              : "\nFor what single coasts tell of CdA, type%s\n",
                !of->has_file             ? ""
                : of->outing.n_setups > 1 ? ", with the setup that each run was in"
                                          : ", with a name of your own for each setup");
    if (of->has_file) {
        add_order(of, &ride, look, out);
        return;
    }
    add_begin(of, ride.repeated, look, out);
    add_days(of, ride.repeated, look, out);
}
