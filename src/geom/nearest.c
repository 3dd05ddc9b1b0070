/* Nearest points on polylines by a uniform grid, and the directed Hausdorff distance by bisection: see nearest.h. */
#include "geom/nearest.h"

#include <math.h>

enum { MOST_CELLS_A_SIDE = 128, MOST_HALVINGS = 40 };
enum { MOST_CIRCLE_CELLS = 2 }; /* a known bound of no more cells: looking in all cells within it is the shortest way */

static int clamp(double value, int count) {
    if (!(value > 0.0)) return 0;
    return value >= count ? count - 1 : (int)value;
}

static int column_of(const dt_near *near, double x) {
    return clamp((x - near->box.low.x) * near->per_mm, near->columns);
}

static int row_of(const dt_near *near, double y) {
    return clamp((y - near->box.low.y) * near->per_mm, near->rows);
}

static size_t span_count(const dt_path *paths, size_t path_count, bool closed) {
    size_t count = 0;
    for (size_t i = 0; i < path_count; i++)
        if (paths[i].count > 1) count += paths[i].count - (closed ? 0 : 1);
    return count;
}

static void copy_spans(const dt_path *paths, size_t path_count, bool closed, dt_span *spans) {
    for (size_t i = 0; i < path_count; i++) {
        dt_path path = paths[i];
        for (size_t j = 1; j < path.count; j++) *spans++ = (dt_span){path.points[j - 1], path.points[j]};
        if (closed && path.count > 1) *spans++ = (dt_span){path.points[path.count - 1], path.points[0]};
    }
}

/* About two cells for each segment: most cells near the line then hold one to three. */
static void choose_grid(dt_near *near) {
    double width = near->box.high.x - near->box.low.x, height = near->box.high.y - near->box.low.y;
    double cell = sqrt(width * height / (2.0 * (double)near->count));
    cell = fmax(cell, fmax(width, height) / MOST_CELLS_A_SIDE);
    near->cell = cell > 0.0 ? cell : 1.0;
    near->per_mm = 1.0 / near->cell;
    near->columns = clamp(ceil(width / near->cell), MOST_CELLS_A_SIDE) + 1;
    near->rows = clamp(ceil(height / near->cell), MOST_CELLS_A_SIDE) + 1;
}

/* The columns that a segment touches within one row, one cell wider where rounding might lose a touch. */
static void columns_in_row(const dt_near *near, dt_span span, int row, int *first, int *last) {
    double low = near->box.low.y + row * near->cell, high = low + near->cell;
    double dy = span.b.y - span.a.y, x0 = span.a.x, x1 = span.b.x;
    if (fabs(dy) > near->cell) {
        double t0 = fmin(fmax((low - span.a.y) / dy, 0.0), 1.0), t1 = fmin(fmax((high - span.a.y) / dy, 0.0), 1.0);
        x0 = span.a.x + t0 * (span.b.x - span.a.x);
        x1 = span.a.x + t1 * (span.b.x - span.a.x);
    }
    double slack = 1e-9 * near->cell * MOST_CELLS_A_SIDE;
    *first = column_of(near, fmin(x0, x1) - slack);
    *last = column_of(near, fmax(x0, x1) + slack);
}

/* Counts (entries NULL) or enters the cells of every segment; tally holds a counter for each cell. */
static void enter_spans(const dt_near *near, uint32_t *tally, uint32_t *entries) {
    for (size_t i = 0; i < near->count; i++) {
        dt_span span = near->spans[i];
        int last_row = row_of(near, fmax(span.a.y, span.b.y));
        for (int row = row_of(near, fmin(span.a.y, span.b.y)); row <= last_row; row++) {
            int first, last;
            columns_in_row(near, span, row, &first, &last);
            for (int column = first; column <= last; column++) {
                uint32_t *cell = &tally[row * near->columns + column];
                if (entries) entries[*cell] = (uint32_t)i;
                (*cell)++;
            }
        }
    }
}

static dt_status take_spans(const dt_path *paths, size_t path_count, bool closed, dt_arena *arena, dt_near *out) {
    dt_near near = {.count = span_count(paths, path_count, closed), .box = DT_BOX_EMPTY};
    if (near.count == 0) return DT_BAD_ARGUMENT;
    dt_span *spans = DT_TAKE(arena, near.count, dt_span);
    if (!spans) return DT_NO_MEMORY;
    copy_spans(paths, path_count, closed, spans);
    near.spans = spans;
    for (size_t i = 0; i < path_count; i++) near.box = dt_box_join(near.box, dt_box_of(paths[i]));
    *out = near;
    return DT_OK;
}

dt_status dt_near_plain(dt_path path, bool closed, dt_arena *arena, dt_near *out) {
    return take_spans(&path, 1, closed, arena, out);
}

