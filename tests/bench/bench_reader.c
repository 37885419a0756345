/* What reading a recording costs, against libxml2's own parsing of the same text, pushed to it in
 * chunks, with nothing done about it. */
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

static double parse_s(const struct cw_text *text) {
    enum { CHUNK = 65536 };
    xmlSAXHandler handler = {.initialized = XML_SAX2_MAGIC};
    double least = 1e9;
    for (int i = 0; i < TIMES; i++) {
        double begin = now_s();
        xmlParserCtxtPtr parser = xmlCreatePushParserCtxt(&handler, NULL, NULL, 0, NULL);
        if (!parser) exit(1);
        for (size_t at = 0; at < text->length; at += CHUNK) {
            size_t length = text->length - at < CHUNK ? text->length - at : CHUNK;
            if (xmlParseChunk(parser, text->bytes + at, (int)length, 0)) exit(1);
        }
        if (xmlParseChunk(parser, "", 0, 1)) exit(1);
        xmlFreeParserCtxt(parser);
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
    static const double limit = 3;
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
    return good ? 0 : 1;
}
