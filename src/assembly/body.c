/* Bodies: see body.h. Breaks are found by comparing how much a ring turns at a point with how much it turns at the points beside it:
 * a flattened curve, however tight, turns by much the same at each; a drawn corner stands out. */
#include "body.h"

#include "assembly/vector.h"
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
/* Points nearer than this are one corner, mm: rounding and joining split corners; a curve of 1 mm radius is flattened in such steps. */
static const double WINDOW_MM = 0.3;
/* The least turn that ends a smooth stretch; 3 degrees over 5 mm are about a kerf. */
static const double BREAK_TURN = 3.0 / 180.0 * 3.14159265358979323846;
/* A turn that may fill a gap or leave one: see GAP_LIMIT in board.c, which must leave a margin for the measuring of angles. */
static const double CORNER_TURN = 12.0 / 180.0 * 3.14159265358979323846;
/* So much turn within the window is a break whatever stands around it: no curve above 1 mm radius does it. */
static const double SURE_TURN = 35.0 / 180.0 * 3.14159265358979323846;
/* The length of a chord times the turn at its ends is eight times its error: 0.04 mm here, more than any flattening leaves. */
static const double CHORD_MM = 0.3;
/* Length over which the directions at a break are measured, mm: long against noise, short against knobs. */
static const double DIRECTION_MM = 0.6;
/* The field answers exactly up to this many tolerances. */
static const double REACH = 3.0;
enum { LEAST_CELLS = 256, MOST_CELLS = 1 << 18, CELLS_PER_POINT = 4 };

static double turn_between(dt_point a, dt_point b) {
    return atan2(dt_point_cross(a, b), dt_point_dot(a, b));
}

static dt_point unit(dt_point v) {
    double length = hypot(v.x, v.y);
    return length > 0.0 ? dt_point_scale(v, 1.0 / length) : (dt_point){1.0, 0.0};
}

static bool take_points(dt_body *body, dt_arena *arena) {
    size_t n = body->point_count;
    body->points = DT_TAKE(arena, n, dt_point);
    body->normals = DT_TAKE(arena, n, dt_point);
    body->next = DT_TAKE(arena, n, uint32_t);
    body->arc = DT_TAKE(arena, n, double);
    body->ring_start = DT_TAKE(arena, body->ring_count + 1, uint32_t);
    body->ring_length = DT_TAKE(arena, body->ring_count, double);
    return body->points && body->normals && body->next && body->arc && body->ring_start && body->ring_length;
}

static void set_normals(dt_body *body, uint32_t start, uint32_t end) {
    for (uint32_t i = start, previous = end - 1; i < end; previous = i++) {
        dt_point before = unit(dt_point_sub(body->points[i], body->points[previous]));
        dt_point after = unit(dt_point_sub(body->points[body->next[i]], body->points[i]));
        dt_point along = unit(dt_point_add(before, after));
        body->normals[i] = (dt_point){-along.y, along.x};
    }
}

/* Copies a ring without points that repeat the one before. */
static void copy_ring(dt_body *body, uint32_t ring, dt_path path) {
    uint32_t start = body->ring_start[ring], end = start;
    double length = 0.0;
    for (size_t i = 0; i < path.count; i++) {
        double step = end > start ? dt_point_distance(body->points[end - 1], path.points[i]) : 1.0;
        bool closes = i + 1 == path.count && dt_point_distance(path.points[i], path.points[0]) == 0.0;
        if (step == 0.0 || (closes && i > 0)) continue;
        if (end > start) length += step;
        body->points[end] = path.points[i];
        body->arc[end] = length;
        body->next[end] = end + 1;
        end++;
    }
    if (end > start) {
        body->next[end - 1] = start;
        length += dt_point_distance(body->points[end - 1], body->points[start]);
        set_normals(body, start, end);
    }
    body->ring_length[ring] = length;
    body->ring_start[ring + 1] = end;
}

