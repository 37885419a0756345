/* The table of pictures. Inside the room only.
 *
 * A picture is a line here and a file with its function, cw_picture_NAME: that is all that knows of
 * it. The page, the command line with its help and manual, and the tests go through the table. */
#ifndef CW_PICTURE_PICTURES_H
#define CW_PICTURE_PICTURES_H

#include "picture/picture.h"

/* X(name, heading, title, caption, needs, of, numbers), as in struct cw_picture, in the order of a
 * page. */
#define CW_PICTURE_LIST(X)                                                                         \
    X(history, "Along time", "CdA along time",                                                     \
      "Each outing by itself, and all together as a band.", CW_PICTURE_NEEDS_HISTORY,              \
      CW_PICTURE_OF_ALL, "history")                                                                \
    X(setups, "Setups", "CdA of every run, by setup",                                              \
      "Drag area of every run, setup by setup, with 95 % intervals.", 0, CW_PICTURE_OF_OUTING,     \
      "setups")                                                                                    \
    X(tyres, "Drag and rolling", "Drag and rolling told apart",                                    \
      "How far drag and rolling are told apart, of setups on different tyres.",                    \
      CW_PICTURE_NEEDS_TYRES, CW_PICTURE_OF_ALL, "comparisons")                                    \
    X(explained, "Where it came from", "Where the seconds and the metres came from",               \
      "From the reference's mean to the setup's, a bar a cause.", CW_PICTURE_NEEDS_SETUPS,         \
      CW_PICTURE_OF_OUTING, "explained")                                                           \
    X(road, "Road and fit", "Virtual elevation along the road",                                    \
      "Heights that the runs' energy tells, over the road's profile; below, what is left between " \
      "them.",                                                                                     \
      0, CW_PICTURE_OF_OUTING, "runs")                                                             \
    X(speed, "Speed along the road", "Speed along the road", "Each line is a run.", 0,             \
      CW_PICTURE_OF_OUTING, "runs")                                                                \
    X(gained, "Time gained and lost", "Time gained and lost along the road",                       \
      "Where along the road one setup drew away from the other.", CW_PICTURE_NEEDS_SETUPS,         \
      CW_PICTURE_OF_OUTING, "timed")                                                               \
    X(ground, "The ground", "The runs on the ground", "The runs' lines in plan.",                  \
      CW_PICTURE_NEEDS_POSITIONS, CW_PICTURE_OF_OUTING, "runs")                                    \
    X(timed, "Timed as measured", "Times and run-outs as measured",                                \
      "Times between gates and run-outs, with no model behind them.", CW_PICTURE_NEEDS_TIMES,      \
      CW_PICTURE_OF_OUTING, "timed")                                                               \
    X(winds, "Wind", "Wind in each run",                                                           \
      "Wind in each run: as found, and as noted, logged and met by a companion.",                  \
      CW_PICTURE_NEEDS_WINDS, CW_PICTURE_OF_OUTING, "runs")                                        \
    X(pressures, "Tyres and pressure", "Crr over pressure",                                        \
      "Rolling coefficient of each set of tyres over the pressure that was noted.",                \
      CW_PICTURE_NEEDS_PRESSURES, CW_PICTURE_OF_OUTING, "runs")                                    \
    X(budget, "Error budget", "What the uncertainty is made of",                                   \
      "What the causes do that no scatter shows, each off by its standard uncertainty.",           \
      CW_PICTURE_NEEDS_BUDGET, CW_PICTURE_OF_ALL, "budget")

#define CW_PICTURE_DECLARE(name, ...)                                                              \
    enum cw_status cw_picture_##name(const struct cw_scene *scene, struct cw_chart *chart,         \
                                     struct cw_text *description, struct cw_error *error);
CW_PICTURE_LIST(CW_PICTURE_DECLARE)
#undef CW_PICTURE_DECLARE

#endif
