/* cutting.h - time at the laser, estimated. */
#ifndef DOVETELL_REPORT_CUTTING_H
#define DOVETELL_REPORT_CUTTING_H

#include <dovetell/analysis.h>

typedef struct cutting_time {
    double cut_s;    /* each distinct line once, at the speed given */
    double travel_s; /* from line to line */
} cutting_time;

/* From the speed of the settings; false when no speed was given. Travel goes from each stroke's end to the
 * nearest end of one not yet cut, beginning at the corner of the sheet; beyond a few thousand strokes in the order of the drawing. */
bool cutting_estimate(const dt_analysis *analysis, cutting_time *out);

#endif
