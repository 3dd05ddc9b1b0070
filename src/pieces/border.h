/* border.h - the border of one piece (outline and holes) with a box tree over its segments: distances, nearest points, discs.
 *
 * Segments are numbered along the rings, ring after ring; `at[k]` is where segment k begins and `at[next[k]]` where it ends.
 * The piece lies on the side where dt_orientation(at[k], at[next[k]], p) > 0 (outline positive, holes negative area).
 * Invariant: node i of the tree encloses nodes 2i and 2i + 1; leaf j holds segments [j LEAF, (j + 1) LEAF).
 */
#ifndef DOVETELL_PIECES_BORDER_H
#define DOVETELL_PIECES_BORDER_H

#include <dovetell/pieces.h>

typedef struct border {
    size_t count;            /* segments = points */
    dt_point *at;
    uint32_t *next, *previous;
    uint32_t *ring;          /* [segment] 0 = outline */
    uint32_t *ring_start;    /* [ring] its first segment; one more entry at the end */
    bool *reflex;            /* [point] the border turns away from the piece here: interior angle above 180 degrees */
    dt_box *boxes;           /* heap order, from 1 */
    size_t leaves;           /* a power of two */
} border;

typedef struct disc {
    dt_point centre;
    double radius;
} disc;

/* The nearest place of the border. */
typedef struct contact {
    double distance;
    uint32_t segment;
    double t;                /* 0..1 along the segment */
} contact;

enum { BORDER_LEAF = 4 };

/* Memory O(points), time O(points). */
dt_status border_new(dt_path outline, const dt_path *holes, size_t hole_count, border **out);
void border_free(border *b);

/* Nearest place. O(log n) as a rule; less when `hint` is a segment near by (0 when none is known). */
contact border_nearest(const border *b, dt_point p, uint32_t hint);
/* The nearest place if that is farther than `enough`; else false as soon as that is known, and *out is untouched. */
bool border_nearest_beyond(const border *b, dt_point p, uint32_t hint, double enough, contact *out);
/* The nearest place if that is nearer than `distance`; else false, and *out is untouched. */
bool border_nearest_within(const border *b, dt_point p, double distance, contact *out);
/* Is p inside, given its nearest place? By the side of the nearest segment, or of both that meet there. */
bool border_is_inside(const border *b, dt_point p, contact nearest);

/* Largest inscribed circle. Its radius is at most DISC_TOLERANCE_MM below the true one, or 1 % in a shape with a long even
 * strip, where circles of nearly that size lie all along. Best-first search over square cells: the distance to the border
 * changes by at most the distance moved (the problem: Garcia-Castellanos and Lombardo, Poles of inaccessibility, 2007). *work grows
 * by what it cost beyond what a piece as a rule costs; DT_TOO_LARGE when it has grown to millions: long narrow strips by the hundred. */
dt_status border_largest_disc(const border *b, uint64_t *work, disc *out);

/* Part of a piece cut off by the chord between two places of one ring: the stretch of that ring from `from` on to `to`. */
typedef struct border_part {
    contact from, to;
} border_part;

dt_point border_point_at(const border *b, contact place);
/* How many corners lie on the stretch. O(1). */
size_t border_part_corners(const border *b, border_part part);
/* Even-odd against the stretch closed by its chord; for a point inside the piece. O(points of the stretch). */
bool border_part_contains(const border *b, border_part part, dt_point p);
/* Is there a direction in which the part is narrower than `width`? Short parts only: false for long ones. */
bool border_part_is_narrower(const border *b, border_part part, double width);

/* Is the centre of an inscribed circle (of the whole piece) in the part, whose radius is more than `radius`, or more than
 * `clear_radius` (not above `radius`) where the circle does not cross the chord? */
typedef struct border_question {
    border_part part;
    double clear_radius, radius;
} border_question;

/* Undecided within DISC_TOLERANCE_MM of both radii. *work grows by what it cost, about one for each place looked at. */
dt_status border_part_holds(const border *b, const border_question *question, uint64_t *work, bool *out);

#define DISC_TOLERANCE_MM 0.01 /* as fine as curves are flattened */

#endif
