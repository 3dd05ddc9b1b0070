/* Connected groups of pieces (puzzles), edge pieces, corner pieces. Groups by union-find over the seams; the root is always the
 * least number, so groups come out in reading order. Corners by walking the border of the puzzle. */
#include "stage.h"

#include <math.h>

static uint32_t root_of(uint32_t *parent, uint32_t i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
}

dt_status stage_puzzles(stage *s) {
    dt_pieces *result = s->result;
    uint32_t *parent = DT_TAKE(&s->scratch, result->piece_count, uint32_t);
    if (!parent) return DT_NO_MEMORY;
    for (size_t p = 0; p < result->piece_count; p++) parent[p] = (uint32_t)p;
    for (size_t i = 0; i < result->seams.count; i++) {
        const dt_seam *seam = &result->seams.items[i];
        if (seam->b.v == DT_OUTSIDE.v) result->pieces[seam->a.v].edge = true;
        if (!DT_IS_PIECE(seam->b)) continue;
        uint32_t a = root_of(parent, seam->a.v), b = root_of(parent, seam->b.v);
        if (a < b) parent[b] = a;
        else parent[a] = b;
    }
    for (size_t p = 0; p < result->piece_count; p++) {
        uint32_t root = root_of(parent, (uint32_t)p);
        result->pieces[p].puzzle = root == p ? (uint32_t)result->puzzle_count++ : result->pieces[root].puzzle;
    }
    return DT_OK;
}

/* ---- corners ---- */

/* A corner turns by 45 to 135 degrees within 2 mm of border (output.md): window of 1 mm each way. Outward corners only: a piece
 * in a bay of the border has no two edges to hold it by. */
#define CORNER_WINDOW_MM 1.0
#define CORNER_LEAST (45.0 * 3.14159265358979323846 / 180.0)
#define CORNER_MOST (135.0 * 3.14159265358979323846 / 180.0)
#define CORNER_SLACK 1e-6       /* radians: a corner of exactly 45 degrees counts */
#define AT_CORNER_MM 0.05       /* a seam that ends this near to the corner gives it to both pieces */

typedef struct border_point {
    dt_point at;
    double s;               /* along the walk */
    double turn;            /* radians, positive = outward corner */
    uint32_t piece;         /* whose stretch follows */
} border_point;

typedef DT_ARRAY(border_point) border_walk;

static bool is_border_half(const stage *s, uint32_t half) {
    return DT_IS_PIECE(piece_of_face(s, half_face(s->net, half))) &&
           piece_of_face(s, half_face(s->net, half ^ 1u)).v == DT_OUTSIDE.v;
}

typedef struct border_starts {
    uint32_t *first, *next; /* [node] first border half that leaves it; [half] the next one, DT_NO_INDEX = none */
    bool *walked;           /* [half] */
} border_starts;

static bool index_border(stage *s, border_starts *out) {
    size_t nodes = dt_net_node_count(s->net), halves = 2 * dt_net_arc_count(s->net);
    out->first = DT_TAKE(&s->scratch, nodes, uint32_t);
    out->next = DT_TAKE(&s->scratch, halves, uint32_t);
    out->walked = DT_TAKE(&s->scratch, halves, bool);
    if (!out->first || !out->next || !out->walked) return false;
    for (size_t n = 0; n < nodes; n++) out->first[n] = DT_NO_INDEX;
    for (size_t h = 0; h < halves; h++) {
        if (!is_border_half(s, (uint32_t)h)) continue;
        uint32_t node = half_start(s->net, (uint32_t)h);
        out->next[h] = out->first[node];
        out->first[node] = (uint32_t)h;
    }
    return true;
}

static dt_point half_point(const dt_net *net, uint32_t half, size_t i) {
    dt_path path = dt_net_arc(net, half / 2)->path;
    return path.points[half % 2 == 0 ? i : path.count - 1 - i];
}

static double turn_at(dt_point a, dt_point b, dt_point c) {
    dt_point u = dt_point_sub(b, a), v = dt_point_sub(c, b);
    return atan2(dt_point_cross(u, v), dt_point_dot(u, v));
}

/* The border half that goes on from `half`: where the puzzle touches itself in a point, the one that turns off most sharply to
 * the outside, so that the walk stays with the same stretch of outside. */
