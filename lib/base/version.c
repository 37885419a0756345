#include "base/version.h"

const char *cw_version(void) {
    return CW_VERSION_STRING;
}
