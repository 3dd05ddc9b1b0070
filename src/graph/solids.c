/* The reduced pieces of a draft and what they block of each other. Corners lie on a grid of a micrometre, so a straight tab that is
 * drawn aslant may come out a hair wider at its end: no kerf is taken as so little that this never locks what may slide. The
 * freedom of single joints is then worked out once more on the outlines themselves. */
#include "graph/solids.h"

#include "base/workers.h"

#include <math.h>
#include <stdlib.h>

/* Half of the least kerf, mm: how far the grid may have moved a point, half the diagonal of a micrometre, and a little more. */
#define LEAST_REDUCTION_MM 0.00075
/* Degrees. The play of the least kerf opens a joint by less on any tab longer than 0.2 mm. Where it opens more, a kink of a micrometre
 * had closed it, which nobody drew. */
#define OPENED_BY_PLAY 0.5
/* Pieces that repay a thread. */
#define LEAST_A_THREAD 32
#define DEEPEST 64 /* levels of a tree over 2^32 pieces, with room */

static bool list_members(solids *s) {
    s->members = malloc(s->count * sizeof *s->members);
    s->start = calloc((size_t)s->puzzle_count + 2, sizeof *s->start);
    if (!s->members || !s->start) return false;
    uint32_t *next = s->start + 1; /* next[k] runs from the start of puzzle k to its end */
    for (uint32_t i = 0; i < s->count; i++) next[s->puzzle[i] + 1]++;
    for (uint32_t k = 0; k < s->puzzle_count; k++) next[k + 1] += next[k];
    for (uint32_t i = 0; i < s->count; i++) s->members[next[s->puzzle[i]]++] = i;
    return true;
}

static bool make_boxes(solids *s) {
    s->boxes = malloc(2 * (size_t)s->count * sizeof *s->boxes);
    if (!s->boxes) return false;
    for (uint32_t k = 0; k < s->puzzle_count; k++) {
        uint32_t n = solids_puzzle_size(s, k);
        dt_box *boxes = s->boxes + 2 * (size_t)s->start[k];
        for (uint32_t i = 0; i < n; i++) boxes[n + i] = body_box(&s->bodies[s->members[s->start[k] + i]]);
        for (uint32_t i = n; i-- > 1;) boxes[i] = dt_box_join(boxes[2 * i], boxes[2 * i + 1]);
    }
    return true;
}

typedef struct reducing {
    const dt_pieces *pieces;
    double r;
    solids *s;
} reducing;

static dt_status reduce_piece(void *context, size_t worker, size_t item) {
    const reducing *all = context;
    const dt_piece *piece = dt_pieces_get(all->pieces, (dt_piece_id){(uint32_t)item});
    (void)worker;
    all->s->puzzle[item] = piece->puzzle;
    dt_status status = body_of_piece(piece, all->r, &all->s->bodies[item]);
    if (status == DT_OK && all->s->outlines) status = body_of_outline(piece->outline, &all->s->outlines[item]);
    return status;
}

static dt_status reduce_pieces(const dt_pieces *pieces, double kerf_mm, solids *s) {
    reducing all = {pieces, fmax(0.5 * kerf_mm, LEAST_REDUCTION_MM), s};
    s->bodies = calloc(s->count, sizeof *s->bodies);
    s->puzzle = malloc(s->count * sizeof *s->puzzle);
    s->outlines = kerf_mm > 0 ? NULL : calloc(s->count, sizeof *s->outlines);
    if (!s->bodies || !s->puzzle || (!(kerf_mm > 0) && !s->outlines)) return DT_NO_MEMORY;
    return dt_workers_run(dt_workers_count(s->threads, s->count / LEAST_A_THREAD), s->count, reduce_piece, &all);
}

dt_status solids_new(const dt_pieces *pieces, const dt_settings *settings, solids *out) {
    solids s = {.count = (uint32_t)dt_pieces_count(pieces), .puzzle_count = (uint32_t)dt_pieces_puzzle_count(pieces),
                .threads = settings->threads};
    dt_status status = reduce_pieces(pieces, settings->kerf_mm, &s);
    if (status == DT_OK && !(list_members(&s) && make_boxes(&s))) status = DT_NO_MEMORY;
    if (status == DT_OK)
        *out = s;
    else
        solids_free(&s);
    return status;
}

