/* Which pieces are figures (whimsies), and what pieces are called.
 *
 * A stroke's GROUP is all faces within it: what can be reached from the inner side of its arcs without passing over one of
 * them. It is a figure when the stroke lies in a whimsy layer, or when it is a closed line of its own that is not the border of
 * its puzzle, unless most pieces are drawn as closed outlines. Groups within groups count once; groups that overlap without one
 * holding the other cross, and then only a whimsy layer makes them figures, with a fault.
 */
#include "stage.h"

#include <math.h>
#include <string.h>

/* A closed line round more pieces than this, or round more than half of its puzzle, is part of the pattern and no figure. */
enum { FIGURE_MOST_PIECES = 64 };

typedef struct group {
    uint32_t stroke;
    bool layered;          /* said to be a whimsy by its layer */
    bool crossed;          /* overlaps another group without one holding the other */
    size_t first, count;   /* of its pieces in figures.members */
} group;

typedef struct figures {
    stage *s;
    size_t *arc_start;     /* [stroke] -> arcs[arc_start[stroke] .. arc_start[stroke + 1]) */
    uint32_t *arcs;
    uint32_t *seen;        /* [face] stamp of the last flood */
    uint32_t stamp;
    size_t *puzzle_size;   /* [puzzle] pieces */
    bool closed_rule;
    uint32_t *figure_of;   /* [piece] figure, DT_NO_INDEX = none */
    DT_ARRAY(uint32_t) queue;
    DT_ARRAY(uint32_t) members;
    DT_ARRAY(group) groups;
    DT_ARRAY(dt_fault) crossings;
} figures;

static bool carries(const dt_arc *arc, uint32_t stroke) {
    for (size_t i = 0; i < arc->stroke_count; i++)
        if (arc->strokes[i] == stroke) return true;
    return false;
}

static size_t arc_count_of(const figures *f, uint32_t stroke) {
    return f->arc_start[stroke + 1] - f->arc_start[stroke];
}

static bool index_arcs(figures *f) {
    const dt_net *net = f->s->net;
    size_t strokes = f->s->strokes.count, total = 0;
    f->arc_start = DT_TAKE(&f->s->scratch, strokes + 2, size_t);
    if (!f->arc_start) return false;
    size_t *end = f->arc_start + 1; /* counts, shifted by one, become the running ends while filling */
    for (size_t a = 0; a < dt_net_arc_count(net); a++) {
        const dt_arc *arc = dt_net_arc(net, a);
        for (size_t i = 0; i < arc->stroke_count; i++) end[arc->strokes[i] + 1]++;
        total += arc->stroke_count;
    }
    for (size_t i = 1; i <= strokes; i++) f->arc_start[i + 1] += f->arc_start[i];
    f->arcs = DT_TAKE(&f->s->scratch, total, uint32_t);
    if (!f->arcs) return false;
    for (size_t a = 0; a < dt_net_arc_count(net); a++) {
        const dt_arc *arc = dt_net_arc(net, a);
        for (size_t i = 0; i < arc->stroke_count; i++) f->arcs[end[arc->strokes[i]]++] = (uint32_t)a;
    }
    return true;
}

/* ---- pieces bounded by one closed stroke alone ---- */

static bool bounds_alone(const figures *f, const shape_ring *ring, uint32_t stroke) {
    if (!f->s->strokes.strokes[stroke].closed) return false;
    size_t drawn = 0;
    for (size_t i = 0; i < ring->half_count; i++) {
        const dt_arc *arc = dt_net_arc(f->s->net, ring->halves[i] / 2);
        if (arc->stroke_count > 0 && !carries(arc, stroke)) return false; /* none = the join of a gap */
        drawn += arc->stroke_count > 0;
    }
    return drawn == arc_count_of(f, stroke);
}

/* The first stroke with a name that bounds the ring alone, else the first without, else DT_NO_INDEX. */
static uint32_t sole_stroke(const figures *f, const shape_ring *ring) {
    uint32_t found = DT_NO_INDEX;
    const dt_arc *arc = dt_net_arc(f->s->net, ring->halves[0] / 2);
    for (size_t i = 1; i < ring->half_count && arc->stroke_count == 0; i++) arc = dt_net_arc(f->s->net, ring->halves[i] / 2);
    for (size_t i = 0; i < arc->stroke_count; i++) {
        uint32_t stroke = arc->strokes[i];
        bool named = f->s->strokes.strokes[stroke].name[0] != '\0';
        if ((found != DT_NO_INDEX && !named) || !bounds_alone(f, ring, stroke)) continue;
        found = stroke;
        if (named) break;
    }
    return found;
}

