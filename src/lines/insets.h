/* insets.h - drafts of one closed outline for each piece, each drawn a little inside (or outside) the piece's border. */
#ifndef DOVETELL_LINES_INSETS_H
#define DOVETELL_LINES_INSETS_H

#include "base/arena.h"
#include "ghosts.h"

/* How far the outlines lie apart, where the whole draft is drawn so: nearly all of its lines are closed outlines, nearly all of these run
 * along others, and everywhere at the same distance, above DT_SAME_MM and at most the larger of kerf and join. Else 0 and the strokes as
 * they are. If so, *out are the same strokes, each moved half of the distance towards what it runs along, so that neighbours lie on
 * each other; the points are in the arena. DT_NO_MEMORY, DT_LIBRARY. Near linear; drafts of open lines cost nothing. */
dt_status dt_insets_undo(dt_strokes strokes, const dt_settings *settings, dt_arena *arena, dt_strokes *out, double *apart_mm);

#endif
