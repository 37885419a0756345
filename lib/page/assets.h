/* The page's style sheet and script, from page.css and page.js (lib/page/embed). */
#ifndef CW_PAGE_ASSETS_H
#define CW_PAGE_ASSETS_H

extern const char cw_page_style[];
extern const char cw_page_script[];

#endif
