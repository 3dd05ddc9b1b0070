/* Rails: see rail.h. The motion has three unknowns: a shift by at most two seats and a turn from where the longest chords lie along each
 * other. Least squares refuse most ends; for the rest a point in all strips is sought in the manner of R. Seidel, "Small-dimensional linear
 * programming and convex hulls made easy", 1991: a strip that the last point misses is entered on its border, where the strips before
 * it are asked again with one unknown less. */
#include "rail.h"

#include "assembly/vector.h"

/* The largest moves along the normal and across the chord as a point slips along the line. */
static void slip_along(const dt_shore *shore, double s, double slip, dt_point normal, dt_point chord, double *off, double *swing) {
    enum { LOOKS = 3 };
    const dt_body *body = shore->laid.body;
    dt_point at = dt_body_at(body, shore->ring, s);
    double reach = sqrt(dt_point_dot(chord, chord));
    *off = *swing = 0.0;
    for (int k = -LOOKS; k <= LOOKS; k++) {
        dt_point by = dt_point_sub(dt_body_at(body, shore->ring, s + slip * k / LOOKS), at);
        *off = fmax(*off, fabs(dt_point_dot(normal, by)));
        *swing = fmax(*swing, fabs(dt_point_cross(chord, by)) / fmax(reach, 1e-9));
    }
}

static dt_point normal_at(const dt_shore *shore, double s) {
    static const double HALF_BASE_MM = 0.1;
    const dt_body *body = shore->laid.body;
    dt_point along = dt_point_sub(dt_body_at(body, shore->ring, s + HALF_BASE_MM), dt_body_at(body, shore->ring, s - HALF_BASE_MM));
    double length = sqrt(dt_point_dot(along, along));
    return length > 0.0 ? (dt_point){-along.y / length, along.x / length} : (dt_point){0.0, 0.0};
}

static double bend_up_to(const dt_curve *curve, double arc) {
    uint32_t level = 0;
    while (level + 1 < curve->levels && dt_level_arc(level) < arc) level++;
    return curve->levels ? curve->bend[level] : 0.0;
}

dt_rail dt_rail_of(const dt_shore *shore, dt_way way, dt_point corner, double seat) {
    double sign = way == DT_AHEAD ? -1.0 : 1.0;
    dt_rail rail = {0};
    for (uint32_t i = 0; i < DT_RAIL_SAMPLES; i++) {
        double arc = dt_rail_arc(i), s = shore->arc + sign * arc;
        double slip = seat * (3.0 + bend_up_to(&shore->curve, arc)); /* how far along the line the nearest point may lie */
        if (arc + slip > shore->curve.length) break;
        dt_point at = dt_body_at(shore->laid.body, shore->ring, s), normal = normal_at(shore, s);
        slip_along(shore, s, slip, normal, dt_point_sub(at, shore->foot), &rail.room[i], &rail.swing[i]);
        double swing;
        slip_along(shore, s, slip + dt_rail_gap(i), normal, dt_point_sub(at, shore->foot), &rail.wide[i], &swing);
        rail.room[i] += seat;
        rail.wide[i] += seat;
        rail.swing[i] += 3.0 * seat;
        rail.at[i] = dt_point_sub(carry(shore->laid.pose, at), corner);
        rail.normals[i] = turn_by(shore->laid.pose, normal);
        rail.count = i + 1;
    }
    return rail;
}

/* ---- strips ---- */

typedef struct vec {
    double x, y, z;          /* mm, mm, radians */
} vec;

