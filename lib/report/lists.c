#include "report/lists.h"

#include <math.h>

#include "analysis/label.h"
#include "base/number.h"
#include "base/path.h"
#include "report/clock.h"
#include "report/meant.h"
#include "report/table.h"

/* One list of a section: setups, or values. */
struct list {
    const char *name, *unit;
    const struct cw_setup_order *order;
    const struct cw_notes *notes;
    int decimals;
};

static size_t length_of(const struct list *list) {
    return list->order ? list->order->n : list->notes->n;
}

/* Runs that the section of a recording counts; those that [runs] does for CW_NO_RECORDING. */
#define CW_NO_RECORDING ((size_t)-1)
static bool counts(const struct cw_analysed *of, size_t recording, const struct cw_run *run) {
    return recording == CW_NO_RECORDING ? cw_run_counts(&of->outing, run, false)
                                        : run->kept && run->recording == recording;
}

static void add_entry(struct cw_table *table, const struct cw_analysed *of, const struct list *list,
                      size_t i) {
    if (i >= length_of(list))
        cw_table_add(table, "%s", "");
    else if (list->order)
        cw_table_add_name(table, cw_analysed_setup(of, list->order->setup[i]));
    else
        cw_table_add_number(table, list->notes->value[i], list->decimals);
}

static void add_run(struct cw_table *table, const struct cw_clock *clock,
                    const struct cw_run *run) {
    if (!run) {
        cw_table_add(table, "none");
        cw_table_add(table, "%s", "");
        return;
    }
    cw_table_add(table, "%ld", run->number);
    cw_table_add_clock(table, clock, run->start_s, false);
}

/* The lists that are given, where there are runs and one list has more or fewer. */
static void add_section(const struct cw_analysed *of, const char *section, size_t recording,
                        const struct list *all, size_t n_all, const struct cw_look *look,
                        struct cw_text *out) {
    enum { LISTS_MOST = 4 };
    const struct list *given[LISTS_MOST];
    const struct cw_clock clock = cw_clock_of(of);
    struct cw_column columns[2 + LISTS_MOST] = {{"run", "", true}, {"start", clock.name, false}};
    struct cw_table table = {.columns = columns, .n_columns = 2};
    size_t runs = 0, rows, n = 0, at = 0;
    bool off = false;
    for (size_t i = 0; i < of->runs.n; i++) runs += counts(of, recording, &of->runs.at[i]);
    rows = runs;
    for (size_t k = 0; k < n_all && k < LISTS_MOST; k++) {
        size_t length = length_of(&all[k]);
        if (!length) continue;
        off = off || length != runs;
        rows = length > rows ? length : rows;
        given[n++] = &all[k];
        columns[table.n_columns++] =
            (struct cw_column){all[k].name, all[k].unit, all[k].order == NULL};
    }
    if (!off || !runs) return;
    for (size_t row = 0; row < rows; row++) {
        while (at < of->runs.n && !counts(of, recording, &of->runs.at[at])) at++;
        add_run(&table, &clock, at < of->runs.n ? &of->runs.at[at] : NULL);
        for (size_t k = 0; k < n; k++) add_entry(&table, of, given[k], row);
        if (at < of->runs.n) at++;
    }
    cw_text_add(out, "\nThe runs kept, and what [%s] says of them in turn:\n", section);
    cw_table_write(&table, look, out);
    cw_table_free(&table);
}

void cw_lists_add(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out) {
    const struct cw_outing *outing = &of->outing;
    const struct list all[] = {{"order", "", &outing->order, NULL, 0},
                               {"wind_along_ms", "", NULL, &outing->wind_ms, 2},
                               {"runout_m", "", NULL, &outing->runout_m, 2},
                               {"time_s", "", NULL, &outing->time_s, 2}};
    if (of->skip_failed) return; /* which runs are kept is not known yet */
    add_section(of, "runs", CW_NO_RECORDING, all, sizeof all / sizeof *all, look, out);
    for (size_t i = 0; i < outing->n_own_recordings; i++) {
        const struct cw_own_recording *own = &outing->own_recordings[i];
        const struct list order = {"order", "", &own->order, NULL, 0};
        struct cw_text section = {0};
        cw_text_add(&section, "recording %s", cw_path_name(outing->recordings[own->recording]));
        add_section(of, section.bytes ? section.bytes : "", own->recording, &order, 1, look, out);
        if (section.failed) out->failed = true;
        cw_text_free(&section);
    }
    struct cw_sentences meant = {0};
    cw_order_meant_said(of, &meant);
    cw_sentences_write(&meant, look, out);
}