static void measure(dt_body *body) {
    dt_point sum = {0.0, 0.0};
    body->box = dt_box_of((dt_path){body->points, body->point_count});
    for (uint32_t r = 0; r < body->ring_count; r++) {
        dt_path ring = {body->points + body->ring_start[r], body->ring_start[r + 1] - body->ring_start[r]};
        double area = dt_path_area(ring);
        body->area += area;
        body->perimeter += body->ring_length[r];
        sum = dt_point_add(sum, dt_point_scale(dt_path_centroid(ring), area));
    }
    body->centre = body->area != 0.0 ? dt_point_scale(sum, 1.0 / body->area) : body->points[0];
    for (uint32_t i = 0; i < body->point_count; i++)
        body->radius = fmax(body->radius, dt_point_distance(body->centre, body->points[i]));
}

/* ---- places along a ring ---- */

static double wrapped(double s, double length) {
    s = fmod(s, length);
    return s < 0.0 ? s + length : s;
}

/* The last point of the ring whose arc position is <= s (0 <= s < length). */
static uint32_t point_before(const dt_body *body, uint32_t ring, double s) {
    uint32_t low = body->ring_start[ring], high = body->ring_start[ring + 1];
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (body->arc[middle] <= s) low = middle;
        else high = middle;
    }
    return low;
}

dt_point dt_body_at(const dt_body *body, uint32_t ring, double s) {
    s = wrapped(s, body->ring_length[ring]);
    uint32_t i = point_before(body, ring, s);
    dt_point a = body->points[i], b = body->points[body->next[i]];
    double step = dt_point_distance(a, b);
    double t = step > 0.0 ? (s - body->arc[i]) / step : 0.0;
    return dt_point_add(a, dt_point_scale(dt_point_sub(b, a), fmin(t, 1.0)));
}

double dt_body_arc(const dt_body *body, const dt_depth *hit, uint32_t *ring) {
    uint32_t r = 0;
    while (hit->segment >= body->ring_start[r + 1]) r++;
    *ring = r;
    return body->arc[hit->segment] + dt_point_distance(body->points[hit->segment], hit->nearest);
}

/* ---- breaks ---- */

typedef struct ring_turns {
    const double *turn, *arc; /* per point of the ring */
    uint32_t count;
    double length;
} ring_turns;

typedef enum side { BACK, FORTH } side;

static uint32_t step_from(const ring_turns *t, uint32_t i, side way) {
    return way == FORTH ? (i + 1) % t->count : (i + t->count - 1) % t->count;
}

static double arc_between(const ring_turns *t, uint32_t i, uint32_t j, side way) {
    return way == FORTH ? wrapped(t->arc[j] - t->arc[i], t->length) : wrapped(t->arc[i] - t->arc[j], t->length);
}

/* Turn at point i and at whatever lies within the window around it. */
static double turn_around(const ring_turns *t, uint32_t i) {
    double sum = t->turn[i];
    for (side way = BACK; way <= FORTH; way++)
        for (uint32_t k = 1, j = step_from(t, i, way); k < t->count; k++, j = step_from(t, j, way)) {
            if (arc_between(t, i, j, way) > WINDOW_MM) break;
            sum += t->turn[j];
        }
    return sum;
}

/* The same at the first point beyond the window; 0 where it is so far off that the line between is no chord of a flattened curve. */
static double turn_beside(const ring_turns *t, uint32_t i, double here, side way) {
    uint32_t j = step_from(t, i, way);
    for (uint32_t k = 1; k < t->count && arc_between(t, i, j, way) <= WINDOW_MM; k++) j = step_from(t, j, way);
    return j == i || arc_between(t, i, j, way) * here > CHORD_MM ? 0.0 : turn_around(t, j);
}

/* A flattened curve turns by much the same at each of its points; a drawn corner stands out. */
static bool is_break(const ring_turns *t, uint32_t i) {
    double here = fabs(turn_around(t, i));
    if (here >= SURE_TURN) return true;
    if (here < BREAK_TURN) return false;
    double beside = fmax(fabs(turn_beside(t, i, here, BACK)), fabs(turn_beside(t, i, here, FORTH)));
    return here >= 2.5 * beside || (here >= 1.5 * beside && here - beside >= 2.5 * BREAK_TURN);
}

