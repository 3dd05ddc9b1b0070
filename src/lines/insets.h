/* insets.h - drafts of one closed outline for each piece, each drawn a little inside (or outside) the piece's border. */
#ifndef DOVETELL_LINES_INSETS_H
#define DOVETELL_LINES_INSETS_H

#include "base/arena.h"
#include "ghosts.h"

typedef struct dt_insets {
    double apart_mm; /* how far the outlines lie apart; 0 = the draft is not drawn so */
    double looser_mm; /* drawn inside the borders and undone: the same, as the pieces have so much more play; else 0 */
    bool undone;     /* that is at most the larger of kerf and join, so the outlines were moved together */
} dt_insets;

/* How far the outlines lie apart, where the whole draft is drawn so: nearly all of its lines are closed outlines, nearly all of these run
 * along others, and everywhere at the same distance, above DT_SAME_MM and below 1 mm. If that can be undone, *out are the same strokes,
 * each moved half of the distance towards what it runs along, so that neighbours lie on each other (points in the arena); else the
 * strokes as they are. DT_NO_MEMORY, DT_LIBRARY. Near linear; drafts of open lines cost nothing. */
dt_status dt_insets_undo(dt_strokes strokes, const dt_settings *settings, dt_arena *arena, dt_strokes *out, dt_insets *insets);

#endif