static double dot(vec a, vec b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static vec along_by(vec p, double t, vec u) {
    return (vec){p.x + t * u.x, p.y + t * u.y, p.z + t * u.z};
}

static vec cross(vec a, vec b) {
    return (vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

/* |off - row . motion| <= room */
typedef struct strip {
    vec row;
    double off, room;
} strip;

enum { MOST_STRIPS = 2 * DT_RAIL_SAMPLES + 5 };

typedef struct strips {
    strip items[MOST_STRIPS];
    size_t count;
} strips;

/* The border that a point lies beyond, as a value of row . motion; false where it lies within. */
static bool is_missed(const strip *s, vec p, double *border) {
    double at = dot(s->row, p);
    *border = at < s->off ? s->off - s->room : s->off + s->room;
    return fabs(at - s->off) > s->room * (1.0 + 1e-9);
}

static const double PARALLEL = 1e-18; /* squared; strips are scaled to rooms of about a tenth of a mm */

/* A point of all strips on the line p + t u. */
static bool meet_on_line(const strips *all, size_t count, vec *p, vec u) {
    double low = -INFINITY, high = INFINITY;
    for (size_t i = 0; i < count; i++) {
        const strip *s = &all->items[i];
        double slope = dot(s->row, u), from = s->off - dot(s->row, *p), room = s->room * (1.0 + 1e-9);
        if (slope * slope <= PARALLEL) {
            if (fabs(from) > room) return false;
            continue;
        }
        double a = (from - room) / slope, b = (from + room) / slope;
        low = fmax(low, fmin(a, b));
        high = fmin(high, fmax(a, b));
    }
    if (low > high) return false;
    *p = along_by(*p, fmin(fmax(0.0, low), high), u);
    return true;
}

/* On the plane through p across n. */
static bool meet_on_plane(const strips *all, size_t count, vec *p, vec n) {
    for (size_t i = 0; i < count; i++) {
        const strip *s = &all->items[i];
        double border, size = dot(n, n);
        if (!is_missed(s, *p, &border)) continue;
        vec in = along_by(s->row, -dot(s->row, n) / size, n); /* the row's share within the plane */
        double slope = dot(in, in);
        if (slope <= PARALLEL) return false;
        *p = along_by(*p, (border - dot(s->row, *p)) / slope, in);
        if (!meet_on_line(all, i, p, cross(n, in))) return false;
    }
    return true;
}

static bool meet(const strips *all, vec p) {
    for (size_t i = 0; i < all->count; i++) {
        const strip *s = &all->items[i];
        double border;
        if (!is_missed(s, p, &border)) continue;
        double slope = dot(s->row, s->row);
        if (slope <= PARALLEL) return false;
        p = along_by(p, (border - dot(s->row, p)) / slope, s->row);
        if (!meet_on_plane(all, i, &p, s->row)) return false;
    }
    return true;
}

/* ---- least squares ---- */

/* The motion that misses least, each strip measured by its room; *missed: the sum of squares, which is at most the number of strips where
 * one motion lies in all. */
static vec fit(const strips *all, double *missed) {
    double a = 0.0, b = 0.0, c = 0.0, d = 0.0, e = 0.0, f = 0.0, square = 0.0;
    vec right = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < all->count; i++) {
        const strip *s = &all->items[i];
        double w = 1.0 / (s->room * s->room);
        vec r = s->row;
        a += w * r.x * r.x, b += w * r.x * r.y, c += w * r.x * r.z;
        d += w * r.y * r.y, e += w * r.y * r.z, f += w * r.z * r.z;
        right = along_by(right, w * s->off, r);
        square += w * s->off * s->off;
    }
    /* Cholesky; the strips of the box make it positive */
    double l0 = sqrt(a), l1 = b / l0, l2 = c / l0, l3 = sqrt(d - l1 * l1), l4 = (e - l1 * l2) / l3, l5 = sqrt(f - l2 * l2 - l4 * l4);
    double y0 = right.x / l0, y1 = (right.y - l1 * y0) / l3, y2 = (right.z - l2 * y0 - l4 * y1) / l5;
    *missed = square - y0 * y0 - y1 * y1 - y2 * y2;
    vec x;
    x.z = y2 / l5;
    x.y = (y1 - l4 * x.z) / l3;
    x.x = (y0 - l1 * x.y - l2 * x.z) / l0;
    return x;
}

/* ---- the question ---- */

/* One point of a leg against one of the rail. */
static void add_strip(strips *all, const dt_rail *rail, uint32_t i, dt_point e, double room, dt_point turn, double bow) {
    dt_point p = {turn.x * e.x - turn.y * e.y, turn.y * e.x + turn.x * e.y}, n = rail->normals[i];
    double reach = sqrt(dt_point_dot(e, e));
    all->items[all->count++] = (strip){{n.x, n.y, dt_point_cross(p, n)}, dt_point_dot(n, dt_point_sub(rail->at[i], p)), room + bow * reach};
}

static void add_leg(strips *all, const dt_rail *rail, const dt_end *end, uint32_t count, dt_point turn, double bow) {
    for (uint32_t i = 0; i < count; i++) add_strip(all, rail, i, end->rail[i], rail->room[i], turn, bow);
    if (end->tip < rail->count) add_strip(all, rail, end->tip, end->rail[end->rail_count], rail->wide[end->tip], turn, bow);
}

static uint32_t common(const dt_rail *rail, const dt_end *end) {
    return rail->count < end->rail_count ? rail->count : end->rail_count;
}

bool dt_rails_take(const dt_rail *const rails[2], const dt_end *const ends[2], double seat) {
    uint32_t count[2] = {common(rails[0], ends[0]), rails[1] ? common(rails[1], ends[1]) : 0};
    int longer = count[1] > count[0];
    if (count[longer] < 2) return true;
    dt_point u = ends[longer]->rail[count[longer] - 1], v = rails[longer]->at[count[longer] - 1];
    double reach = sqrt(fmin(dt_point_dot(u, u), dt_point_dot(v, v))), scale = sqrt(dt_point_dot(u, u) * dt_point_dot(v, v));
    double turn = 1.1 * rails[longer]->swing[count[longer] - 1] / fmax(reach, 1e-9); /* a tenth: the sine for the angle */
    if (!(scale > 0.0) || turn > 1.0) return true;
    dt_point by = {dt_point_dot(u, v) / scale, dt_point_cross(u, v) / scale};
    strips all = {.items = {{{1.0, 0.0, 0.0}, 0.0, 2.0 * seat}, {{0.0, 1.0, 0.0}, 0.0, 2.0 * seat}, {{0.0, 0.0, reach}, 0.0, turn * reach}},
                  .count = 3};
    for (int k = 0; k < 2; k++)
        if (rails[k]) add_leg(&all, rails[k], ends[k], count[k], by, 0.5 * turn * turn);
    double missed;
    vec start = fit(&all, &missed);
    return missed <= (double)all.count && meet(&all, start);
}