static bool has_neighbour(const stage *s, const shape_ring *ring) {
    for (size_t i = 0; i < ring->half_count; i++)
        if (DT_IS_PIECE(piece_of_face(s, half_face(s->net, ring->halves[i] ^ 1u)))) return true;
    return false;
}

static bool name_pieces(figures *f) {
    stage *s = f->s;
    size_t outlined = 0;
    for (size_t p = 0; p < s->result->piece_count; p++) {
        const shape_ring *ring = &s->shapes[s->shape_of[p]].rings[0];
        uint32_t stroke = sole_stroke(f, ring);
        if (stroke == DT_NO_INDEX) continue;
        outlined += has_neighbour(s, ring);
        const char *name = s->strokes.strokes[stroke].name;
        s->result->pieces[p].name = dt_arena_copy(&s->result->arena, name, strlen(name));
        if (!s->result->pieces[p].name) return false;
    }
    f->closed_rule = 2 * outlined <= s->result->piece_count;
    return true;
}

/* ---- groups ---- */

static bool reach(figures *f, uint32_t face) {
    if (f->seen[face] == f->stamp) return true;
    f->seen[face] = f->stamp;
    return dt_array_push(&f->queue, face);
}

/* The face within the closed stroke on one side of its arc; DT_OUTSIDE_FACE where neither is. */
static uint32_t inner_face(const stage *s, const dt_arc *arc, dt_path stroke) {
    const uint32_t sides[] = {arc->left, arc->right};
    for (int i = 0; i < 2; i++)
        if (sides[i] != DT_OUTSIDE_FACE && dt_path_contains(stroke, s->shapes[sides[i]].inside)) return sides[i];
    return DT_OUTSIDE_FACE;
}

typedef enum flood { FLOOD_CLOSED, FLOOD_LEAKS, FLOOD_NO_MEMORY } flood;

static flood spread(figures *f, uint32_t face, uint32_t stroke) {
    const face_shape *shape = &f->s->shapes[face];
    for (size_t r = 0; r < shape->ring_count; r++)
        for (size_t i = 0; i < shape->rings[r].half_count; i++) {
            uint32_t half = shape->rings[r].halves[i];
            if (carries(dt_net_arc(f->s->net, half / 2), stroke)) continue;
            uint32_t next = half_face(f->s->net, half ^ 1u);
            if (next == DT_OUTSIDE_FACE || f->s->shapes[next].kind == FACE_TRAY) return FLOOD_LEAKS;
            if (!reach(f, next)) return FLOOD_NO_MEMORY;
        }
    return FLOOD_CLOSED;
}

/* Puts the group of a stroke into the queue; stops beyond `most` faces (then it counts as leaking). */
static flood flood_group(figures *f, uint32_t stroke, size_t most) {
    f->queue.count = 0;
    f->stamp++;
    for (size_t i = f->arc_start[stroke]; i < f->arc_start[stroke + 1]; i++) {
        uint32_t face = inner_face(f->s, dt_net_arc(f->s->net, f->arcs[i]), f->s->strokes.strokes[stroke].path);
        if (face == DT_OUTSIDE_FACE || f->s->shapes[face].kind == FACE_TRAY) return FLOOD_LEAKS;
        if (!reach(f, face)) return FLOOD_NO_MEMORY;
        if (f->queue.count > most) return FLOOD_LEAKS;
    }
    for (size_t i = 0; i < f->queue.count; i++) {
        if (f->queue.count > most) return FLOOD_LEAKS;
        flood result = spread(f, f->queue.items[i], stroke);
        if (result != FLOOD_CLOSED) return result;
    }
    return FLOOD_CLOSED;
}

/* Is there a piece beyond the stroke, so that it is not the border of a puzzle? */
static bool has_pieces_around(const figures *f, uint32_t stroke) {
    for (size_t i = f->arc_start[stroke]; i < f->arc_start[stroke + 1]; i++) {
        const dt_arc *arc = dt_net_arc(f->s->net, f->arcs[i]);
        const uint32_t sides[] = {arc->left, arc->right};
        for (int k = 0; k < 2; k++)
            if (DT_IS_PIECE(piece_of_face(f->s, sides[k])) && f->seen[sides[k]] != f->stamp) return true;
    }
    return false;
}

