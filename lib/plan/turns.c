#include "plan/turns.h"

#include "simulate/random.h"

/* Of its own among those of the simulator, whose outings begin from seeds too. */
enum { STREAM_TURNS = 900 };

enum cw_status cw_plan_turns(size_t n_setups, size_t runs, unsigned long seed, size_t *order,
                             bool *drawn, struct cw_error *error) {
    struct cw_random random = cw_random_make(seed, STREAM_TURNS);
    if (!random.state) return cw_error_memory(error);
    *drawn = n_setups > 2;
    for (size_t block = 0; block < runs; block++) {
        size_t *at = order + block * n_setups, *before = at - n_setups * (block > 0);
        for (size_t k = 0; k < n_setups; k++) at[k] = block % 2 ? before[n_setups - 1 - k] : k;
        /* Each place gets one of those that are left (Fisher and Yates, as Durstenfeld 1964 has it,
         * Commun. ACM 7:420; from memory). */
        for (size_t k = n_setups; *drawn && block % 2 == 0 && k-- > 1;) {
            size_t other = cw_random_below(&random, k + 1), kept = at[k];
            at[k] = at[other];
            at[other] = kept;
        }
    }
    cw_random_free(&random);
    return CW_OK;
}
