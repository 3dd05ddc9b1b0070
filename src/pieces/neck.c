/* Necks: the narrowest place that separates two parts of a piece, each of which is larger than a circle of that width.
 *
 * Definition: the least w such that a chord of length w, with an empty circle round it, parts the piece so that each part holds a
 * larger circle, or one as large that lies wholly beyond the chord (an even tab or bar as long as it is wide); or that it opens a
 * ring (the bridge between a hole and the outline, or between two holes, breaks like any other neck although the piece stays in
 * one). At the first kind d(p), the distance to the border, has a saddle of height w / 2: eroding the piece by w / 2 takes two
 * parts asunder. Where d has a saddle, its two nearest border points lie at opposite ends of a diameter of an empty circle, and
 * one of them is a reflex corner of the polygon (two convex or straight stretches cannot face each other at a strict saddle); an
 * even tab begins at a reflex corner too. So the method: for each reflex corner, the border points that face it, by the box tree,
 * nearer than the best so far; keep those whose circle is empty; then ask whether the part beyond the chord holds such a circle.
 * An even bar may have no reflex corner: there the middle of the places of the largest circle is tried. (Saddles of distance
 * functions: Giesen and John, The flow complex, 2003.) The erosion itself, by GEOS, is the twin in the tests.
 */
#include "neck.h"

#include <math.h>

/* What differs in width by less is even: flattened curves make even strips uneven by twice their flatness of 0.01 mm, the grid
 * adds a little. A larger circle is wider than the neck by more, one as large is narrower by less. */
#define EVEN_MM 0.05
/* A part that holds no circle this wide burns away rather than breaks off (facts of the workshop: lines nearer than 0.5 mm). */
#define CRUMB_MM 0.5
/* border_largest_disc: 1 % in a shape with a long even strip. */
#define LARGEST_LOOSE 1.01
/* A circle is empty though border comes this far into it: the sides of an even tab on the micrometre grid are not quite parallel. */
#define EMPTY_SLACK_MM 1e-3
/* Reflex corners are tried in an order that jumps about, so that a narrow place is met early and bounds the rest. */
#define STRIDE 0.6180339887498949

/* A border point x near the corner v rules out all q beyond it: x lies in the circle with diameter v-q when (q - x) . (x - v) > 0. */
typedef struct blocker {
    dt_point to;   /* x - v */
    double limit;  /* its square */
} blocker;

enum { MOST_BLOCKERS = 6 };

/* Places looked at for one piece, and for all. A knobbed piece needs 100 as a rule and 1,500 at most, a coast 10,000; beyond these an
 * outline is so ragged that the search would take many seconds. */
#define MOST_WORK 200000u
#define MOST_WORK_IN_ALL 4000000u
/* Nodes of the tree that are as much work as one place. */
#define VISITS_A_LOOK 16

typedef struct half_plane {
    dt_point way;
    double limit;
    bool low_x, low_y; /* which end of a box leads least that way */
} half_plane;

typedef struct neck_search {
    const border *b;
    disc largest;
    dt_neck best;        /* width_mm is the bound: what is not below it does not matter */
    uint32_t corner;
    dt_point at, next, previous; /* the corner, and where its two sides lead, from it */
    half_plane behind_next, behind_previous;
    blocker blockers[MOST_BLOCKERS];
    size_t blocker_count;
    uint64_t work;       /* places looked at in parts, */
    uint64_t visits;     /* and nodes on the way to what faces a corner */
    uint64_t most_work;
    dt_status status;
} neck_search;

static double radius_to_hold(double width) {
    return fmax(width, CRUMB_MM) / 2;
}

/* More than half of a circle with its centre in the part lies in the part, if the rest crosses the chord. */
static bool holds(neck_search *s, border_part part, double width) {
    border_question question = {part, radius_to_hold(width - EVEN_MM), radius_to_hold(width + EVEN_MM)};
    bool answer = false;
    if (border_part_is_narrower(s->b, part, question.clear_radius)) return false;
    if (s->status == DT_OK) s->status = border_part_holds(s->b, &question, &s->work, &answer);
    return s->status == DT_OK && answer;
}

