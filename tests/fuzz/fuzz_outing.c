/* Anything at all, read as an outing file: it is read or refused with a line, and what is read
 * keeps the promises of outing.h. Built as a fuzzer with -Dfuzz=true, and by replay.c for every
 * test run. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "outing/keys.h"
#include "outing/read.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void promise(int kept) {
    if (!kept) abort();
}

static void check(const struct cw_outing *outing) {
    size_t n;
    const struct cw_outing_key *keys = cw_outing_keys(&n);
    for (size_t i = 0; i < n; i++) {
        const struct cw_outing_key *key = &keys[i];
        if (key->kind != CW_KEY_NUMBER || !strcmp(key->section, "setup")) continue;
        double number = *(const double *)((const char *)outing + key->offset);
        promise(isnan(number) ? isnan(key->fallback) || isnan(key->fallback_without)
                              : number >= key->low && number <= key->high);
    }
    promise(outing->n_recordings > 0 && outing->n_setups > 0 && outing->name[0]);
    for (size_t i = 0; i < outing->n_setups; i++) {
        const struct cw_setup *setup = &outing->setups[i];
        promise(setup->name[0] && setup->description && setup->tyres[0]);
        promise(setup->load_kg >= 0 && setup->load_kg <= 100);
    }
    for (size_t i = 0; i < outing->n_order; i++) promise(outing->order[i] < outing->n_setups);
    promise(!outing->n_order == !outing->order_line);
    for (size_t i = 0; i < outing->n_skip; i++) promise(outing->skip[i] > 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    struct cw_outing outing;
    struct cw_error error = {0};
    long lines = 1;
    for (size_t i = 0; i < length; i++) lines += bytes[i] == '\n' || bytes[i] == '\r';
    enum cw_status status =
        cw_outing_read_memory((const char *)bytes, length, "fuzz", &outing, &error);
    if (status == CW_OK) {
        check(&outing);
    } else {
        promise(error.code == status && error.message[0]);
        promise(error.line >= 0 && error.line <= lines);
    }
    cw_outing_free(&outing);
    return 0;
}