/* Does nothing within the window around it turn more, and has nothing there been chosen? On a tight curve only its tightest points stand. */
static bool stands_alone(const ring_turns *t, uint32_t i, const bool *chosen) {
    for (side way = BACK; way <= FORTH; way++)
        for (uint32_t k = 1, j = step_from(t, i, way); k < t->count; k++, j = step_from(t, j, way)) {
            if (arc_between(t, i, j, way) > WINDOW_MM) break;
            if (chosen[j] || fabs(t->turn[j]) > fabs(t->turn[i])) return false;
        }
    return !chosen[i];
}

/* The point farthest on one side, within the window, that has a share in the break: a corner that was cut off has two points or more. */
static double shoulder(const ring_turns *t, uint32_t i, side way) {
    static const double SHARE = 0.2;
    double least = fmax(BREAK_TURN, SHARE * fabs(t->turn[i])), far = 0.0;
    for (uint32_t k = 1, j = step_from(t, i, way); k < t->count; k++, j = step_from(t, j, way)) {
        double off = arc_between(t, i, j, way);
        if (off > WINDOW_MM) break;
        if (fabs(t->turn[j]) >= least) far = off;
    }
    return far;
}

/* A corner that was cut off lies where its two lines would meet. */
static void restore_corner(dt_break *b, dt_point before, dt_point after) {
    double sine = dt_point_cross(b->in, b->out);
    if (fabs(sine) < sin(CORNER_TURN)) return;
    dt_point meet = dt_point_add(before, dt_point_scale(b->in, dt_point_cross(dt_point_sub(after, before), b->out) / sine));
    if (dt_point_distance(meet, b->at) <= WINDOW_MM) b->at = meet;
}

/* What the ring turns at point i and at those that rounding has split from it. */
static double turn_in_a_point(const ring_turns *t, uint32_t i) {
    static const double POINT_MM = 0.06;
    double sum = t->turn[i];
    for (uint32_t k = 1, j = step_from(t, i, FORTH); k < t->count && arc_between(t, i, j, FORTH) <= POINT_MM; k++, j = step_from(t, j, FORTH))
        sum += t->turn[j];
    return fabs(sum);
}

/* Does nearly all that the ring turns near the break fall to one point of it? A point of a bend, drawn with noise, may turn by half of it. */
static bool is_sharp(const ring_turns *t, uint32_t i) {
    static const double NEAR_MM = 0.5, SHARE = 0.8;
    double all = fabs(t->turn[i]), most = turn_in_a_point(t, i);
    for (side way = BACK; way <= FORTH; way++)
        for (uint32_t k = 1, j = step_from(t, i, way); k < t->count; k++, j = step_from(t, j, way)) {
            if (arc_between(t, i, j, way) > NEAR_MM) break;
            all += fabs(t->turn[j]);
            most = fmax(most, turn_in_a_point(t, j));
        }
    return most >= SHARE * all;
}

static void set_directions(const dt_body *body, dt_break *b, double back, double forth) {
    double step_out = fmin(DIRECTION_MM, (b->ahead - forth) / 2.0), step_in = fmin(DIRECTION_MM, (b->behind - back) / 2.0);
    dt_point before = dt_body_at(body, b->ring, b->arc - back), after = dt_body_at(body, b->ring, b->arc + forth);
    b->out = unit(dt_point_sub(dt_body_at(body, b->ring, b->arc + forth + step_out), after));
    b->in = unit(dt_point_sub(before, dt_body_at(body, b->ring, b->arc - back - step_in)));
    double turn = turn_between(b->in, b->out);
    b->angle = PI - turn;
    b->corner = fabs(turn) >= CORNER_TURN;
    if (back > 0.0 || forth > 0.0) restore_corner(b, before, after);
}

