/* Two analyses side by side (dovetell/compare.h): pieces laid on each other, then twins, look-alikes and faults
 * followed from old to now through the matched pieces. Invariant: everything is a list in the numbers of the draft it
 * stands in, ascending. */
#include "analysis/compare.h"

#include <math.h>
#include <stdlib.h>

static const size_t MOST_COMPARE_BYTES = (size_t)1 << 30;

typedef struct pair_list {
    dt_pair *items;
    size_t count;
} pair_list;

typedef struct index_list {
    uint32_t *items;
    size_t count;
} index_list;

typedef struct piece_list {
    dt_piece_id *items;
    size_t count;
} piece_list;

struct dt_comparison {
    const dt_analysis *old, *now;
    dt_arena arena;
    matching match;
    pair_list twins_went, twins_came;
    piece_list alike_went, alike_came;
    index_list faults_went, faults_came;
};

/* ---- twins ---- */

typedef struct keyed_pair {
    uint64_t key; /* in the numbers of now; UINT64_MAX = one of the two is gone */
    dt_pair pair; /* in the draft's own numbers */
} keyed_pair;

static uint64_t pair_key(dt_piece_id a, dt_piece_id b) {
    if (!DT_IS_PIECE(a) || !DT_IS_PIECE(b)) return UINT64_MAX;
    return a.v < b.v ? (uint64_t)a.v << 32 | b.v : (uint64_t)b.v << 32 | a.v;
}

static int by_key(const void *a, const void *b) {
    const keyed_pair *x = a, *y = b;
    if (x->key != y->key) return x->key < y->key ? -1 : 1;
    uint64_t i = pair_key(x->pair.a, x->pair.b), j = pair_key(y->pair.a, y->pair.b);
    return (i > j) - (i < j);
}

static int by_pair(const void *a, const void *b) {
    const dt_pair *x = a, *y = b;
    uint64_t i = pair_key(x->a, x->b), j = pair_key(y->a, y->b);
    return (i > j) - (i < j);
}

/* On a sheet with a face, a pair that fits only turned over is no double fit. became == NULL: the pairs of now itself.
 */
static keyed_pair *list_twins(const dt_analysis *a, const dt_piece_id *became, dt_arena *arena, size_t *count) {
    const dt_fit *fit = dt_analysis_fit(a);
    keyed_pair *list = DT_TAKE(arena, dt_fit_twin_count(fit), keyed_pair);
    *count = 0;
    for (size_t i = 0; list && i < dt_fit_twin_count(fit); i++) {
        const dt_match *twin = dt_fit_twin(fit, i);
        if (!dt_analysis_is_double(a, twin)) continue;
        dt_piece_id x = became ? became[twin->a.v] : twin->a, y = became ? became[twin->b.v] : twin->b;
        list[(*count)++] = (keyed_pair){pair_key(x, y), {twin->a, twin->b}};
    }
    if (list && *count) qsort(list, *count, sizeof *list, by_key);
    return list;
}

static bool compare_twins(dt_comparison *c) {
    size_t old_count, now_count, i = 0, j = 0;
    keyed_pair *old = list_twins(c->old, c->match.became, &c->arena, &old_count);
    keyed_pair *now = list_twins(c->now, NULL, &c->arena, &now_count);
    c->twins_went.items = DT_TAKE(&c->arena, old_count, dt_pair);
    c->twins_came.items = DT_TAKE(&c->arena, now_count, dt_pair);
    if (!old || !now || !c->twins_went.items || !c->twins_came.items) return false;
    while (i < old_count || j < now_count) {
        uint64_t left = i < old_count ? old[i].key : UINT64_MAX, right = j < now_count ? now[j].key : UINT64_MAX;
        if (left == right && left != UINT64_MAX) {
            i++;
            j++;
        } else if (i < old_count && left <= right) {
            c->twins_went.items[c->twins_went.count++] = old[i++].pair;
        } else {
            c->twins_came.items[c->twins_came.count++] = now[j++].pair;
        }
    }
    if (c->twins_went.count) qsort(c->twins_went.items, c->twins_went.count, sizeof(dt_pair), by_pair);
    return true;
}

/* ---- look-alikes ---- */

