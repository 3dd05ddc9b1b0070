/* doubles.h - lines drawn twice. */
#ifndef DOVETELL_LINES_DOUBLES_H
#define DOVETELL_LINES_DOUBLES_H

#include "ghosts.h"

/* Cuts the strokes into grid cuts, without the stretches that run within a quarter kerf of an earlier line (of another stroke, or of
 * the same one) for longer than two kerfs; those become ghosts, with a fault for each. Coordinates must be finite and
 * within DT_REACH_MM. DT_TOO_LARGE with a sentence, DT_NO_MEMORY. Near linear. */
dt_status dt_doubles_leave_out(dt_strokes strokes, double kerf_mm, dt_cuts *cuts, dt_ghosts *ghosts, dt_faults *faults,
                               dt_error *error);

/* One summary fault in place of many when most of the draft is drawn twice (one closed outline for each piece, or the whole drawing
 * pasted twice): cut_length is that of the distinct lines, apart_mm how far whole outlines lie apart (insets.h): if they do, there
 * is a summary in any case. */
void dt_doubles_summarise(dt_faults *faults, double cut_length, double apart_mm);

#endif