static void link_breaks(dt_body *body, uint32_t first, const ring_turns *t, uint32_t ring) {
    uint32_t count = body->break_count - first;
    for (uint32_t k = 0; k < count; k++) {
        dt_break *b = &body->breaks[first + k], *after = &body->breaks[first + (k + 1) % count];
        double ahead = count > 1 ? wrapped(after->arc - b->arc, t->length) : t->length;
        b->ahead = ahead;
        after->behind = ahead;
    }
    for (uint32_t k = 0; k < count; k++) {
        dt_break *b = &body->breaks[first + k];
        uint32_t i = b->point - body->ring_start[ring];
        set_directions(body, b, shoulder(t, i, BACK), shoulder(t, i, FORTH));
        b->sharp = is_sharp(t, i);
    }
}

typedef struct sharpness {
    double turn;
    uint32_t point;
} sharpness;

static int compare_sharpness(const void *a, const void *b) {
    const sharpness *x = a, *y = b;
    if (x->turn != y->turn) return x->turn > y->turn ? -1 : 1;
    return (x->point > y->point) - (x->point < y->point);
}

/* Of several points that could be the same break, the one that turns most (then the first) stands for it. */
static bool choose_breaks(const ring_turns *t, bool *chosen, dt_arena *arena) {
    sharpness *order = DT_TAKE(arena, t->count, sharpness);
    uint32_t count = 0;
    if (!order) return false;
    for (uint32_t i = 0; i < t->count; i++)
        if (is_break(t, i)) order[count++] = (sharpness){fabs(t->turn[i]), i};
    if (count) qsort(order, count, sizeof *order, compare_sharpness);
    for (uint32_t k = 0; k < count; k++) chosen[order[k].point] = stands_alone(t, order[k].point, chosen);
    return true;
}

/* Points on the net's grid of a micrometre may make a hook of a few at a corner, whose turns there and back are none of
 * the drawing's: what so short a run turns falls to one point. The run's points, of at most `most`. */
static uint32_t gather_hook(const ring_turns *t, uint32_t i, uint32_t most, double *turn) {
    static const double HOOK_MM = 0.003;
    uint32_t run = 0, sharpest = i;
    double sum = 0.0;
    for (uint32_t j = i; run < most && arc_between(t, i, j, FORTH) <= HOOK_MM; run++, j = step_from(t, j, FORTH)) {
        sum += turn[j];
        if (fabs(turn[j]) > fabs(turn[sharpest])) sharpest = j;
    }
    for (uint32_t k = 0, j = i; k < run; k++, j = step_from(t, j, FORTH)) turn[j] = j == sharpest ? sum : 0.0;
    return run;
}

/* A ring may start within a hook, so the runs are taken from the longest line on. */
static void gather_hooks(const ring_turns *t, double *turn) {
    uint32_t start = 0;
    double longest = 0.0;
    for (uint32_t i = 0; i < t->count; i++) {
        double behind = arc_between(t, i, step_from(t, i, BACK), BACK);
        if (behind > longest) start = i;
        longest = fmax(longest, behind);
    }
    for (uint32_t done = 0; done < t->count;)
        done += gather_hook(t, (start + done) % t->count, t->count - done, turn);
}

static bool ring_breaks(dt_body *body, uint32_t ring, double *turn, bool *chosen, dt_arena *arena) {
    uint32_t start = body->ring_start[ring], end = body->ring_start[ring + 1], first = body->break_count;
    for (uint32_t i = start, previous = end - 1; i < end; previous = i++) {
        turn[i - start] = turn_between(dt_point_sub(body->points[i], body->points[previous]),
                                       dt_point_sub(body->points[body->next[i]], body->points[i]));
        chosen[i - start] = false;
    }
    ring_turns t = {turn, body->arc + start, end - start, body->ring_length[ring]};
    gather_hooks(&t, turn);
    if (!choose_breaks(&t, chosen, arena)) return false;
    for (uint32_t i = 0; i < t.count; i++)
        if (chosen[i])
            body->breaks[body->break_count++] =
                (dt_break){.ring = ring, .point = start + i, .at = body->points[start + i], .arc = t.arc[i]};
    link_breaks(body, first, &t, ring);
    return true;
}

