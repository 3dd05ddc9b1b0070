/* Small parts: does a prism (a convex outline with the sheet's thickness) fit the small-parts cylinder in any pose?
 *
 * The body of 16 CFR 1501.4 is x^2 + y^2 <= R^2, 0 <= z <= SHORT + R + x, R = 15.875: 31.75 mm wide, its slanted end
 * 25.40 mm deep at x = -R and 57.15 mm at x = R. It is convex, so a piece fits when the hull of its two faces does.
 *
 *         z          A pose: e = a direction in the piece's plane that lies level, f = the one square to it, which rises by `rise`;
 *      57 |    /|    `heading` turns the whole about the cylinder's axis; `turn` picks e in the plane. The body and the
 *         |  /  |    prism each have a mirror, so these three angles give every pose. For given angles the best shift is
 *      25 |/    |    exact: floor and roof leave a half plane for the axis, the wall asks that the axis be within R of every
 *         +-----+ x  projected corner: the smallest circle round the projected corners, its centre held to a half plane.
 *
 * The search is a grid over the angles, then a descent from the best of them; it stops at the first pose that fits. Being a
 * search it could miss a pose, so it errs on the safe side: what comes within SAFE_SIDE_MM of fitting counts as fitting.
 * Exact tests decide nearly all pieces before it.
 */
#include "small_part.h"

#include "prism.h"
#include <dovetell/pieces.h>
#include <math.h>
#include <stdlib.h>

#define LONGEST_MM 65.3775 /* sqrt(31.75^2 + 57.15^2): from the floor's low edge to the roof's high one */

#define COARSE_MM 0.8
#define SIMPLER_MM 0.0125 /* corners of the hull that stand out by less are left out: smaller, hence on the safe side */
#define GRID_SLACK_MM 6.0 /* a pose of the grid that misses by more is no start for a descent */

enum { TURNS = 48, RISES = 10, HEADINGS = 16, STARTS = 6, CAREFUL = 2 };
#define FIRST_STEP (PI / 24)  /* half of the grid's */
#define SMALLEST_STEP 0.0004  /* radians: 0.01 mm at 25 mm */
#define HOPE_MM 80.0          /* gained by what is left of a descent, for each radian of its step: seldom above 40 */
#define NEAR_MM 0.3           /* hasty descents end within 0.1 mm of where careful ones do */

typedef struct pose {
    double turn, rise, heading; /* radians */
} pose;

/* ---- one pose ---- */

/* Least radius of a circle round all points with its centre on the line through `on` along `way`: convex in the place along the
 * line, so by halving on its slope, from the stretch that the points lie beside. It changes by at most the distance moved, so
 * INFINITY is returned as soon as it cannot get below `limit`. */
static double radius_on_line(const dt_point *points, size_t count, dt_point on, dt_point way, double limit) {
    double low = INFINITY, high = -INFINITY, distance = 0.0;
    for (size_t i = 0; i < count; i++) {
        double along = (points[i].x - on.x) * way.x + (points[i].y - on.y) * way.y;
        if (along < low) low = along;
        if (along > high) high = along;
    }
    while (high - low > SAFE_SIDE_MM / 10) {
        double middle = (low + high) / 2;
        dt_point centre = {on.x + middle * way.x, on.y + middle * way.y};
        size_t i = farthest_from(points, count, centre, &distance);
        if (distance - (high - low) / 2 > limit) return INFINITY;
        if ((points[i].x - centre.x) * way.x + (points[i].y - centre.y) * way.y > 0) low = middle;
        else high = middle;
    }
    return distance;
}

/* Radius that the cylinder would need at this heading; `free` = the smallest circle round the shadow wherever the axis is.
 * INFINITY when it is above the limit. */
static double radius_needed(const shadow *s, double heading, circle free, double limit) {
    dt_point x = {cos(heading), -sin(heading)}; /* the body's x axis in the shadow's frame */
    double roof = -INFINITY, most_x = -INFINITY;
    double upper = fmax(0.0, s->thickness * (s->level + s->steep * x.y)); /* the upper face nears the roof by this much */
    for (size_t i = 0; i < s->count; i += 2) {
        double along = dt_point_dot(s->at[i], x);
        roof = fmax(roof, s->height[i / 2] - along);
        most_x = fmax(most_x, fmax(along, dt_point_dot(s->at[i + 1], x)));
    }
    double axis = -(roof + upper - s->lowest - MIDDLE_MM); /* the axis may lie at x = axis or below */
    if (dt_point_dot(free.centre, x) <= axis) return free.radius;
    if (most_x - axis > limit) return INFINITY;
    dt_point on = dt_point_scale(x, axis), way = {-x.y, x.x};
    return radius_on_line(s->at, s->count, on, way, limit);
}

