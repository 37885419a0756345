/* The files that an analysis was made from. */
#ifndef CW_ANALYSIS_INPUTS_H
#define CW_ANALYSIS_INPUTS_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/checksum.h"
#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

struct cw_analysis_input {
    const char *file;               /* borrowed from the analysis */
    char checksum[CW_CHECKSUM_HEX]; /* "" for standard input, which cannot be read twice */
};

/* Lists the outing files and their recordings with their checksums: *n of them in *inputs, to be
 * freed with free(). CW_E_READ when a file is gone. */
enum cw_status cw_analysis_list_inputs(const struct cw_analysis *analysis,
                                       struct cw_analysis_input **inputs, size_t *n,
                                       struct cw_error *error);

/* Whether path is one of those files, by whatever name: then it must not be written. */
bool cw_analysis_reads(const struct cw_analysis *analysis, const char *path);

CW_PUBLIC_END

#endif