static bool has_alike_side(const dt_analysis *a, dt_piece_id id) {
    const dt_piece *piece = dt_pieces_get(dt_analysis_pieces(a), id);
    for (size_t i = 0; i < piece->side_count; i++)
        if (dt_fit_side_k(dt_analysis_fit(a), id, i) > 1) return true;
    return false;
}

/* Pieces of `a` with an alike side whose counterpart in `b` has none (or is not there). */
static bool list_alike(const dt_analysis *a, const dt_analysis *b, const dt_piece_id *counterpart, dt_arena *arena,
                       piece_list *out) {
    size_t count = dt_pieces_count(dt_analysis_pieces(a));
    out->items = DT_TAKE(arena, count, dt_piece_id);
    for (uint32_t i = 0; out->items && i < count; i++) {
        dt_piece_id id = {i}, other = counterpart[i];
        if (has_alike_side(a, id) && !(DT_IS_PIECE(other) && has_alike_side(b, other))) out->items[out->count++] = id;
    }
    return out->items != NULL;
}

/* ---- faults ---- */

static bool is_same_fault(const dt_fault *a, const dt_fault *b, dt_point shift) {
    return a->kind == b->kind && dt_point_distance(dt_point_add(a->at, shift), b->at) <= DT_COMPARE_FAULT_MM;
}

/* Each old fault takes the first like it that is not taken. */
static bool compare_faults(dt_comparison *c) {
    const dt_pieces *old = dt_analysis_pieces(c->old), *now = dt_analysis_pieces(c->now);
    size_t old_count = dt_pieces_fault_count(old), now_count = dt_pieces_fault_count(now);
    bool *taken = DT_TAKE(&c->arena, now_count, bool);
    c->faults_went.items = DT_TAKE(&c->arena, old_count, uint32_t);
    c->faults_came.items = DT_TAKE(&c->arena, now_count, uint32_t);
    if (!taken || !c->faults_went.items || !c->faults_came.items) return false;
    for (uint32_t i = 0; i < old_count; i++) {
        uint32_t j = 0;
        while (j < now_count &&
               (taken[j] || !is_same_fault(dt_pieces_fault(old, i), dt_pieces_fault(now, j), c->match.shift)))
            j++;
        if (j < now_count) {
            taken[j] = true;
        } else {
            c->faults_went.items[c->faults_went.count++] = i;
        }
    }
    for (uint32_t j = 0; j < now_count; j++)
        if (!taken[j]) c->faults_came.items[c->faults_came.count++] = j;
    return true;
}

/* ---- figures ---- */

static void count_pieces(const dt_pieces *pieces, dt_figures *f) {
    f->narrowest_neck_mm = INFINITY;
    for (uint32_t i = 0; i < f->pieces; i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        f->edge_pieces += piece->edge;
        f->narrowest_neck_mm = fmin(f->narrowest_neck_mm, piece->neck.width_mm);
    }
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        const dt_fault *fault = dt_pieces_fault(pieces, i);
        f->faults[fault->kind] += fault->times;
        f->all_faults += fault->times;
    }
}

static size_t real_doubles(const dt_analysis *a, size_t count, const dt_match *(*get)(const dt_fit *, size_t)) {
    size_t real = 0;
    for (size_t i = 0; i < count; i++) real += dt_analysis_is_double(a, get(dt_analysis_fit(a), i));
    return real;
}

