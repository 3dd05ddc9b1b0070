/* prism.h - a convex piece with its thickness, and how it lies in the small-parts cylinder of 16 CFR 1501.4.
 *
 * The body is x^2 + y^2 <= RADIUS_MM^2, 0 <= z <= MIDDLE_MM + x: 31.75 mm wide, its slanted end 25.40 mm deep at one wall and 57.15 mm
 * at the other. A POSE: e = a direction in the piece's plane that lies level, f = the one square to it, which rises by `rise` (0 to a
 * quarter turn); `turn` picks e in the plane; `heading` turns the whole about the cylinder's axis. The SHADOW is the prism seen
 * from above, in the frame of e and the level part of f.
 */
#ifndef DOVETELL_PIECES_PRISM_H
#define DOVETELL_PIECES_PRISM_H

#include <dovetell/geom.h>

#define RADIUS_MM 15.875
#define SHORT_MM 25.4
#define MIDDLE_MM (SHORT_MM + RADIUS_MM) /* the roof above the axis */
#define SAFE_SIDE_MM 0.02                /* what is too large by less counts as fitting */

#define PI 3.14159265358979323846
enum { MOST_CORNERS = 96 };

typedef struct prism {
    dt_point corners[MOST_CORNERS];
    size_t count;
    double thickness;
} prism;

/* Two corners for each of the hull's, and what floor and roof ask for. */
typedef struct shadow {
    dt_point at[2 * MOST_CORNERS]; /* along e, along the level part of f */
    size_t count;
    double height[MOST_CORNERS], lowest; /* of the lower face */
    double level, steep, thickness; /* cos and sin of the rise */
} shadow;

typedef struct circle {
    dt_point centre;
    double radius;
} circle;

/* Width of the hull along e. */
double prism_width(const prism *p, double turn);
void prism_cast(const prism *p, double turn, double rise, shadow *out);

/* Which points hold a smallest circle: up to three, a fourth while one is being added. Empty to begin with. */
typedef struct support {
    size_t index[4], count;
} support;

/* Smallest circle round the points; once it is known to be above `limit`, any circle above it. Begins with *held, which is soonest
 * done when it held the points before they were moved a little, and leaves what holds them now. Seldom more than O(n). */
circle circle_round(const dt_point *points, size_t count, double limit, support *held);
/* Index of the farthest point. */
size_t farthest_from(const dt_point *points, size_t count, dt_point from, double *distance);

#endif
