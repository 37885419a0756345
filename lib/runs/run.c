#include "runs/run.h"

#include <stdlib.h>

const char *cw_run_end_text(enum cw_run_end end) {
    switch (end) {
    case CW_END_STOP:
        return "stop";
    case CW_END_BRAKE:
        return "brake";
    case CW_END_PEDALLING:
        return "pedalling";
    case CW_END_TURN:
        return "turn";
    case CW_END_RECORDING:
        return "recording";
    }
    return "recording";
}

const char *cw_run_reason_text(enum cw_run_reason reason) {
    switch (reason) {
    case CW_REASON_SHORT:
        return "too short";
    case CW_REASON_PEDALLED:
        return "pedalled";
    case CW_REASON_BRAKED:
        return "braked";
    case CW_REASON_GAP:
        return "gap in the recording";
    case CW_REASON_OFF_ROAD:
        return "off the road";
    case CW_REASON_STEADY:
        return "speed too steady to tell CdA from Crr";
    case CW_REASON_SKIPPED:
        return "skipped by the outing file";
    case CW_REASON_NO_HEIGHT:
        return "no elevation";
    case CW_REASON_OUTLIER:
        return "disagrees with its fellows";
    case CW_REASON_WAKE:
        return "in another rider's wake";
    }
    return "";
}

void cw_runs_free(struct cw_runs *runs) {
    free(runs->at);
    free(runs->slight);
    *runs = (struct cw_runs){0};
}
