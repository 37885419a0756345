/* What the files of calls share (module.c): one analysis, what is said of it, what went wrong. */
#ifndef CW_BROWSER_MODULE_H
#define CW_BROWSER_MODULE_H

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/text.h"
#include "report/look.h"

/* A function that the page calls by that name. */
#define SHOWN(name) __attribute__((export_name(name)))

extern struct cw_browser {
    struct cw_analysis analysis;
    struct cw_text text;
    struct cw_error error;
    enum cw_units units; /* that pages and their parts are in */
} cw_browser;

/* Frees an analysis and begins it anew, with the page's progress, notices and limit. */
void cw_browser_begin(struct cw_analysis *analysis);

/* Whether the outing's setups tell a CdA that predictions can be made of. */
int cw_browser_averaged(void);

/* A status, or that there was no memory for the text. */
enum cw_status cw_browser_whole(void);
enum cw_status cw_browser_made(enum cw_status status);

/* JSON of what no report has: a string; ,"name":string, null for NULL; ,"name":number, null for
 * NaN. */
void cw_browser_add_string(const char *string);
void cw_browser_add_member(const char *name, const char *string);
void cw_browser_add_number(const char *name, double number);
/* A number to be given, as cw_browser_keys has keys of an outing file; behind others a comma. */
void cw_browser_add_asked(const char *section, const char *name, double low, double high,
                          const char *meaning);

#endif