/* One part holds the largest circle of all, so the other is asked first. */
static bool separates(neck_search *s, contact from, contact to, double width) {
    if (s->b->ring[from.segment] != s->b->ring[to.segment]) return fmax(width, 2 * s->largest.radius) > CRUMB_MM;
    border_part part = {from, to}, rest = {to, from};
    bool short_first = border_part_corners(s->b, part) <= border_part_corners(s->b, rest);
    border_part shorter = short_first ? part : rest, longer = short_first ? rest : part;
    bool largest_in_shorter = border_part_contains(s->b, shorter, s->largest.centre);
    if (!holds(s, largest_in_shorter ? longer : shorter, width)) return false;
    return s->largest.radius > radius_to_hold(width + EVEN_MM) || holds(s, largest_in_shorter ? shorter : longer, width);
}

static void add_blocker(neck_search *s, dt_point x) {
    dt_point to = dt_point_sub(x, s->at);
    double length2 = dt_point_dot(to, to), limit = length2 + EMPTY_SLACK_MM * sqrt(length2);
    if (s->blocker_count < MOST_BLOCKERS) s->blockers[s->blocker_count++] = (blocker){to, limit};
}

/* Is all of the box (a point: low = high) beyond one of the blockers? */
static inline bool is_blocked(const neck_search *s, const dt_box *box) {
    for (size_t i = 0; i < s->blocker_count; i++) {
        const blocker *b = &s->blockers[i];
        double x = (b->to.x > 0.0 ? box->low.x : box->high.x) - s->at.x, y = (b->to.y > 0.0 ? box->low.y : box->high.y) - s->at.y;
        if (b->to.x * x + b->to.y * y > b->limit) return true;
    }
    return false;
}

static void try_chord(neck_search *s, contact to) {
    dt_point q = border_point_at(s->b, to), middle = dt_point_scale(dt_point_add(s->at, q), 0.5);
    double width = dt_point_distance(s->at, q);
    if (width >= s->best.width_mm || is_blocked(s, &(dt_box){q, q})) return;
    contact in_the_way;
    if (border_nearest_within(s->b, middle, width / 2 - EMPTY_SLACK_MM, &in_the_way)) {
        add_blocker(s, border_point_at(s->b, in_the_way));
        return;
    }
    add_blocker(s, q);
    if (!separates(s, (contact){0.0, s->corner, 0.0}, to, width)) return;
    s->best = (dt_neck){width, middle};
}

/* Is `side` square to `towards`, or does it lead away from there? Sides of tabs that narrow by no more than EVEN_MM over their width
 * are as good as square. */
static inline bool leads_away(dt_point side, dt_point towards) {
    double dot = side.x * towards.x + side.y * towards.y;
    return dot <= 0.0 || dot * dot <= EVEN_MM / 2 * (EVEN_MM / 2) * (side.x * side.x + side.y * side.y);
}

/* Does q, seen from the corner p with sides towards `next` and `previous`, lie where the corner is the nearest point? */
static inline bool faces(dt_point next, dt_point previous, dt_point towards) {
    return leads_away(next, towards) && leads_away(previous, towards);
}

static void try_foot(neck_search *s, uint32_t k) {
    dt_point a = s->b->at[k], b = s->b->at[s->b->next[k]];
    double ux = b.x - a.x, uy = b.y - a.y, px = s->at.x - a.x, py = s->at.y - a.y;
    double along = px * ux + py * uy, length2 = ux * ux + uy * uy;
    if (along < 0.0 || along > length2 || ux * py - uy * px <= 0.0) return; /* no foot, or the corner is behind */
    double t = along / length2;
    dt_point towards = {t * ux - px, t * uy - py};
    if (faces(s->next, s->previous, towards)) try_chord(s, (contact){0.0, k, t});
}