dt_figures dt_figures_of(const dt_analysis *a) {
    const dt_pieces *pieces = dt_analysis_pieces(a);
    const dt_fit *fit = dt_analysis_fit(a);
    const dt_interlock *interlock = dt_graph_interlock(dt_analysis_graph(a));
    const dt_rating *rating = dt_analysis_rating(a);
    dt_box box = dt_pieces_box(pieces);
    dt_figures f = {.pieces = dt_pieces_count(pieces),
                    .whimsies = dt_pieces_whimsy_count(pieces),
                    .voids = dt_pieces_void_count(pieces)};
    f.twins = real_doubles(a, dt_fit_twin_count(fit), dt_fit_twin);
    f.near_twins = real_doubles(a, dt_fit_near_twin_count(fit), dt_fit_near_twin);
    f.turners = real_doubles(a, dt_fit_turner_count(fit), dt_fit_turner);
    f.false_mates = dt_fit_false_mate_count(fit);
    f.alike_sides = dt_fit_alike_side_count(fit);
    f.locked_joints = interlock->locked_joints;
    f.sliding_joints = interlock->sliding_joints;
    f.free_joints = interlock->free_joints;
    f.cut_length_mm = dt_net_cut_length(dt_analysis_net(a));
    f.width_mm = box.high.x - box.low.x;
    f.height_mm = box.high.y - box.low.y;
    f.points = rating->points;
    f.median_min = rating->median_min;
    for (int i = 0; i < DT_FACTORS; i++) f.factors[i] = rating->factors[i];
    f.band = rating->band;
    f.assembly = dt_analysis_assembly(a)->verdict;
    f.verdict = dt_analysis_verdict(a);
    dt_cutting_time cutting;
    f.cutting_min = dt_analysis_cutting(a, &cutting) ? cutting.cut_min + cutting.travel_min : INFINITY;
    count_pieces(pieces, &f);
    return f;
}

/* ---- the whole ---- */

dt_status dt_compare_new(const dt_analysis *old, const dt_analysis *now, dt_comparison **out, dt_error *error) {
    dt_comparison *c = calloc(1, sizeof *c);
    dt_status status = c ? DT_OK : DT_NO_MEMORY;
    if (!c) goto done;
    *c = (dt_comparison){.old = old, .now = now, .arena = DT_ARENA(MOST_COMPARE_BYTES)};
    status = match_pieces(dt_analysis_pieces(old), dt_analysis_pieces(now), &c->arena, &c->match);
    if (status != DT_OK) goto done;
    bool whole = compare_twins(c) && compare_faults(c) &&
                 list_alike(old, now, c->match.became, &c->arena, &c->alike_went) &&
                 list_alike(now, old, c->match.was, &c->arena, &c->alike_came);
    if (!whole) status = DT_NO_MEMORY;
done:
    if (status == DT_OK) {
        *out = c;
        return DT_OK;
    }
    dt_compare_free(c);
    return dt_fail(error, status, "no memory left to compare \"%s\" and \"%s\"", dt_analysis_file(old),
                   dt_analysis_file(now));
}

void dt_compare_free(dt_comparison *c) {
    if (!c) return;
    dt_arena_free(&c->arena);
    free(c);
}

const dt_analysis *dt_compare_old(const dt_comparison *c) {
    return c->old;
}

const dt_analysis *dt_compare_now(const dt_comparison *c) {
    return c->now;
}

dt_point dt_compare_shift(const dt_comparison *c) {
    return c->match.shift;
}

dt_piece_id dt_compare_became(const dt_comparison *c, dt_piece_id old, double *differ_mm) {
    if (differ_mm) *differ_mm = c->match.differ_mm[old.v];
    return c->match.became[old.v];
}

dt_piece_id dt_compare_was(const dt_comparison *c, dt_piece_id now) {
    return c->match.was[now.v];
}

size_t dt_compare_same_count(const dt_comparison *c) {
    return c->match.same;
}

size_t dt_compare_changed_count(const dt_comparison *c) {
    return c->match.changed;
}

const dt_pair *dt_compare_twins_went(const dt_comparison *c, size_t *count) {
    *count = c->twins_went.count;
    return c->twins_went.items;
}

const dt_pair *dt_compare_twins_came(const dt_comparison *c, size_t *count) {
    *count = c->twins_came.count;
    return c->twins_came.items;
}

const dt_piece_id *dt_compare_alike_went(const dt_comparison *c, size_t *count) {
    *count = c->alike_went.count;
    return c->alike_went.items;
}

const dt_piece_id *dt_compare_alike_came(const dt_comparison *c, size_t *count) {
    *count = c->alike_came.count;
    return c->alike_came.items;
}

const uint32_t *dt_compare_faults_went(const dt_comparison *c, size_t *count) {
    *count = c->faults_went.count;
    return c->faults_went.items;
}

const uint32_t *dt_compare_faults_came(const dt_comparison *c, size_t *count) {
    *count = c->faults_came.count;
    return c->faults_came.items;
}