static uint32_t next_border_half(const stage *s, const border_starts *starts, uint32_t half) {
    size_t last = dt_net_arc(s->net, half / 2)->path.count - 1;
    dt_point before = half_point(s->net, half, last - 1), at = half_point(s->net, half, last);
    uint32_t best = DT_NO_INDEX;
    double best_turn = INFINITY;
    for (uint32_t h = starts->first[half_end(s->net, half)]; h != DT_NO_INDEX; h = starts->next[h]) {
        double turn = turn_at(before, at, half_point(s->net, h, 1));
        if (turn >= best_turn) continue;
        best_turn = turn;
        best = h;
    }
    return best;
}

static bool walk_border(const stage *s, border_starts *starts, uint32_t first, border_walk *walk) {
    walk->count = 0;
    for (uint32_t h = first; h != DT_NO_INDEX && !starts->walked[h]; h = next_border_half(s, starts, h)) {
        starts->walked[h] = true;
        size_t count = dt_net_arc(s->net, h / 2)->path.count;
        uint32_t piece = piece_of_face(s, half_face(s->net, h)).v;
        for (size_t i = 0; i + 1 < count; i++)
            if (!dt_array_push(walk, (border_point){half_point(s->net, h, i), 0.0, 0.0, piece})) return false;
    }
    return true;
}

static double measure_walk(border_walk *walk) {
    double s = 0.0;
    border_point *p = walk->items;
    size_t n = walk->count;
    for (size_t i = 0; i < n; i++) {
        p[i].turn = turn_at(p[(i + n - 1) % n].at, p[i].at, p[(i + 1) % n].at);
        p[i].s = s;
        s += dt_point_distance(p[i].at, p[(i + 1) % n].at);
    }
    return s;
}

/* Turn within the window around point i; *mean = its middle, as a distance along the walk from point i. */
static double turn_near(const border_walk *walk, double length, size_t i, double *mean) {
    const border_point *p = walk->items;
    size_t n = walk->count;
    double sum = p[i].turn, moment = 0.0;
    for (int way = -1; way <= 1; way += 2)
        for (size_t k = 1; k < n; k++) {
            size_t j = way > 0 ? (i + k) % n : (i + n - k) % n;
            double ds = way > 0 ? p[j].s - p[i].s : p[i].s - p[j].s;
            if (ds < 0) ds += length;
            if (ds > CORNER_WINDOW_MM) break;
            sum += p[j].turn;
            moment += way * ds * p[j].turn;
        }
    *mean = sum != 0.0 ? moment / sum : 0.0;
    return sum;
}

static void give_corner(stage *s, const border_walk *walk, size_t i) {
    const border_point *p = walk->items;
    size_t n = walk->count;
    s->result->pieces[p[i].piece].corner = true;
    for (int way = -1; way <= 1; way += 2) { /* junctions near by, on either side of point i */
        for (size_t k = way > 0 ? 0 : 1; k < n; k++) {
            size_t j = way > 0 ? (i + k) % n : (i + n - k) % n;
            if (dt_point_distance(p[j].at, p[i].at) > AT_CORNER_MM) break;
            s->result->pieces[p[j].piece].corner = true;
            s->result->pieces[p[(j + n - 1) % n].piece].corner = true;
        }
    }
}

/* A corner sits where the turn within the window is a true corner's and centred on the point: each rounded corner gives it to
 * the points in its middle only. */
static void find_corners(stage *s, border_walk *walk) {
    double length = measure_walk(walk);
    for (size_t i = 0; i < walk->count; i++) {
        double mean, turn = turn_near(walk, length, i, &mean);
        if (turn < CORNER_LEAST - CORNER_SLACK || turn > CORNER_MOST + CORNER_SLACK) continue;
        const border_point *p = walk->items;
        size_t n = walk->count;
        double to_next = dt_point_distance(p[i].at, p[(i + 1) % n].at);
        double to_previous = dt_point_distance(p[i].at, p[(i + n - 1) % n].at);
        if (mean <= to_next / 2 + AT_CORNER_MM && -mean <= to_previous / 2 + AT_CORNER_MM) give_corner(s, walk, i);
    }
}

dt_status stage_corners(stage *s) {
    border_starts starts;
    if (!index_border(s, &starts)) return DT_NO_MEMORY;
    border_walk walk = {0};
    bool enough_memory = true;
    for (size_t h = 0; enough_memory && h < 2 * dt_net_arc_count(s->net); h++) {
        if (starts.walked[h] || !is_border_half(s, (uint32_t)h)) continue;
        enough_memory = walk_border(s, &starts, (uint32_t)h, &walk);
        if (enough_memory && walk.count > 2) find_corners(s, &walk);
    }
    dt_array_free(&walk);
    return enough_memory ? DT_OK : DT_NO_MEMORY;
}
