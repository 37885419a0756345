#include "report/meant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/label.h"
#include "stats/robust.h"

/* ---- turns that come back ---- */

/* Whether a list of n is the same turns again and again, so many at a time. */
static bool comes_back(const size_t *setup, size_t n, size_t period) {
    for (size_t i = period; i < n; i++)
        if (setup[i] != setup[i - period]) return false;
    return true;
}

/* The shortest turns that come back, twice at least, and are no single setup; 0 if none do. */
static size_t period_of(const struct cw_setup_order *order) {
    for (size_t period = 2; period <= order->n / 2; period++)
        if (order->n % period == 0 && comes_back(order->setup, order->n, period) &&
            !comes_back(order->setup, order->n, 1))
            return period;
    return 0;
}

/* The order with a label put in at i, or with that one taken out. */
static void change(const struct cw_setup_order *order, size_t i, bool in, size_t setup,
                   struct cw_setup_order *to) {
    to->n = 0;
    for (size_t k = 0; k <= order->n; k++) {
        if (in && k == i) to->setup[to->n++] = setup;
        if (k < order->n && (in || k != i)) to->setup[to->n++] = order->setup[k];
    }
}

/* More orders than these are no guess. */
enum { ORDERS_MOST = 2, PERIOD_MOST = 4 };

/* The orders that one change makes, whose turns come back; returns how many there are. */
static size_t by_turns(const struct cw_outing *outing, bool in, struct cw_setup_order *meant,
                       struct cw_setup_order *tried) {
    const struct cw_setup_order *order = &outing->order;
    size_t found = 0, setups = in ? outing->n_setups : 1;
    for (size_t i = 0; i < order->n + in; i++)
        for (size_t s = 0; s < setups; s++) {
            change(order, i, in, s, tried);
            size_t period = period_of(tried), bytes = tried->n * sizeof *tried->setup, k = 0;
            if (!period || period > PERIOD_MOST) continue;
            while (k < found && memcmp(meant[k].setup, tried->setup, bytes)) k++;
            if (k < found) continue;
            if (found == ORDERS_MOST) return found + 1;
            meant[found].n = tried->n;
            memcpy(meant[found++].setup, tried->setup, bytes);
        }
    return found;
}

static void say_orders(const struct cw_analysed *of, const struct cw_setup_order *orders, size_t n,
                       struct cw_sentences *sentences) {
    struct cw_text text = {0};
    cw_text_add(&text, "By the turns that it takes it probably is");
    for (size_t k = 0; k < n; k++) {
        cw_text_add(&text, "%s order =", k ? ", or" : ":");
        for (size_t i = 0; i < orders[k].n; i++) {
            const char *setup = cw_analysed_setup(of, orders[k].setup[i]);
            cw_text_add(&text, " %s", setup ? setup : "-");
        }
    }
    cw_sentences_take(sentences, &text);
}

/* ---- runs that the order may count, or not ---- */

/* A run that is so much shorter or longer than usual is one of another kind. */
static const double unlike = 0.6;

/* The only run counted that is on another road, or of another length; NULL if it is not one. */
static const struct cw_run *odd_run(const struct cw_analysed *of) {
    const struct cw_run *odd = NULL;
    size_t n = 0;
    double *lengths = malloc((of->runs.n + 1) * sizeof *lengths);
    if (!lengths) return NULL;
    for (size_t i = 0; i < of->runs.n; i++)
        if (cw_run_counts(&of->outing, &of->runs.at[i], false))
            lengths[n++] = of->runs.at[i].distance_m;
    double usual = n ? cw_median(lengths, n) : NAN;
    free(lengths);
    n = 0;
    for (size_t i = 0; i < of->runs.n; i++) {
        const struct cw_run *run = &of->runs.at[i];
        if (!cw_run_counts(&of->outing, run, false)) continue;
        if (run->road == CW_ROAD_MAIN && run->distance_m > unlike * usual &&
            run->distance_m < usual / unlike)
            continue;
        odd = run;
        n++;
    }
    return n == 1 ? odd : NULL;
}

/* The only run that was turned down though nobody asked for that. */
static const struct cw_run *lost_run(const struct cw_analysed *of) {
    const struct cw_run *lost = NULL;
    size_t n = 0;
    for (size_t i = 0; i < of->runs.n; i++)
        if (!of->runs.at[i].kept && !(of->runs.at[i].reasons & CW_REASON_SKIPPED)) {
            lost = &of->runs.at[i];
            n++;
        }
    return n == 1 ? lost : NULL;
}

static void say_odd(const struct cw_run *run, struct cw_sentences *sentences) {
    cw_sentences_add(sentences,
                     "Run %ld is unlike the others (%.0f m, %.0f s): if the order does not count "
                     "it, write under [runs]: skip = %ld",
                     run->number, run->distance_m, run->duration_s, run->number);
}

static void say_lost(const struct cw_analysed *of, const struct cw_run *lost,
                     struct cw_sentences *sentences) {
    size_t at = 0;
    for (const struct cw_run *run = of->runs.at; run < lost; run++)
        at += cw_run_counts(&of->outing, run, false);
    const char *setup = cw_analysed_setup(of, of->outing.order.setup[at]);
    cw_sentences_add(sentences,
                     "Run %ld was turned down, and the order probably counts it: take the label "
                     "number %zu, %s, out of the order",
                     lost->number, at + 1, setup ? setup : "-");
}

void cw_order_meant_said(const struct cw_analysed *of, struct cw_sentences *sentences) {
    const struct cw_setup_order *order = &of->outing.order;
    const struct cw_run *odd = NULL, *lost = NULL;
    size_t runs = 0;
    for (size_t i = 0; i < of->runs.n; i++)
        runs += cw_run_counts(&of->outing, &of->runs.at[i], false);
    bool few = order->n + 1 == runs, many = order->n == runs + 1;
    if (!order->n || (!few && !many)) return;
    if (few) odd = odd_run(of);
    if (many) lost = lost_run(of);
    if (odd) say_odd(odd, sentences);
    if (lost) say_lost(of, lost, sentences);
    if (odd || lost) return;
    size_t most = order->n + 1, *room = malloc((ORDERS_MOST + 1) * most * sizeof *room);
    struct cw_setup_order orders[ORDERS_MOST + 1] = {{0}};
    if (!room) {
        sentences->text.failed = true;
        return;
    }
    for (size_t k = 0; k <= ORDERS_MOST; k++) orders[k].setup = room + k * most;
    size_t n = by_turns(&of->outing, few, orders, &orders[ORDERS_MOST]);
    if (n && n <= ORDERS_MOST) say_orders(of, orders, n, sentences);
    free(room);
}