static bool find_breaks(dt_body *body, dt_arena *arena) {
    double *turn = DT_TAKE(arena, body->point_count, double);
    bool *chosen = DT_TAKE(arena, body->point_count, bool);
    body->breaks = DT_TAKE(arena, body->point_count, dt_break);
    bool done = turn && chosen && body->breaks;
    for (uint32_t r = 0; done && r < body->ring_count; r++)
        if (body->ring_start[r + 1] > body->ring_start[r]) done = ring_breaks(body, r, turn, chosen, arena);
    return done;
}

/* ---- the field ---- */

static void size_field(dt_body *body, dt_field *f) {
    dt_box box = body->box;
    double width = box.high.x - box.low.x + 2.0 * f->reach, height = box.high.y - box.low.y + 2.0 * f->reach;
    double cells = fmin(fmax((double)CELLS_PER_POINT * body->point_count, LEAST_CELLS), MOST_CELLS);
    f->cell = sqrt(width * height / cells);
    f->cell = fmax(f->cell, fmax(width, height) / 4096.0);
    f->low = (dt_point){box.low.x - f->reach, box.low.y - f->reach};
    f->columns = (uint32_t)ceil(width / f->cell);
    f->rows = (uint32_t)ceil(height / f->cell);
}

static dt_point cell_centre(const dt_field *f, uint32_t column, uint32_t row) {
    return (dt_point){f->low.x + (column + 0.5) * f->cell, f->low.y + (row + 0.5) * f->cell};
}

/* The point of a cell for which `solid` holds: off the middle, so that lines of a regular drawing do not run through it. */
static dt_point cell_anchor(const dt_field *f, uint32_t column, uint32_t row) {
    return (dt_point){f->low.x + (column + 0.4819) * f->cell, f->low.y + (row + 0.5273) * f->cell};
}

static uint32_t clamp_cell(double position, uint32_t count) {
    if (!(position > 0.0)) return 0;
    return position >= count ? count - 1 : (uint32_t)position;
}

/* Counts (list = NULL) or lists the cells that segment i comes within reach of. */
static void mark_segment(const dt_body *body, dt_field *f, uint32_t i, uint32_t *list) {
    dt_point a = body->points[i], b = body->points[body->next[i]];
    dt_point ends[2] = {a, b};
    dt_box box = dt_box_grown(dt_box_of((dt_path){ends, 2}), f->reach);
    uint32_t c0 = clamp_cell((box.low.x - f->low.x) / f->cell, f->columns), c1 = clamp_cell((box.high.x - f->low.x) / f->cell, f->columns);
    uint32_t r0 = clamp_cell((box.low.y - f->low.y) / f->cell, f->rows), r1 = clamp_cell((box.high.y - f->low.y) / f->cell, f->rows);
    double near = f->reach + f->cell * 0.7072;
    for (uint32_t r = r0; r <= r1; r++)
        for (uint32_t c = c0; c <= c1; c++) {
            if (dt_segment_distance(cell_centre(f, c, r), a, b, NULL) > near) continue;
            uint32_t *first = &f->first[r * f->columns + c];
            if (list) list[(*first)++] = i;
            else (*first)++;
        }
}

static bool list_segments(dt_body *body, dt_field *f, dt_arena *arena) {
    uint32_t cells = f->columns * f->rows, sum = 0;
    f->first = DT_TAKE(arena, cells + 1, uint32_t);
    if (!f->first) return false;
    for (uint32_t i = 0; i < body->point_count; i++) mark_segment(body, f, i, NULL);
    for (uint32_t k = 0; k <= cells; k++) {
        uint32_t count = f->first[k];
        f->first[k] = sum;
        sum += count;
    }
    f->segments = DT_TAKE(arena, sum, uint32_t);
    if (!f->segments) return false;
    for (uint32_t i = 0; i < body->point_count; i++) mark_segment(body, f, i, f->segments);
    memmove(f->first + 1, f->first, cells * sizeof *f->first); /* filling has moved each start to its end */
    f->first[0] = 0;
    return true;
}

