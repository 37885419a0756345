#include "report/ride.h"

#include <math.h>
#include <string.h>

#include "report/estimates.h"
#include "report/heights.h"
#include "report/json.h"
#include "report/plain.h"

/* ---- what kind of ride ---- */

/* The runs kept, and of those the ones on the road that most of them are on. */
struct ride {
    size_t kept, on_road, back, elsewhere;
    bool one_is_kept; /* cw_roads_keep_one turns down the others of an outing */
};

static struct ride ride_of(const struct cw_analysed *of) {
    struct ride ride = {0};
    size_t second = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept) continue;
        ride.kept++;
        ride.on_road += run->road == CW_ROAD_MAIN;
        ride.back += run->road == CW_ROAD_MAIN && run->reversed;
        second += run->road == CW_ROAD_MAIN + 1;
    }
    ride.elsewhere = ride.kept - ride.on_road;
    ride.one_is_kept = ride.on_road >= 3 && ride.on_road > second;
    return ride;
}

/* Fewer coasts of one road among others elsewhere may well be chance. */
enum { TEST_LEAST = 3 };

/* Some way of the road was ridden twice. */
static bool is_repeated(const struct ride *ride) {
    return ride->back > 1 || ride->on_road - ride->back > 1;
}

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
    struct ride ride = ride_of(of);
    if (has_labels(of)) return;
    if (!ride.kept) {
        if (!of->runs.n && !of->runs.n_slight) return; /* that is said as a fault */
        cw_text_add(text, "no coast here tells CdA or Crr: coast further, from more speed, without "
                          "pedalling or braking, again and again over the same road");
    } else if (!is_repeated(&ride) || (ride.on_road < TEST_LEAST && ride.elsewhere)) {
        if (ride.kept == 1)
            cw_text_add(text, "an ordinary ride, no test: it has one coast that can be used");
        else if (!is_repeated(&ride))
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
        cw_text_add(text, ", but the setup of each run is not known: lines to write follow below");
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

/* ---- what to write ---- */

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

static void add_recordings(const struct cw_analysed *of, bool on_road, const struct cw_look *look,
                           struct cw_text *out) {
    struct cw_text line = {0};
    size_t n = 0;
    cw_text_add(&line, "recordings = ");
    for (size_t r = 0; r < of->n_recordings; r++)
        if (is_used(of, r, on_road))
            cw_text_add(&line, "%s%s", n++ ? ", " : "", of->recordings[r].file);
    cw_text_add(out, "[outing]\n");
    cw_wrapped_take(out, &line, look, 4);
    cw_text_add(out, "[rider]\nmass_kg =\n[bike]\nmass_kg =\n");
}

/* More runs than these are not named one by one in a comment. */
enum { NAMED_MOST = 12 };

/* Which run has which setup. */
static void add_labels(const struct cw_analysed *of, const struct ride *ride,
                       const struct cw_look *look, struct cw_text *out) {
    struct cw_text order = {0}, skip = {0};
    size_t used = 0;
    for (size_t r = 0; r < of->n_recordings; r++) used += is_used(of, r, true);
    bool numbered = of->has_file || used == of->n_recordings; /* as they are now */
    cw_text_add(&order, "; one setup for each run");
    cw_text_add(&skip, "skip =");
    for (size_t i = 0; numbered && i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!run->kept) continue;
        if (run->road != CW_ROAD_MAIN)
            cw_text_add(&skip, " %ld", run->number);
        else if (ride->on_road <= NAMED_MOST)
            cw_text_add(&order, " %ld", run->number);
    }
    if (!numbered)
        cw_text_add(&order, " kept of these recordings, in time order");
    else if (ride->on_road > NAMED_MOST)
        cw_text_add(&order, " of the %zu on road 1, in time order", ride->on_road);
    if (!of->has_file || of->outing.n_setups < 2)
        cw_text_add(out, "[setup first]\n[setup second]\n");
    cw_text_add(out, "[runs]\n");
    cw_wrapped_take(out, &order, look, 4);
    cw_text_add(out, "order = first second second first ...\n");
    if (numbered && ride->elsewhere && !ride->one_is_kept) cw_wrapped_take(out, &skip, look, 4);
    cw_text_free(&skip);
}

void cw_ride_lines_add(const struct cw_analysed *of, const struct cw_look *look,
                       struct cw_text *out) {
    struct ride ride = ride_of(of);
    bool repeated = is_repeated(&ride);
    if (has_labels(of) || !ride.kept || (of->has_file && !repeated)) return;
    cw_text_add(out,
                repeated ? "\nTo compare setups on that road, %s (\"first\" and \"second\" "
                           "stand for their names)\n"
                         : "\nFor what single coasts tell of CdA, %s\n",
                of->has_file ? "add to the outing file" : "write an outing file");
    if (!of->has_file) add_recordings(of, repeated, look, out);
    if (repeated) add_labels(of, &ride, look, out);
}