void solids_free(solids *s) {
    for (uint32_t i = 0; s->bodies && i < s->count; i++) body_free(&s->bodies[i]);
    for (uint32_t i = 0; s->outlines && i < s->count; i++) body_free(&s->outlines[i]);
    free(s->bodies);
    free(s->outlines);
    free(s->puzzle);
    free(s->members);
    free(s->start);
    free(s->boxes);
    *s = (solids){0};
}

void solids_scratch_free(solids_scratch *scratch) {
    blocking_scratch_free(&scratch->blocking);
    directions_free(&scratch->set);
    directions_free(&scratch->touch);
}

dt_status solids_freedom(const solids *s, solids_scratch *scratch, uint32_t a, uint32_t b, freedom *out) {
    directions_clear(&scratch->set);
    dt_status status = blocking_add(&s->bodies[a], &s->bodies[b], &scratch->blocking, &scratch->set);
    if (status != DT_OK) return status;
    *out = (freedom){.a = a, .b = b};
    out->any = directions_widest_gap(&scratch->set, &out->widest);
    if (out->any) out->degrees = directions_gap_degrees(&scratch->set);
    return DT_OK;
}

dt_status solids_sharpen(const solids *s, solids_scratch *scratch, freedom *f) {
    if (!s->outlines || !f->any) return DT_OK;
    directions_clear(&scratch->touch);
    scratch->touch.open = true;
    dt_status status = blocking_add_touching(&s->outlines[f->a], &s->outlines[f->b], &scratch->blocking, &scratch->touch);
    if (status != DT_OK) return status;
    double degrees = directions_gap_degrees(&scratch->touch);
    arc gap;
    if (f->degrees - degrees > OPENED_BY_PLAY || !directions_widest_gap(&scratch->touch, &gap)) return DT_OK;
    f->widest = gap;
    f->degrees = degrees;
    return DT_OK;
}

/* Calls `each` for every other piece of p's puzzle that `wanted` does not rule out by its box; `bound` is what that box
 * may block, NULL when it meets p's box. */
typedef bool box_wanted(const void *context, const arc *bound);
typedef struct walk {
    const solids *s;
    uint32_t p;
    box_wanted *wanted;
    solids_visit *each;
    void *context;
} walk;

static dt_status walk_boxes(const walk *w) {
    const solids *s = w->s;
    uint32_t stack[DEEPEST] = {1}, k = s->puzzle[w->p], n = solids_puzzle_size(s, k);
    const dt_box *boxes = s->boxes + 2 * (size_t)s->start[k], from = body_box(&s->bodies[w->p]);
    for (size_t top = 1; top > 0;) {
        uint32_t node = stack[--top];
        arc bound;
        bool far = blocking_bound(boxes[node], from, &bound);
        if (!w->wanted(w->context, far ? &bound : NULL)) continue;
        if (node < n) {
            stack[top++] = 2 * node + 1;
            stack[top++] = 2 * node;
            continue;
        }
        uint32_t other = s->members[s->start[k] + node - n];
        dt_status status = other == w->p ? DT_OK : w->each(w->context, w->p, other);
        if (status != DT_OK) return status;
    }
    return DT_OK;
}

typedef struct gathering {
    const solids *s;
    blocking_scratch *scratch;
    directions *blocked;
} gathering;

static bool adds_something(const void *context, const arc *bound) {
    const gathering *g = context;
    return !directions_are_all(g->blocked) && !(bound && directions_cover(g->blocked, *bound));
}

static dt_status gather(void *context, uint32_t p, uint32_t other) {
    const gathering *g = context;
    return blocking_add(&g->s->bodies[other], &g->s->bodies[p], g->scratch, g->blocked);
}

dt_status solids_add_blocked(const solids *s, solids_scratch *scratch, uint32_t p, directions *blocked) {
    gathering g = {s, &scratch->blocking, blocked};
    return walk_boxes(&(walk){s, p, adds_something, gather, &g});
}

typedef struct looking {
    double turn;
    solids_visit *each;
    void *context;
} looking;

static bool lies_ahead(const void *context, const arc *bound) {
    return !bound || arc_holds(*bound, ((const looking *)context)->turn);
}

static dt_status pass_on(void *context, uint32_t p, uint32_t other) {
    const looking *l = context;
    return l->each(l->context, p, other);
}

dt_status solids_ahead(const solids *s, uint32_t p, double turn, solids_visit *each, void *context) {
    looking l = {turn, each, context};
    return walk_boxes(&(walk){s, p, lies_ahead, pass_on, &l});
}
