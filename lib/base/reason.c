#include "base/reason.h"

#include <errno.h>
#include <string.h>

#include "base/error.h"

const char *cw_reason_text(int reason) {
    return reason == ENOMEM ? cw_status_text(CW_E_MEMORY) : strerror(reason);
}