/* Even-odd along the rows of anchors. */
static bool fill_solid(dt_body *body, dt_field *f, dt_arena *arena) {
    f->solid = DT_TAKE(arena, (size_t)f->columns * f->rows, bool);
    if (!f->solid) return false;
    for (uint32_t i = 0; i < body->point_count; i++) {
        dt_point a = body->points[i], b = body->points[body->next[i]];
        double low = fmin(a.y, b.y), high = fmax(a.y, b.y);
        uint32_t r = clamp_cell((low - f->low.y) / f->cell - 1.0, f->rows);
        for (; r < f->rows && cell_anchor(f, 0, r).y < high; r++) {
            double y = cell_anchor(f, 0, r).y;
            if ((a.y > y) == (b.y > y)) continue;
            double x = a.x + (y - a.y) * (b.x - a.x) / (b.y - a.y);
            double column = ceil((x - cell_anchor(f, 0, r).x) / f->cell);
            if (column < f->columns) f->solid[r * f->columns + clamp_cell(column, f->columns)] ^= true;
        }
    }
    for (uint32_t r = 0; r < f->rows; r++) {
        bool solid = f->beyond;
        for (uint32_t c = 0; c < f->columns; c++) {
            solid ^= f->solid[r * f->columns + c];
            f->solid[r * f->columns + c] = solid;
        }
    }
    return true;
}

static bool make_field(dt_body *body, bool beyond, double tolerance, dt_arena *arena) {
    dt_field *f = &body->field;
    f->reach = REACH * tolerance;
    f->beyond = beyond;
    size_field(body, f);
    return list_segments(body, f, arena) && fill_solid(body, f, arena);
}

static dt_depth far_away(const dt_field *f, bool solid) {
    return (dt_depth){.depth = solid ? f->reach : -f->reach};
}

static bool is_in_solid(const dt_body *body, const dt_depth *hit, dt_point p) {
    dt_point a = body->points[hit->segment], b = body->points[body->next[hit->segment]];
    bool at_a = hit->nearest.x == a.x && hit->nearest.y == a.y, at_b = hit->nearest.x == b.x && hit->nearest.y == b.y;
    if (!at_a && !at_b) return dt_point_cross(dt_point_sub(b, a), dt_point_sub(p, a)) > 0.0;
    dt_point normal = body->normals[at_a ? hit->segment : body->next[hit->segment]];
    return dt_point_dot(normal, dt_point_sub(p, hit->nearest)) > 0.0;
}

static bool crosses(dt_point a, dt_point b, dt_point p, dt_point q) {
    dt_point ab = dt_point_sub(b, a), pq = dt_point_sub(q, p);
    bool parts_pq = (dt_point_cross(ab, dt_point_sub(p, a)) > 0.0) != (dt_point_cross(ab, dt_point_sub(q, a)) > 0.0);
    return parts_pq && (dt_point_cross(pq, dt_point_sub(a, p)) > 0.0) != (dt_point_cross(pq, dt_point_sub(b, p)) > 0.0);
}

/* Beyond reach the nearest listed segment need not be the nearest of all: count what lies between p and the cell's anchor, which
 * is listed in any case. */
static bool is_solid_by_cell(const dt_body *body, uint32_t cell, dt_point p) {
    const dt_field *f = &body->field;
    dt_point anchor = cell_anchor(f, cell % f->columns, cell / f->columns);
    bool solid = f->solid[cell];
    for (uint32_t k = f->first[cell]; k < f->first[cell + 1]; k++) {
        uint32_t i = f->segments[k];
        if (crosses(body->points[i], body->points[body->next[i]], p, anchor)) solid = !solid;
    }
    return solid;
}

