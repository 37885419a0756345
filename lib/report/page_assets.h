/* The page's style sheet and script, from page.css and page.js (lib/report/embed). */
#ifndef CW_REPORT_PAGE_ASSETS_H
#define CW_REPORT_PAGE_ASSETS_H

extern const char cw_page_style[];
extern const char cw_page_script[];

#endif
