/* What reading a recording costs, against libxml2's own parsing of the same text with nothing done
 * about it. */
#include <libxml/parser.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "recording/read.h"
#include "recording/write.h"
#include "simulate/simulate.h"

enum { TIMES = 5 };

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static size_t seen;

static void start(void *state, const xmlChar *name, const xmlChar *prefix, const xmlChar *uri,
                  int n_namespaces, const xmlChar **namespaces, int n_attributes, int n_defaulted,
                  const xmlChar **attributes) {
    (void)state, (void)name, (void)prefix, (void)uri, (void)n_namespaces, (void)namespaces;
    (void)n_attributes, (void)n_defaulted, (void)attributes;
    seen++;
}

static void characters(void *state, const xmlChar *text, int length) {
    (void)state, (void)text;
    seen += (size_t)length;
}

static double parse_s(const struct cw_text *text) {
    xmlSAXHandler handler = {
        .initialized = XML_SAX2_MAGIC, .startElementNs = start, .characters = characters};
    double least = 1e9;
    for (int i = 0; i < TIMES; i++) {
        double begin = now_s();
        if (xmlSAXUserParseMemory(&handler, NULL, text->bytes, (int)text->length)) exit(1);
        double spent = now_s() - begin;
        if (spent < least) least = spent;
    }
    return least;
}

static double read_s(const struct cw_text *text, size_t *samples) {
    double least = 1e9;
    for (int i = 0; i < TIMES; i++) {
        struct cw_recording recording;
        struct cw_error error;
        double begin = now_s();
        if (cw_recording_read_memory(text->bytes, text->length, "made up", &recording, &error) < 0)
            exit(1);
        double spent = now_s() - begin;
        if (spent < least) least = spent;
        *samples = recording.samples.n;
        cw_recording_free(&recording);
    }
    return least;
}

int main(void) {
    static const double limit = 5;
    struct cw_simulate_options options = cw_simulate_options_default();
    struct cw_simulated made;
    struct cw_error error;
    bool good = true;
    cw_simulate_order(&options, 25);
    if (cw_simulate(&options, &made, &error) < 0) return 1;
    for (int tcx = 0; tcx < 2; tcx++) {
        struct cw_text text = {0};
        size_t samples;
        if (cw_recording_add_text(&made.recordings[0].samples, tcx ? CW_FORMAT_TCX : CW_FORMAT_GPX,
                                  NULL, &text, &error) < 0)
            return 1;
        double parse = parse_s(&text), read = read_s(&text, &samples);
        double megabytes = 1e-6 * (double)text.length;
        printf(
            "%s: %zu samples, %.1f MB: parsed at %.0f MB/s, read at %.0f MB/s; ratio %.2f (limit "
            "%.0f)\n",
            tcx ? "TCX" : "GPX", samples, megabytes, megabytes / parse, megabytes / read,
            read / parse, limit);
        good &= read / parse <= limit;
        cw_text_free(&text);
    }
    cw_simulated_free(&made);
    return good && seen ? 0 : 1;
}
