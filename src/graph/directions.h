/* directions.h - sets of directions of the plane, as closed arcs of the circle.
 *
 * A direction is a TURN in [0, 4): 0 = right, 1 = up as seen, 2 = left, 3 = down. In between it does not grow with the
 * angle, but with y / (|x| + |y|): that keeps the order of angles, opposite directions are exactly 2 apart, and no sine
 * or arc tangent rounds it. An arc runs counter-clockwise, as seen, from `from` in [0, 4) to `to` >= from, which may
 * pass 4.
 * Invariant of a set: arcs ascending, inside [0, 4], each more than DIRECTIONS_SEAL from the next. In an OPEN set the ends of
 * arcs are not in it: two arcs may touch, and the direction between them is a gap without width; they become one only where
 * they overlap by more than DIRECTIONS_SEAL.
 */
#ifndef DOVETELL_GRAPH_DIRECTIONS_H
#define DOVETELL_GRAPH_DIRECTIONS_H

#include <dovetell/geom.h>

/* In turns. Gaps below this are dust of rounding (coordinates of 1 m have an ulp of 1e-13 mm) and are closed. */
#define DIRECTIONS_SEAL 1e-9

typedef struct arc {
    double from, to;
} arc;

typedef struct directions {
    arc *items;
    size_t count, room;
    bool open;      /* set before the first arc */
    bool over_zero; /* of an open set: the direction 0 lies inside an arc */
} directions;

/* Turn of the vector (x, y) of the drawing (y down); it must not be zero. */
double turn_of(dt_point vector);
double turn_to_degrees(double turn); /* any turn >= 0; keeps whole circles: 4 -> 360 */
double turn_from_degrees(double degrees);
/* The smallest arc that holds the directions of all vectors; false when they do not lie in an open half plane. */
bool arc_of(const dt_point *vectors, size_t count, arc *out);
arc arc_opposite(arc a);
bool arc_holds(arc a, double turn);
double arc_degrees(arc a);

bool directions_add(directions *set, arc a); /* false: no memory */
bool directions_cover(const directions *set, arc a);
bool directions_are_all(const directions *set);
/* The widest arc that is not in the set, a single direction where the set is open; of equal ones (to within the seal) the
 * first. False when the set is all. */
bool directions_widest_gap(const directions *set, arc *out);
double directions_gap_degrees(const directions *set); /* all gaps added up */
void directions_clear(directions *set);
void directions_free(directions *set);

#endif
