/* The pieces of two drafts laid on each other (compare.h of this folder). Pieces are looked up by their inner points in
 * a grid of cells of a typical piece's size. Invariant: became and was are inverse to each other where they are not
 * DT_OUTSIDE. */
#include "analysis/compare.h"

#include "geom/grid_index.h"
#include <math.h>
#include <string.h>

static const double MOST_AREA_RATIO = 2.0;

typedef struct matcher {
    const dt_pieces *old, *now;
    dt_grid grid; /* inner points of now */
    dt_arena *arena;
} matcher;

static dt_point low_corner(const dt_pieces *pieces) {
    return dt_pieces_box(pieces).low;
}

static bool covers_same_place(const dt_piece *a, const dt_piece *b, dt_point shift) {
    double ratio = a->area_mm2 / b->area_mm2;
    return ratio <= MOST_AREA_RATIO && ratio >= 1.0 / MOST_AREA_RATIO &&
           dt_path_contains(a->outline, dt_point_sub(b->inside, shift)) &&
           dt_path_contains(b->outline, dt_point_add(a->inside, shift));
}

/* The largest distance from a point of a's border, laid on b, to b's border. Stops looking closely once far apart is
 * certain. */
static double path_reach(dt_path a, dt_path b, dt_point shift) {
    double reach = 0.0;
    for (size_t i = 0; i < a.count; i++)
        reach = fmax(reach, dt_path_distance(b, true, dt_point_add(a.points[i], shift)));
    return reach;
}

static bool is_copy(dt_path a, dt_path b) {
    return a.count == b.count && memcmp(a.points, b.points, a.count * sizeof *a.points) == 0;
}

static double outline_difference(const dt_piece *a, const dt_piece *b, dt_point shift) {
    dt_point back = {-shift.x, -shift.y};
    if (a->hole_count != b->hole_count) return INFINITY;
    double differ = 0.0;
    if (shift.x != 0.0 || shift.y != 0.0 || !is_copy(a->outline, b->outline))
        differ = fmax(path_reach(a->outline, b->outline, shift), path_reach(b->outline, a->outline, back));
    for (size_t h = 0; h < a->hole_count; h++) {
        double nearest = INFINITY; /* holes have no order that lasts from draft to draft */
        for (size_t k = 0; k < b->hole_count; k++)
            nearest = fmin(
                nearest, fmax(path_reach(a->holes[h], b->holes[k], shift), path_reach(b->holes[k], a->holes[h], back)));
        differ = fmax(differ, nearest);
    }
    return differ;
}

static uint32_t find_match(const matcher *m, const dt_piece *piece, dt_point shift) {
    dt_point low = dt_point_add(piece->box.low, shift), high = dt_point_add(piece->box.high, shift);
    dt_point left = {low.x, (low.y + high.y) / 2.0}, right = {high.x, left.y};
    uint32_t best = UINT32_MAX;
    for (dt_nearby n = dt_grid_nearby(&m->grid, left, right, (high.y - low.y) / 2.0); dt_nearby_next(&n);)
        if (n.item < best && covers_same_place(piece, dt_pieces_get(m->now, (dt_piece_id){n.item}), shift))
            best = n.item;
    return best;
}

static void pair_up(matching *out, uint32_t old, uint32_t now, double differ) {
    out->became[old] = (dt_piece_id){now};
    out->was[now] = (dt_piece_id){old};
    out->differ_mm[old] = differ;
    if (differ <= DT_COMPARE_SAME_MM) {
        out->same++;
    } else {
        out->changed++;
    }
}

static dt_status match_shifted(const matcher *m, dt_point shift, matching *out) {
    size_t old_count = dt_pieces_count(m->old), now_count = dt_pieces_count(m->now);
    matching r = {shift,
                  DT_TAKE(m->arena, old_count, dt_piece_id),
                  DT_TAKE(m->arena, now_count, dt_piece_id),
                  DT_TAKE(m->arena, old_count, double),
                  0,
                  0};
    if (!r.became || !r.was || !r.differ_mm) return DT_NO_MEMORY;
    for (size_t i = 0; i < now_count; i++) r.was[i] = DT_OUTSIDE;
    for (uint32_t i = 0; i < old_count; i++) {
        const dt_piece *piece = dt_pieces_get(m->old, (dt_piece_id){i});
        uint32_t other = find_match(m, piece, shift);
        r.became[i] = DT_OUTSIDE;
        r.differ_mm[i] = INFINITY;
        if (other == UINT32_MAX || DT_IS_PIECE(r.was[other])) continue;
        pair_up(&r, i, other, outline_difference(piece, dt_pieces_get(m->now, (dt_piece_id){other}), shift));
    }
    *out = r;
    return DT_OK;
}

static bool fill_grid(matcher *m) {
    size_t count = dt_pieces_count(m->now);
    double area = 0.0;
    for (uint32_t i = 0; i < count; i++) area += dt_pieces_get(m->now, (dt_piece_id){i})->area_mm2;
    dt_grid_init(&m->grid, sqrt(area / (double)count), 0.0);
    for (uint32_t i = 0; i < count; i++) {
        dt_point p = dt_pieces_get(m->now, (dt_piece_id){i})->inside;
        if (!dt_grid_add(&m->grid, p, p, i)) return false;
    }
    return true;
}

/* As drawn, and laid corner on corner; whichever leaves more pieces the same, as drawn when equal. */
dt_status match_pieces(const dt_pieces *old, const dt_pieces *now, dt_arena *arena, matching *out) {
    matcher m = {.old = old, .now = now, .arena = arena};
    matching drawn, laid;
    dt_status status = fill_grid(&m) ? match_shifted(&m, (dt_point){0.0, 0.0}, &drawn) : DT_NO_MEMORY;
    if (status == DT_OK && drawn.same < dt_pieces_count(old))
        status = match_shifted(&m, dt_point_sub(low_corner(now), low_corner(old)), &laid);
    else
        laid = drawn;
    dt_grid_free(&m.grid);
    if (status == DT_OK) *out = laid.same > drawn.same ? laid : drawn;
    return status;
}