dt_status dt_near_new(const dt_path *paths, size_t path_count, bool closed, dt_arena *arena, dt_near *out) {
    dt_near near;
    dt_status status = take_spans(paths, path_count, closed, arena, &near);
    if (status != DT_OK) return status;
    choose_grid(&near);
    size_t cells = (size_t)near.columns * (size_t)near.rows;
    uint32_t *starts = DT_TAKE(arena, cells + 2, uint32_t);
    if (!starts) return DT_NO_MEMORY;
    enter_spans(&near, starts + 2, NULL);
    for (size_t i = 2; i < cells + 2; i++) starts[i] += starts[i - 1];
    uint32_t *entries = DT_TAKE(arena, starts[cells + 1], uint32_t);
    if (!entries) return DT_NO_MEMORY;
    enter_spans(&near, starts + 1, entries); /* starts[c + 1] walks from the start of cell c to its end */
    near.starts = starts;
    near.entries = entries;
    *out = near;
    return DT_OK;
}

/* As dt_segment_distance, squared: the innermost loop of the whole stage, hence without calls, and without branches: where along a segment
 * a point lies is as good as random. A segment without length is its start (0/0 is not above 0). */
static inline double square_to(dt_point p, dt_span span) {
    double ux = span.b.x - span.a.x, uy = span.b.y - span.a.y, px = p.x - span.a.x, py = p.y - span.a.y;
    double t = (px * ux + py * uy) / (ux * ux + uy * uy);
    t = t > 0.0 ? t : 0.0;
    t = t < 1.0 ? t : 1.0;
    px -= t * ux;
    py -= t * uy;
    return px * px + py * py;
}

typedef struct best {
    double square;
    uint32_t span;
} best;

static inline void look_in(const dt_near *near, dt_point p, int row, int column, best *b) {
    size_t cell = (size_t)row * (size_t)near->columns + (size_t)column;
    for (uint32_t i = near->starts[cell], end = near->starts[cell + 1]; i < end; i++) {
        uint32_t span = near->entries[i];
        double square = square_to(p, near->spans[span]);
        if (square >= b->square) continue;
        b->square = square;
        b->span = span;
    }
}

/* How far p is from the strip of cells `index` along one axis. */
static inline double off_strip(double p, double low, double cell, int index) {
    double from = low + index * cell - p;
    if (from > 0.0) return from;
    return from + cell < 0.0 ? -from - cell : 0.0;
}

static inline void look_if_near(const dt_near *near, dt_point p, int row, int column, double above, best *b) {
    if (column < 0 || column >= near->columns) return;
    double beside = off_strip(p.x, near->box.low.x, near->cell, column);
    if (above + beside * beside < b->square) look_in(near, p, row, column, b);
}

static void look_round(const dt_near *near, dt_point p, int row, int column, int ring, best *b) {
    int first = row < ring ? 0 : row - ring, last = row + ring < near->rows ? row + ring : near->rows - 1;
    for (int r = first; r <= last; r++) {
        double above = off_strip(p.y, near->box.low.y, near->cell, r);
        above *= above;
        if (above >= b->square) continue;
        int step = r == row - ring || r == row + ring ? 1 : 2 * ring;
        for (int c = column - ring; c <= column + ring; c += step) look_if_near(near, p, r, c, above, b);
    }
}

/* Distance from p, drawn into the box of its cell, to the border of that cell: no cell of ring r is nearer than this and
 * r - 1 cells, since drawing p into the box brings it no farther from anything in the box. */
static double room_in_cell(const dt_near *near, dt_point p, int row, int column) {
    double x = (p.x - near->box.low.x) * near->per_mm - column, y = (p.y - near->box.low.y) * near->per_mm - row;
    x = x < 1.0 - x ? x : 1.0 - x;
    y = y < 1.0 - y ? y : 1.0 - y;
    double room = x < y ? x : y;
    return room > 0.0 ? near->cell * room : 0.0;
}

/* Ring by ring, for a point of which only a poor bound is known. */
static void look_in_rings(const dt_near *near, dt_point p, double within, best *b) {
    int row = row_of(near, p.y), column = column_of(near, p.x);
    double room = room_in_cell(near, p, row, column);
    int rings = near->rows > near->columns ? near->rows : near->columns;
    look_in(near, p, row, column, b);
    for (int ring = 1; ring <= rings; ring++) {
        double least = room + (ring - 1) * near->cell;
        if (b->square <= least * least || least > within) break;
        look_round(near, p, row, column, ring, b);
    }
}

/* All cells that a circle round p meets; r is no more than a few cells. */
static void look_in_circle(const dt_near *near, dt_point p, double r, best *b) {
    int last = row_of(near, p.y + r), first_column = column_of(near, p.x - r), last_column = column_of(near, p.x + r);
    for (int row = row_of(near, p.y - r); row <= last; row++) {
        double above = off_strip(p.y, near->box.low.y, near->cell, row);
        above *= above;
        if (above >= b->square) continue;
        for (int column = first_column; column <= last_column; column++) look_if_near(near, p, row, column, above, b);
    }
}