static bool keep_group(figures *f, uint32_t stroke, bool layered) {
    group g = {stroke, layered, false, f->members.count, 0};
    for (size_t i = 0; i < f->queue.count; i++) {
        dt_piece_id piece = piece_of_face(f->s, f->queue.items[i]);
        if (!DT_IS_PIECE(piece)) continue;
        if (!dt_array_push(&f->members, piece.v)) return false;
        g.count++;
    }
    if (g.count == 0) return true;
    size_t in_puzzle = f->puzzle_size[f->s->result->pieces[f->members.items[g.first]].puzzle];
    if (!layered && g.count > 1 && 2 * g.count > in_puzzle) {
        f->members.count = g.first;
        return true;
    }
    return dt_array_push(&f->groups, g);
}

static bool find_groups(figures *f) {
    const dt_strokes strokes = f->s->strokes;
    for (size_t i = 0; i < strokes.count; i++) {
        const dt_stroke *stroke = &strokes.strokes[i];
        bool layered = stroke->role == DT_ROLE_WHIMSY;
        bool may = stroke->closed && (layered || (f->closed_rule && stroke->lone && stroke->role == DT_ROLE_CUT));
        if (!may || arc_count_of(f, (uint32_t)i) == 0) continue;
        flood result = flood_group(f, (uint32_t)i, layered ? SIZE_MAX : FIGURE_MOST_PIECES);
        if (result == FLOOD_NO_MEMORY) return false;
        if (result == FLOOD_LEAKS || (!layered && !has_pieces_around(f, (uint32_t)i))) continue;
        if (!keep_group(f, (uint32_t)i, layered)) return false;
    }
    return true;
}

/* ---- figures from groups ---- */

static int compare_groups(const void *left, const void *right) {
    const group *a = left, *b = right;
    if (a->count != b->count) return a->count > b->count ? -1 : 1;
    return (a->stroke > b->stroke) - (a->stroke < b->stroke);
}

/* The group that holds the piece already, of those not passed over; DT_NO_INDEX when none does. */
static uint32_t holder_of(const figures *f, const group *g, size_t member) {
    return f->figure_of[f->members.items[g->first + member]];
}

static bool overlaps_in_part(const figures *f, const group *g) {
    for (size_t m = 1; m < g->count; m++)
        if (holder_of(f, g, m) != holder_of(f, g, 0)) return true;
    return false;
}

/* Largest first, so that a group within another finds all its pieces held by it. */
static void mark_figures(figures *f) {
    memset(f->figure_of, 0xff, f->s->result->piece_count * sizeof *f->figure_of);
    f->s->result->whimsy_count = 0;
    for (size_t i = 0; i < f->groups.count; i++) {
        group *g = &f->groups.items[i];
        if (g->crossed && !g->layered) continue;
        bool in_part = overlaps_in_part(f, g);
        g->crossed = g->crossed || in_part;
        if (!in_part && holder_of(f, g, 0) != DT_NO_INDEX) continue;
        f->s->result->whimsy_count++;
        for (size_t m = 0; m < g->count; m++) {
            uint32_t held = holder_of(f, g, m);
            if (held != DT_NO_INDEX) f->groups.items[held].crossed = true;
            else f->figure_of[f->members.items[g->first + m]] = (uint32_t)i;
        }
    }
}

/* The topmost, leftmost node where two strokes meet. */
static bool meeting_place(const figures *f, uint32_t a, uint32_t b, dt_point *out) {
    const dt_net *net = f->s->net;
    bool found = false;
    for (size_t i = f->arc_start[a]; i < f->arc_start[a + 1]; i++)
        for (size_t k = f->arc_start[b]; k < f->arc_start[b + 1]; k++) {
            const dt_arc *x = dt_net_arc(net, f->arcs[i]), *y = dt_net_arc(net, f->arcs[k]);
            const uint32_t nodes[] = {x->from, x->to};
            for (int n = 0; n < 2; n++) {
                dt_point at = dt_net_node(net, nodes[n]).at;
                if (nodes[n] != y->from && nodes[n] != y->to) continue;
                if (found && (at.y > out->y || (at.y == out->y && at.x >= out->x))) continue;
                *out = at;
                found = true;
            }
        }
    return found;
}

