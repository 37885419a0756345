/* Results of comparing: files of JSON, or of lines of it, in which outings are saved. Inside the
 * library only. */
#ifndef CW_ANALYSIS_RESULTS_H
#define CW_ANALYSIS_RESULTS_H

#include <stdbool.h>
#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "recording/source.h"

/* The key of a saved outing's word. */
#define CW_RESULT_KEY "saved"

/* Whether what the source begins with is JSON, as no outing file or recording is. CW_E_READ. */
enum cw_status cw_result_begins(struct cw_source *source, bool *begins, struct cw_error *error);

/* Reads a result to its end: adds the outings saved in it to the *n in *outings, which is allocated
 * anew. CW_E_READ; CW_E_FORMAT with file and line where it is cut, no JSON or holds no outing, or
 * one that cannot be taken: none is then added. */
enum cw_status cw_result_read(struct cw_source *source, struct cw_analysed **outings, size_t *n,
                              struct cw_error *error);

#endif
