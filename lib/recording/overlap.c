#include "recording/overlap.h"

enum cw_status cw_recordings_check_overlap(const struct cw_recording *recordings,
                                           const size_t *rider, size_t n, struct cw_error *error) {
    for (size_t i = 0; i < n; i++) {
        const struct cw_samples *a = &recordings[i].samples;
        for (size_t j = 0; j < i && a->n; j++) {
            const struct cw_samples *b = &recordings[j].samples;
            if (rider && rider[i] != rider[j]) continue;
            if (!b->n || a->time_s[0] >= b->time_s[b->n - 1] || b->time_s[0] >= a->time_s[a->n - 1])
                continue;
            return cw_error_set(
                error, CW_E_FORMAT, recordings[i].file, 0,
                "shares time with %s: name the same ride once, or, where another rider "
                "recorded it, say so by [recording FILE] with rider = NAME",
                recordings[j].file);
        }
    }
    return CW_OK;
}
