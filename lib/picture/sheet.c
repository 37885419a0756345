#include "picture/chart.h"

/* Eight colours for light paper and eight for dark, each pair of one hue. Chosen by search within
 * the hues for the largest least difference (CIEDE2000, CIE 142-2001) between any two, seen with
 * full colour vision and with each kind of dichromacy (Machado, Oliveira & Fernandes 2009, IEEE
 * TVCG 15:1291), with a contrast of 3.4 to light paper and 5 to dark (WCAG 2.1, 1.4.11 asks for 3);
 * the first three lie farther apart. tests/unit/test_picture_chart.c holds them to it. */
#define LIGHT                                                                                      \
    "--c-paper:var(--cw-paper,#ffffff);--c-ink:var(--cw-ink,#1b2227);"                             \
    "--c-mute:var(--cw-mute,#525c64);--c-grid:var(--cw-grid,#dde2e6);"                             \
    "--c-none:var(--cw-none,#6d767d);"                                                             \
    "--c-0:var(--cw-0,#3c6dba);--c-1:var(--cw-1,#b77759);--c-2:var(--cw-2,#134727);"               \
    "--c-3:var(--cw-3,#70307a);--c-4:var(--cw-4,#6e5702);--c-5:var(--cw-5,#9e515d);"               \
    "--c-6:var(--cw-6,#1a919d);--c-7:var(--cw-7,#31393f)"
#define DARK                                                                                       \
    "--c-paper:var(--cw-paper,#15191d);--c-ink:var(--cw-ink,#e8ecef);"                             \
    "--c-mute:var(--cw-mute,#a6b0b7);--c-grid:var(--cw-grid,#333b42);"                             \
    "--c-none:var(--cw-none,#8b959d);"                                                             \
    "--c-0:var(--cw-0,#4d8fc5);--c-1:var(--cw-1,#de6738);--c-2:var(--cw-2,#73f2b0);"               \
    "--c-3:var(--cw-3,#d5b0f6);--c-4:var(--cw-4,#f2c160);--c-5:var(--cw-5,#cc8186);"               \
    "--c-6:var(--cw-6,#4ab5b6);--c-7:var(--cw-7,#dce1e4)"

const char *cw_chart_sheet(void) {
    return ".cw-picture{" LIGHT ";display:block;width:100%;height:auto;color:var(--c-ink)}"
           "@media screen and (prefers-color-scheme:dark){.cw-picture{" DARK "}}"
           ".cw-picture text{font-family:system-ui,sans-serif;font-size:15px;fill:var(--c-ink)}"
           "@media screen and (min-width:640px){.cw-picture text{font-size:12.5px}}"
           ".cw-picture .strong{font-weight:600}"
           ".cw-picture .mute{fill:var(--c-mute)}"
           ".cw-picture .paper{fill:var(--c-paper)}"
           ".cw-picture .halo{stroke:var(--c-paper);stroke-width:4;stroke-linejoin:round;"
           "paint-order:stroke}"
           ".cw-picture .k0{color:var(--c-0)}.cw-picture .k1{color:var(--c-1)}"
           ".cw-picture .k2{color:var(--c-2)}.cw-picture .k3{color:var(--c-3)}"
           ".cw-picture .k4{color:var(--c-4)}.cw-picture .k5{color:var(--c-5)}"
           ".cw-picture .k6{color:var(--c-6)}.cw-picture .k7{color:var(--c-7)}"
           ".cw-picture .kn{color:var(--c-none)}"
           ".cw-picture .l{fill:none;stroke:currentColor;stroke-width:1.4;stroke-linejoin:round}"
           ".cw-picture .thin{stroke-width:.8}.cw-picture .bold{stroke-width:2.4}"
           ".cw-picture .noise{stroke-width:4}"
           ".cw-picture .grid{stroke:var(--c-grid);stroke-width:1}"
           ".cw-picture .gate{stroke:var(--c-ink);stroke-width:1.6}"
           ".cw-picture .rule{stroke:var(--c-mute);stroke-width:1}"
           ".cw-picture .road{stroke:var(--c-mute);stroke-width:5;stroke-opacity:.35}"
           ".cw-picture .p{fill:currentColor;stroke:var(--c-paper);stroke-width:1}"
           ".cw-picture .a{fill:currentColor;fill-opacity:.2;stroke:none}"
           ".cw-picture .solid{fill-opacity:1}"
           ".cw-picture .open{fill:none;stroke:currentColor;stroke-width:1.4}";
}