/* From the hint along the line, to and fro, as long as that brings it nearer. */
static inline best walk_from(const dt_near *near, dt_point p, uint32_t hint) {
    best b = {square_to(p, near->spans[hint]), hint};
    for (uint32_t i = hint + 1; i < near->count; i++) {
        double square = square_to(p, near->spans[i]);
        if (square >= b.square) break;
        b = (best){square, i};
    }
    for (uint32_t i = hint; b.span <= hint && i-- > 0;) {
        double square = square_to(p, near->spans[i]);
        if (square >= b.square) break;
        b = (best){square, i};
    }
    return b;
}

static void look_at_all(const dt_near *near, dt_point p, best *b) {
    for (uint32_t i = 0; i < near->count; i++) {
        double square = square_to(p, near->spans[i]);
        if (square < b->square) *b = (best){square, i};
    }
}

static inline dt_point foot_on(dt_span span, dt_point p) {
    double ux = span.b.x - span.a.x, uy = span.b.y - span.a.y;
    double square = ux * ux + uy * uy, along = (p.x - span.a.x) * ux + (p.y - span.a.y) * uy;
    if (along <= 0.0) return span.a;
    if (along >= square) return span.b;
    double t = along / square;
    return (dt_point){span.a.x + t * ux, span.a.y + t * uy};
}

dt_hit dt_near_find_beyond(const dt_near *near, dt_point p, uint32_t hint, double least, double within) {
    best b = walk_from(near, p, hint < near->count ? hint : 0);
    double r = sqrt(b.square);
    if (r <= least) return (dt_hit){r, foot_on(near->spans[b.span], p), b.span};
    if (r > within) r = within;
    if (near->columns == 0) look_at_all(near, p, &b);
    else if (r > MOST_CIRCLE_CELLS * near->cell) look_in_rings(near, p, within, &b);
    else look_in_circle(near, p, r, &b);
    return (dt_hit){sqrt(b.square), foot_on(near->spans[b.span], p), b.span};
}

dt_hit dt_near_find_within(const dt_near *near, dt_point p, uint32_t hint, double within) {
    return dt_near_find_beyond(near, p, hint, -1.0, within);
}

dt_hit dt_near_find(const dt_near *near, dt_point p, uint32_t hint) {
    return dt_near_find_within(near, p, hint, INFINITY);
}

typedef struct climb {
    const dt_near *to;
    double most, tolerance;
    dt_point where;
    bool found;
} climb;

static void climb_to(climb *c, dt_point p, dt_hit hit) {
    if (hit.distance <= c->most) return;
    c->most = hit.distance;
    c->where = p;
    c->found = true;
}

/* The most that any point between p and q can be away. */
static double bound_between(const climb *c, dt_point p, dt_hit at_p, dt_point q, dt_hit at_q) {
    double by_p = fmax(at_p.distance, sqrt(square_to(q, c->to->spans[at_p.span])));
    double by_q = fmax(at_q.distance, sqrt(square_to(p, c->to->spans[at_q.span])));
    double by_length = (at_p.distance + at_q.distance + dt_point_distance(p, q)) / 2.0;
    return fmin(by_length, fmin(by_p, by_q));
}

static void climb_between(climb *c, dt_point p, dt_hit at_p, dt_point q, dt_hit at_q, int depth) {
    if (depth == 0 || bound_between(c, p, at_p, q, at_q) <= c->most + c->tolerance) return;
    dt_point middle = {(p.x + q.x) / 2.0, (p.y + q.y) / 2.0};
    dt_hit at_middle = dt_near_find(c->to, middle, at_p.span);
    climb_to(c, middle, at_middle);
    climb_between(c, p, at_p, middle, at_middle, depth - 1);
    climb_between(c, middle, at_middle, q, at_q, depth - 1);
}

double dt_near_farthest(const dt_near *from, dt_pose pose, const dt_near *to, double floor, double tolerance, dt_point *where) {
    climb c = {.to = to, .most = floor, .tolerance = tolerance};
    dt_hit last = {0};
    for (size_t i = 0; i < from->count; i++) {
        dt_point p = dt_pose_apply(pose, from->spans[i].a), q = dt_pose_apply(pose, from->spans[i].b);
        bool goes_on = i > 0 && from->spans[i - 1].b.x == from->spans[i].a.x && from->spans[i - 1].b.y == from->spans[i].a.y;
        dt_hit at_p = goes_on ? last : dt_near_find(to, p, last.span);
        dt_hit at_q = dt_near_find(to, q, at_p.span);
        climb_to(&c, p, at_p);
        climb_to(&c, q, at_q);
        climb_between(&c, p, at_p, q, at_q, MOST_HALVINGS);
        last = at_q;
    }
    if (c.found) *where = c.where;
    return c.most;
}