/* Whatever lies in the corner's own cone blocks, whether it faces the corner or not; each pair is tried once. */
static void try_corner(neck_search *s, uint32_t k) {
    dt_point towards = dt_point_sub(s->b->at[k], s->at);
    if (!faces(s->next, s->previous, towards) || is_blocked(s, &(dt_box){s->b->at[k], s->b->at[k]})) return;
    dt_point next = dt_point_sub(s->b->at[s->b->next[k]], s->b->at[k]);
    dt_point previous = dt_point_sub(s->b->at[s->b->previous[k]], s->b->at[k]);
    bool pair = s->b->reflex[k] && k > s->corner && faces(next, previous, dt_point_scale(towards, -1.0));
    if (pair) try_chord(s, (contact){0.0, k, 0.0});
    else if (k != s->corner) add_blocker(s, s->b->at[k]);
}

/* Where `side` does not lead away from the corner, leads_away as above: side . p > limit. */
static half_plane half_plane_of(dt_point corner, dt_point side) {
    double slack = EVEN_MM / 2 * sqrt(dt_point_dot(side, side));
    return (half_plane){side, dt_point_dot(side, corner) + slack, side.x > 0.0, side.y > 0.0};
}

/* Does all of the box lie there? */
static inline bool is_behind(const dt_box *box, const half_plane *h) {
    const dt_point ends[2] = {box->high, box->low};
    return h->way.x * ends[h->low_x].x + h->way.y * ends[h->low_y].y > h->limit;
}

static inline double distance2_to(const dt_box *box, dt_point p) {
    double dx = p.x < box->low.x ? box->low.x - p.x : p.x > box->high.x ? p.x - box->high.x : 0.0;
    double dy = p.y < box->low.y ? box->low.y - p.y : p.y > box->high.y ? p.y - box->high.y : 0.0;
    return dx * dx + dy * dy;
}

static inline bool is_near(const neck_search *s, double distance2) {
    return distance2 < s->best.width_mm * s->best.width_mm;
}

/* Both halves of a node that is near enough itself; the nearer half first, since what is found there blocks the other. */
static void visit(neck_search *s, size_t node) {
    const border *b = s->b;
    const dt_box *box = &b->boxes[node];
    s->visits++;
    if (is_behind(box, &s->behind_next) || is_behind(box, &s->behind_previous)) return;
    if (is_blocked(s, box)) return;
    if (node < b->leaves) {
        double left = distance2_to(&b->boxes[2 * node], s->at), right = distance2_to(&b->boxes[2 * node + 1], s->at);
        bool right_first = right < left;
        if (is_near(s, right_first ? right : left)) visit(s, 2 * node + right_first);
        if (is_near(s, right_first ? left : right)) visit(s, 2 * node + !right_first);
        return;
    }
    size_t first = (node - b->leaves) * BORDER_LEAF;
    for (size_t k = first; k < first + BORDER_LEAF && k < b->count; k++) {
        if (b->next[k] != s->corner && k != s->corner) try_foot(s, (uint32_t)k);
        try_corner(s, (uint32_t)k);
    }
}

static void search_from(neck_search *s, uint32_t corner) {
    const border *b = s->b;
    s->corner = corner;
    s->at = b->at[corner];
    s->next = dt_point_sub(b->at[b->next[corner]], s->at);
    s->previous = dt_point_sub(b->at[b->previous[corner]], s->at);
    s->behind_next = half_plane_of(s->at, s->next);
    s->behind_previous = half_plane_of(s->at, s->previous);
    s->blocker_count = 0;
    visit(s, 1);
    if (s->status == DT_OK && s->work + s->visits / VISITS_A_LOOK > s->most_work) s->status = DT_TOO_LARGE;
}