/* Two crossed figures of a whimsy layer: one fault for each pair of neighbours in the list of crossed ones that meet. */
static bool report_crossings(figures *f) {
    for (size_t i = 0; i < f->groups.count; i++)
        for (size_t k = i + 1; f->groups.items[i].crossed && k < f->groups.count; k++) {
            const group *a = &f->groups.items[i], *b = &f->groups.items[k];
            dt_point at;
            if (!b->crossed || !a->layered || !b->layered || !meeting_place(f, a->stroke, b->stroke, &at)) continue;
            dt_fault fault = {.kind = DT_FAULT_CROSSING, .at = at, .other = at, .stroke = a->stroke, .other_stroke = b->stroke,
                              .pieces = {DT_NO_INDEX, DT_NO_INDEX}, .times = 1};
            if (!dt_array_push(&f->crossings, fault)) return false;
        }
    return true;
}

/* ---- figures drawn by open lines of a whimsy layer ---- */

static bool is_layered_face(const stage *s, uint32_t face) {
    const shape_ring *ring = &s->shapes[face].rings[0];
    for (size_t i = 0; i < ring->half_count; i++) {
        const dt_arc *arc = dt_net_arc(s->net, ring->halves[i] / 2);
        bool whimsy = arc->stroke_count == 0;
        for (size_t k = 0; k < arc->stroke_count; k++) whimsy = whimsy || s->strokes.strokes[arc->strokes[k]].role == DT_ROLE_WHIMSY;
        if (!whimsy) return false;
    }
    return true;
}

static bool joins_open_figure(const figures *f, uint32_t piece) {
    return f->figure_of[piece] == DT_NO_INDEX && is_layered_face(f->s, f->s->shape_of[piece]);
}

static bool flood_open_figure(figures *f, uint32_t piece, uint32_t figure) {
    f->queue.count = 0;
    f->figure_of[piece] = figure;
    if (!dt_array_push(&f->queue, piece)) return false;
    for (size_t i = 0; i < f->queue.count; i++) {
        const dt_piece *p = &f->s->result->pieces[f->queue.items[i]];
        for (size_t k = 0; k < p->side_count; k++) {
            dt_piece_id next = dt_pieces_across(f->s->result, (dt_piece_id){f->queue.items[i]}, &p->sides[k]);
            if (!DT_IS_PIECE(next) || !joins_open_figure(f, next.v)) continue;
            f->figure_of[next.v] = figure;
            if (!dt_array_push(&f->queue, next.v)) return false;
        }
    }
    return true;
}

static bool add_open_figures(figures *f) {
    uint32_t figure = (uint32_t)f->groups.count;
    for (uint32_t p = 0; p < f->s->result->piece_count; p++) {
        if (!joins_open_figure(f, p)) continue;
        if (!flood_open_figure(f, p, figure++)) return false;
        f->s->result->whimsy_count++;
    }
    return true;
}

static bool allocate(figures *f) {
    stage *s = f->s;
    f->seen = DT_TAKE(&s->scratch, s->shape_count, uint32_t);
    f->figure_of = DT_TAKE(&s->scratch, s->result->piece_count, uint32_t);
    f->puzzle_size = DT_TAKE(&s->scratch, s->result->puzzle_count, size_t);
    if (!f->seen || !f->figure_of || !f->puzzle_size) return false;
    for (size_t p = 0; p < s->result->piece_count; p++) f->puzzle_size[s->result->pieces[p].puzzle]++;
    return index_arcs(f);
}

static bool keep_crossings(figures *f) {
    dt_fault *faults = DT_TAKE(&f->s->scratch, f->crossings.count, dt_fault);
    if (!faults) return false;
    if (f->crossings.count > 0) memcpy(faults, f->crossings.items, f->crossings.count * sizeof *faults);
    f->s->crossings = faults;
    f->s->crossing_count = f->crossings.count;
    return true;
}

static bool find_figures(figures *f) {
    if (!allocate(f) || !name_pieces(f) || !find_groups(f)) return false;
    if (f->groups.count > 0) qsort(f->groups.items, f->groups.count, sizeof *f->groups.items, compare_groups);
    mark_figures(f); /* first to find what crosses, then without those that are no figures for it */
    mark_figures(f);
    if (!report_crossings(f) || !add_open_figures(f) || !keep_crossings(f)) return false;
    for (size_t p = 0; p < f->s->result->piece_count; p++) f->s->result->pieces[p].whimsy = f->figure_of[p] != DT_NO_INDEX;
    return true;
}

dt_status stage_names(stage *s) {
    if (s->strokes.count == 0) return DT_OK;
    figures f = {.s = s};
    bool enough_memory = find_figures(&f);
    dt_array_free(&f.queue);
    dt_array_free(&f.members);
    dt_array_free(&f.groups);
    dt_array_free(&f.crossings);
    return enough_memory ? DT_OK : DT_NO_MEMORY;
}