/* INFINITY when it is above the limit. *held = what holds the shadow's circle in a pose near by, and then in this one. */
static double radius_in_pose(const prism *p, pose q, double limit, support *held) {
    shadow s;
    prism_cast(p, q.turn, q.rise, &s);
    circle free = circle_round(s.at, s.count, limit, held);
    return free.radius > limit ? INFINITY : radius_needed(&s, q.heading, free, limit);
}

static bool fits_in(double radius) {
    return radius <= RADIUS_MM + SAFE_SIDE_MM;
}

/* ---- the search ---- */

typedef struct start {
    pose pose;
    double radius;
} start;

typedef struct hunt {
    const prism *p;
    start starts[STARTS]; /* best first */
    size_t count;
    start *found;
} hunt;

static void keep_start(hunt *h, pose q, double radius) {
    size_t i = h->count;
    if (i == STARTS && radius >= h->starts[i - 1].radius) return;
    if (i == STARTS) i--;
    else h->count++;
    for (; i > 0 && h->starts[i - 1].radius > radius; i--) h->starts[i] = h->starts[i - 1];
    h->starts[i] = (start){q, radius};
}

/* All headings of one turn and rise. True when one fits. */
static bool try_headings(hunt *h, double turn, double rise) {
    shadow s;
    prism_cast(h->p, turn, rise, &s);
    support held = {.count = 0};
    circle free = circle_round(s.at, s.count, RADIUS_MM + GRID_SLACK_MM, &held);
    if (free.radius > RADIUS_MM + GRID_SLACK_MM) return false;
    for (int k = 0; k < HEADINGS; k++) {
        pose q = {turn, rise, 2 * PI * k / HEADINGS};
        double radius = radius_needed(&s, q.heading, free, RADIUS_MM + GRID_SLACK_MM);
        if (fits_in(radius)) {
            *h->found = (start){q, radius};
            return true;
        }
        if (radius < RADIUS_MM + GRID_SLACK_MM) keep_start(h, q, radius);
    }
    return false;
}

/* Steep poses lie closer together: it is there that long pieces fit. */
static bool try_rises(hunt *h, double turn) {
    const double degrees[RISES] = {0, 15, 30, 40, 50, 58, 66, 74, 82, 90};
    for (int k = 0; k < RISES; k++)
        if (try_headings(h, turn, degrees[k] * PI / 180)) return true;
    return false;
}

/* The level direction must be no wider than the cylinder, which leaves little of the full turn for a piece that is not small. */
static bool try_grid(hunt *h, double narrowest_turn) {
    if (try_rises(h, narrowest_turn) || try_rises(h, narrowest_turn + PI)) return true;
    for (int k = 1; k < TURNS; k++) {
        double turn = narrowest_turn + 2 * PI * k / TURNS;
        if (2 * k == TURNS || prism_width(h->p, turn) > 2 * RADIUS_MM) continue;
        if (try_rises(h, turn)) return true;
    }
    return false;
}

/* In [-1, 1): Knuth's MMIX generator. */
static double next_random(uint64_t *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 4503599627370496.0 - 1.0;
}

/* How a descent goes: steps in directions of a fixed sequence, since the best radius lies at the bottom of a crease where few
 * directions lead down; `tries` without success shrink the step. */
typedef struct manner {
    double step; /* radians */
    int tries;
    double shrink;
} manner;

static start descend(const prism *p, start s, manner how) {
    uint64_t state = 1;
    int failed = 0;
    support held = {.count = 0};
    for (double step = how.step; step > SMALLEST_STEP && !fits_in(s.radius);) {
        if (s.radius > RADIUS_MM + NEAR_MM + HOPE_MM * step) break;
        pose q = {s.pose.turn + step * next_random(&state), s.pose.rise + step * next_random(&state),
                  s.pose.heading + step * next_random(&state)};
        double radius = radius_in_pose(p, q, s.radius, &held);
        failed = radius < s.radius ? 0 : failed + 1;
        if (radius < s.radius) s = (start){q, radius};
        if (failed < how.tries) continue;
        step *= how.shrink;
        failed = 0;
    }
    return s;
}

