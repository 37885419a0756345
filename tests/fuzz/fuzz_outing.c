/* Anything at all, read as an outing file: it is read or refused with a line, and what is read
 * keeps the promises of outing.h. Built as a fuzzer with -Dfuzz=true, and by replay.c for every
 * test run. */
#include <math.h>
#include <stdbool.h>
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
        /* In another unit it is the other key's. */
        if (key->instead && cw_outing_key_find(key->section, key->instead)->offset == key->offset)
            continue;
        bool of_rider = !strcmp(key->section, "rider") || !strcmp(key->section, "bike");
        const char *base = of_rider ? (const char *)&outing->rider : (const char *)outing;
        double number = *(const double *)(const void *)(base + key->offset);
        promise(isnan(number) ? isnan(key->fallback) || isnan(key->fallback_without)
                              : number >= key->low && number <= key->high);
    }
    promise(outing->n_recordings > 0 && outing->n_setups > 0 && outing->name[0]);
    for (size_t i = 0; i < outing->n_setups; i++) {
        const struct cw_setup *setup = &outing->setups[i];
        promise(setup->name[0] && setup->description && setup->tyres[0]);
        promise(setup->load_kg >= 0 && setup->load_kg <= 100);
    }
    for (size_t i = 0; i < outing->order.n; i++) promise(outing->order.setup[i] < outing->n_setups);
    promise(!outing->order.n == !outing->order.line);
    for (size_t i = 0; i < outing->n_own_recordings; i++) {
        const struct cw_own_recording *own = &outing->own_recordings[i];
        promise(own->recording < outing->n_recordings && own->rider <= outing->n_companions);
        promise(own->setup == CW_NO_SETUP || own->setup < outing->n_setups);
        promise(!own->rider || own->order.n || own->setup != CW_NO_SETUP);
    }
    for (size_t i = 0; i < outing->n_companions; i++)
        promise(outing->companions[i].mass_kg > 0 && outing->companions[i].bike_mass_kg > 0);
    for (size_t i = 0; i < outing->n_setups; i++)
        promise(outing->setups[i].rider <= outing->n_companions);
    for (size_t i = 0; i < outing->skip.n; i++) promise(outing->skip.number[i] > 0);
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