/* The nearest of the segments of a cell that has some; gives the squared distance. */
static double nearest_listed(const dt_body *body, uint32_t cell, dt_point p, dt_depth *hit) {
    const dt_field *f = &body->field;
    double best = INFINITY;
    for (uint32_t k = f->first[cell]; k < f->first[cell + 1]; k++) {
        uint32_t i = f->segments[k];
        dt_point a = body->points[i], b = body->points[body->next[i]], along = dt_point_sub(b, a), at;
        double t = dt_point_dot(dt_point_sub(p, a), along), square = dt_point_dot(along, along);
        if (t <= 0.0) at = a;
        else if (t >= square) at = b;
        else at = dt_point_add(a, dt_point_scale(along, t / square));
        dt_point off = dt_point_sub(p, at);
        double distance = dt_point_dot(off, off);
        if (!(distance < best)) continue;
        best = distance;
        hit->nearest = at;
        hit->segment = i;
    }
    return best;
}

dt_depth dt_body_depth(const dt_body *body, dt_point p) {
    const dt_field *f = &body->field;
    double x = (p.x - f->low.x) / f->cell, y = (p.y - f->low.y) / f->cell;
    if (!(x >= 0.0 && y >= 0.0 && x < f->columns && y < f->rows)) return far_away(f, f->beyond);
    uint32_t cell = (uint32_t)y * f->columns + (uint32_t)x;
    if (f->first[cell] == f->first[cell + 1]) return far_away(f, f->solid[cell]);
    dt_depth hit = {.depth = INFINITY};
    double distance = sqrt(nearest_listed(body, cell, p, &hit));
    if (distance >= f->reach) return far_away(f, is_solid_by_cell(body, cell, p));
    bool solid = is_in_solid(body, &hit, p);
    hit.depth = solid ? distance : -distance;
    if (distance > 1e-9) {
        hit.inward = dt_point_scale(dt_point_sub(p, hit.nearest), (solid ? 1.0 : -1.0) / distance);
    } else {
        dt_point along = unit(dt_point_sub(body->points[body->next[hit.segment]], body->points[hit.segment]));
        hit.inward = (dt_point){-along.y, along.x};
    }
    return hit;
}

bool dt_body_holds(const dt_body *body, dt_point p, double depth) {
    const dt_field *f = &body->field;
    double x = (p.x - f->low.x) / f->cell, y = (p.y - f->low.y) / f->cell;
    if (!(x >= 0.0 && y >= 0.0 && x < f->columns && y < f->rows)) return f->beyond;
    uint32_t cell = (uint32_t)y * f->columns + (uint32_t)x;
    if (f->first[cell] == f->first[cell + 1]) return f->solid[cell];
    return dt_body_depth(body, p).depth > depth;
}

/* ---- making ---- */

bool dt_body_make(const dt_path *rings, size_t count, bool beyond, double tolerance, dt_arena *arena, dt_body *out) {
    dt_body body = {.ring_count = (uint32_t)count};
    size_t points = 0;
    for (size_t r = 0; r < count; r++) points += rings[r].count;
    body.point_count = (uint32_t)points;
    if (points == 0 || points > UINT32_MAX / 4 || !take_points(&body, arena)) return false;
    for (uint32_t r = 0; r < count; r++) copy_ring(&body, r, rings[r]);
    body.point_count = body.ring_start[count];
    measure(&body);
    if (!find_breaks(&body, arena) || !make_field(&body, beyond, tolerance, arena)) return false;
    *out = body;
    return true;
}

bool dt_body_mirror(const dt_body *body, double tolerance, dt_arena *arena, dt_body *out) {
    dt_point *points = DT_TAKE(arena, body->point_count, dt_point);
    dt_path *rings = DT_TAKE(arena, body->ring_count, dt_path);
    if (!points || !rings) return false;
    for (uint32_t r = 0; r < body->ring_count; r++) {
        uint32_t start = body->ring_start[r], end = body->ring_start[r + 1];
        for (uint32_t i = start; i < end; i++)
            points[start + end - 1 - i] = (dt_point){-body->points[i].x, body->points[i].y};
        rings[r] = (dt_path){points + start, end - start};
    }
    return dt_body_make(rings, body->ring_count, body->field.beyond, tolerance, arena, out);
}