static size_t common_divisor(size_t a, size_t b) {
    while (b) {
        size_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static size_t stride(size_t count) {
    size_t step = 1 + (size_t)((double)count * STRIDE);
    while (common_divisor(count, step) != 1) step++;
    return step;
}

static bool fits(const border *b, dt_point p, double radius) {
    contact nearest;
    return border_nearest_beyond(b, p, 0, radius, &nearest) && border_is_inside(b, p, nearest);
}

/* How far a circle of this radius may move from `centre` along the unit vector `way`. */
static double room_along(const border *b, dt_point centre, dt_point way, double radius) {
    double low = 0.0, high = dt_point_distance(b->boxes[1].low, b->boxes[1].high);
    while (high - low > EVEN_MM) {
        double middle = (low + high) / 2;
        dt_point p = dt_point_add(centre, dt_point_scale(way, middle));
        if (fits(b, p, radius)) low = middle;
        else high = middle;
    }
    return low;
}

/* The chord in the middle of the even bar in which the largest circle lies, if it lies in one. */
static void try_bar(neck_search *s) {
    const border *b = s->b;
    dt_point centre = s->largest.centre;
    double radius = s->largest.radius - EVEN_MM / 2;
    contact one = border_nearest(b, centre, 0);
    dt_point across = dt_point_sub(border_point_at(b, one), centre);
    if (radius <= 0.0 || one.distance == 0.0) return;
    dt_point way = dt_point_scale((dt_point){-across.y, across.x}, 1 / one.distance);
    bool ahead = fits(b, dt_point_add(centre, dt_point_scale(way, radius)), radius);
    if (!ahead && !fits(b, dt_point_sub(centre, dt_point_scale(way, radius)), radius)) return; /* no bar as long as wide */
    double on = room_along(b, centre, way, radius), back = room_along(b, centre, dt_point_scale(way, -1.0), radius);
    if (on + back < 2 * radius) return;
    dt_point middle = dt_point_add(centre, dt_point_scale(way, (on - back) / 2));
    one = border_nearest(b, middle, one.segment);
    contact other = border_nearest(b, dt_point_sub(middle, dt_point_scale(across, 0.9)), 0);
    dt_point p = border_point_at(b, one), q = border_point_at(b, other);
    double width = dt_point_distance(p, q);
    middle = dt_point_scale(dt_point_add(p, q), 0.5);
    if (border_nearest_within(b, middle, width / 2 - EMPTY_SLACK_MM, &one) || !separates(s, one, other, width)) return;
    s->best = (dt_neck){width, middle};
}

dt_status neck_find(const border *b, disc largest, uint64_t *work, dt_neck *out) {
    double widest = 2 * largest.radius * LARGEST_LOOSE + EVEN_MM; /* a chord's circle is no larger than the largest */
    neck_search s = {.b = b, .largest = largest, .best = {widest, largest.centre}};
    uint64_t left = *work < MOST_WORK_IN_ALL ? MOST_WORK_IN_ALL - *work : 0;
    s.most_work = left < MOST_WORK ? left : MOST_WORK;
    try_bar(&s);
    size_t step = stride(b->count);
    for (size_t rounds = 0, k = 0; rounds < b->count; rounds++, k = (k + step) % b->count)
        if (b->reflex[k] && s.status == DT_OK) search_from(&s, (uint32_t)k);
    *work += s.work + s.visits / VISITS_A_LOOK;
    if (s.status != DT_OK) return s.status;
    if (s.best.width_mm >= widest) s.best.width_mm = INFINITY;
    *out = s.best;
    return DT_OK;
}

dt_status dt_piece_neck(const dt_piece *piece, dt_neck *out) {
    border *b = NULL;
    dt_status status = border_new(piece->outline, piece->holes, piece->hole_count, &b);
    if (status != DT_OK) return status;
    disc largest;
    uint64_t disc_work = 0, work = 0;
    status = border_largest_disc(b, &disc_work, &largest);
    if (status == DT_OK) status = neck_find(b, largest, &work, out);
    border_free(b);
    return status;
}
