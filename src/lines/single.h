/* single.h - is each line of a drawing drawn once? Most drawings answer yes, and then nobody need look for what is
 * drawn twice. */
#ifndef DOVETELL_LINES_SINGLE_H
#define DOVETELL_LINES_SINGLE_H

#include <dovetell/lines.h>

/* What doubled lines are (doubles.c). */
typedef struct dt_doubled {
    double near_mm, long_mm; /* they run within this of each other, for longer than that */
    double greatest_sine;    /* of the angle between their cuts */
} dt_doubled;

/* *single: no stroke runs beside another or beside itself for longer than long_mm. False too where lines crowd each
 * other so much that it takes long to tell. DT_NO_MEMORY. O(n log n). */
dt_status dt_single_check(dt_strokes strokes, const dt_doubled *doubled, bool *single);

#endif