static const manner hasty = {FIRST_STEP, 10, 0.6}, careful = {FIRST_STEP / 4, 50, 0.8};

/* Hasty descents from all starts; careful ones from the best ends of those. *found = a pose that fits. */
static bool search_poses(const prism *p, double narrowest_turn, start *found) {
    hunt h = {.p = p, .found = found}, ends = {.p = p};
    if (try_grid(&h, narrowest_turn)) return true;
    for (size_t i = 0; i < h.count; i++) {
        *found = descend(p, h.starts[i], hasty);
        if (fits_in(found->radius)) return true;
        keep_start(&ends, found->pose, found->radius);
    }
    for (size_t i = 0; i < ends.count && i < CAREFUL && ends.starts[i].radius < RADIUS_MM + NEAR_MM; i++) {
        *found = descend(p, ends.starts[i], careful);
        if (fits_in(found->radius)) return true;
    }
    return false;
}

/* ---- exact tests, and the whole ---- */

/* Least width of the hull, and the turn at which it lies along e: square to one of the sides. */
static double narrowest_width(const prism *p, double *turn) {
    double least = INFINITY;
    for (size_t i = 0; i < p->count; i++) {
        dt_point side = dt_point_sub(p->corners[(i + 1) % p->count], p->corners[i]);
        double square = atan2(side.y, side.x) + PI / 2, width = prism_width(p, square);
        if (width >= least) continue;
        least = width;
        *turn = square;
    }
    return least;
}

static double longest_chord(const prism *p) {
    double most = 0.0;
    for (size_t i = 0; i < p->count; i++)
        for (size_t k = i + 1; k < p->count; k++) most = fmax(most, dt_point_distance(p->corners[i], p->corners[k]));
    return most;
}

/* Corners of the hull, about its middle, without those that stand out by less than `least`. Leaving corners out keeps it convex.
 * False when too many are left: then the coarser hull must do, which is on the safe side. */
static bool simplify(dt_path hull, double least, prism *out) {
    dt_point middle = dt_path_centroid(hull);
    out->count = 0;
    for (size_t i = 0; i < hull.count; i++) {
        dt_point p = dt_point_sub(hull.points[i], middle), next = dt_point_sub(hull.points[(i + 1) % hull.count], middle);
        if (out->count > 0 && dt_segment_distance(p, out->corners[out->count - 1], next, NULL) < least) continue;
        if (out->count == MOST_CORNERS) return false;
        out->corners[out->count++] = p;
    }
    return true;
}

/* Standing upright, its thickness along x about the middle of the cylinder. */
static bool stands_upright(double width, double height, double thickness) {
    double half = thickness / 2;
    return half < RADIUS_MM && width <= 2 * sqrt(RADIUS_MM * RADIUS_MM - half * half) && height <= MIDDLE_MM - half;
}

/* Does a pose that fitted the hull without some of its corners do for all of them, with a little moving? */
static bool still_fits(const prism *p, start *found) {
    if (found->radius == INFINITY) return false;
    support held = {.count = 0};
    found->radius = radius_in_pose(p, found->pose, INFINITY, &held);
    *found = descend(p, *found, hasty);
    return fits_in(found->radius);
}

/* With ever finer hulls: what does not fit while corners are left out does not fit at all. */
bool small_part_hull_fits(dt_path hull, rectangle box, double thickness_mm) {
    if (stands_upright(box.width, box.length, thickness_mm)) return true;
    prism p = {.thickness = thickness_mm};
    start found = {{0.0, 0.0, 0.0}, INFINITY};
    for (double least = COARSE_MM; least >= SIMPLER_MM && simplify(hull, least, &p); least /= 4) {
        double turn = 0.0;
        double width = narrowest_width(&p, &turn);
        if (width > 2 * RADIUS_MM || longest_chord(&p) > LONGEST_MM) return false;
        if (stands_upright(width, prism_width(&p, turn + PI / 2), thickness_mm)) continue;
        if (!still_fits(&p, &found) && !search_poses(&p, turn, &found)) return false;
    }
    return true;
}

bool dt_small_part_fits(dt_path outline, double thickness_mm) {
    dt_point *hull = NULL;
    size_t count = 0;
    if (hull_of(outline, &hull, &count) != DT_OK) return true; /* no memory: the safe side */
    dt_path path = {hull, count};
    bool fits = small_part_hull_fits(path, hull_rectangle(path), thickness_mm);
    free(hull);
    return fits;
}
