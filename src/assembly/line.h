/* line.h - a closed outline by arc length, and where it turns sharply: what the proof by forced places (forced.h) knows
 * of a piece.
 *
 * Vocabulary: a LINE has its solid on the left in the algebra of the axes (cross(b - a, p - a) > 0), a piece's outline
 * and holes as well as the CONTAINER's, whose solid is all that lies beyond the finished outline. ARC counts from the
 * first point. The TURN at an arc is the angle between the chords of SCALE length that arrive there and leave, positive
 * where the solid is convex. Where it is at least DT_SHARP_TURN the line is SHARP: only there may it part from a line
 * that it follows. A TIP is a place by which it may fill a gap: the line turns as much there over a longer KNEE. One
 * tip stands for a stretch of them (several, a knee apart, where the stretch is long).
 *
 * Invariants: 1. sharp stretches ascend by arc and lie more than half a scale apart; 2. tips ascend by arc; 3. ahead
 * and behind of a tip reach to the nearest end of the next sharp stretch that way that the tip does not lie on, or once
 * round the line.
 */
#ifndef DOVETELL_ASSEMBLY_LINE_H
#define DOVETELL_ASSEMBLY_LINE_H

#include "base/arena.h"
#include <dovetell/geom.h>

#define DT_SHARP_TURN 0.5 /* radians (29 degrees): a bend of a radius of less than two scales is sharp */

typedef struct dt_tip {
    double at, turn;      /* mm, radians */
    double ahead, behind; /* mm of line without sharp stretches */
    bool sharp;
} dt_tip;

typedef struct dt_sharp {
    double from, to; /* arcs; from <= to, to may pass the line's length */
} dt_sharp;

typedef struct dt_line {
    dt_path path;
    double *arc;          /* by point; one more entry: the length */
    double length, scale; /* mm */
    dt_sharp *sharps;
    dt_tip *tips;
    size_t sharp_count, tip_count;
} dt_line;

/* closed: borrowed, solid on the left, at least 3 points. scale and knee: mm; a bend is sharp up to a radius of two
 * scales, a tip up to two knees. false: no memory. O(points log points). */
bool dt_line_make(dt_path closed, double scale, double knee, dt_arena *arena, dt_line *out);
/* The point at an arc, taken modulo the length. O(log points). */
dt_point dt_line_at(const dt_line *line, double arc);
/* The points at arcs at, at + step, ..., `count` of them; step: mm, either way. O(log points + points passed + count). */
void dt_line_sample(const dt_line *line, double at, double step, size_t count, dt_point *out);
/* O(log points). */
double dt_line_turn(const dt_line *line, double arc, double scale);
/* How far the line runs from an arc before it turns sharply, forwards or backwards; a sharp stretch that the arc itself
 * lies on or within a scale of does not count. O(sharp stretches). */
double dt_line_ahead(const dt_line *line, double arc);
double dt_line_behind(const dt_line *line, double arc);

typedef struct dt_line_foot {
    double arc, distance;
    dt_point at, normal; /* normal: unit, into the solid */
} dt_line_foot;

/* The same points the other way round: what was solid is not. points NULL: no memory. */
dt_path dt_path_backwards(dt_arena *arena, dt_path path);
/* The path turned over (x -> -x), with the solid on the left again. */
dt_path dt_path_turned_over(dt_arena *arena, dt_path path);

/* The nearest point among arcs within `reach` of `near`. O(log points + points passed). */
dt_line_foot dt_line_nearest(const dt_line *line, dt_point p, double near, double reach);

#endif
