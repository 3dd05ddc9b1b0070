/* Seams and sides: each ring of each piece is walked once and cut at its junctions. The piece with the lower number comes
 * first and makes the seam, seen in its own ring; the other finds it by any of its arcs. Invariants 1 and 2 of pieces.h. */
#include "stage.h"

#include <math.h>

typedef struct walk {
    stage *s;
    uint32_t *seam_of_arc; /* DT_NO_INDEX = none yet */
    DT_ARRAY(dt_side) sides;
} walk;

static bool has_lower_number(uint32_t piece, dt_piece_id other) {
    return !DT_IS_PIECE(other) || piece < other.v;
}

static size_t half_points(const dt_net *net, uint32_t half) {
    return dt_net_arc(net, half / 2)->path.count - 1;
}

/* End of the stretch of halves [first, end) up to the next junction. */
static size_t stretch_end(const stage *s, const shape_ring *ring, size_t first) {
    size_t end = first + 1;
    while (end < ring->half_count && s->degree[half_start(s->net, ring->halves[end])] < 3) end++;
    return end;
}

static bool make_seam(walk *w, uint32_t piece, const shape_ring *ring, size_t first, size_t end, const dt_side *side) {
    const dt_net *net = w->s->net;
    uint32_t half = ring->halves[first];
    dt_seam seam = {.a = {piece}, .b = piece_of_face(w->s, half_face(net, half ^ 1u)), .closed = !ring->has_junction};
    seam.path = (dt_path){ring->path.points + side->start, side->count};
    seam.length = seam.closed ? dt_path_perimeter(seam.path) : dt_path_length(seam.path);
    seam.from = half_start(net, half);
    seam.to = seam.closed ? seam.from : half_end(net, ring->halves[end - 1]);
    for (size_t i = first; i < end; i++) w->seam_of_arc[ring->halves[i] / 2] = (uint32_t)w->s->result->seams.count;
    return dt_array_push(&w->s->result->seams, seam);
}

static bool walk_ring(walk *w, uint32_t piece, const shape_ring *ring, uint32_t ring_index) {
    size_t start = 0;
    for (size_t first = 0, end; first < ring->half_count; first = end) {
        end = ring->has_junction ? stretch_end(w->s, ring, first) : ring->half_count;
        size_t points = 0;
        for (size_t i = first; i < end; i++) points += half_points(w->s->net, ring->halves[i]);
        dt_side side = {.start = start, .count = points + (ring->has_junction ? 1 : 0), .ring = ring_index};
        dt_piece_id other = piece_of_face(w->s, half_face(w->s->net, ring->halves[first] ^ 1u));
        side.reversed = !has_lower_number(piece, other);
        if (!side.reversed && !make_seam(w, piece, ring, first, end, &side)) return false;
        side.seam.v = w->seam_of_arc[ring->halves[first] / 2];
        if (!dt_array_push(&w->sides, side)) return false;
        start += points;
    }
    return true;
}

static bool walk_piece(walk *w, uint32_t piece) {
    const face_shape *shape = &w->s->shapes[w->s->shape_of[piece]];
    dt_piece *out = &w->s->result->pieces[piece];
    w->sides.count = 0;
    for (size_t r = 0; r < shape->ring_count; r++)
        if (!walk_ring(w, piece, &shape->rings[r], (uint32_t)r)) return false;
    dt_side *sides = DT_TAKE(&w->s->result->arena, w->sides.count, dt_side);
    if (!sides) return false;
    for (size_t i = 0; i < w->sides.count; i++) sides[i] = w->sides.items[i];
    out->sides = sides;
    out->side_count = w->sides.count;
    return true;
}

static void add_up_net(stage *s) {
    for (size_t f = 0; f < s->shape_count; f++)
        if (s->shapes[f].kind != FACE_TRAY) s->result->net_area += dt_net_face(s->net, f)->area;
    for (size_t a = 0; a < dt_net_arc_count(s->net); a++) {
        const dt_arc *arc = dt_net_arc(s->net, a);
        int pieces = DT_IS_PIECE(piece_of_face(s, arc->left)) + DT_IS_PIECE(piece_of_face(s, arc->right));
        if (pieces == 1) s->result->net_border += arc->length;
        if (pieces == 2) s->result->net_inner += arc->length;
    }
}

dt_status stage_seams(stage *s) {
    walk w = {.s = s, .seam_of_arc = DT_TAKE(&s->scratch, dt_net_arc_count(s->net), uint32_t)};
    if (!w.seam_of_arc) return DT_NO_MEMORY;
    for (size_t a = 0; a < dt_net_arc_count(s->net); a++) w.seam_of_arc[a] = DT_NO_INDEX;
    bool enough_memory = true;
    for (size_t p = 0; enough_memory && p < s->result->piece_count; p++) enough_memory = walk_piece(&w, (uint32_t)p);
    dt_array_free(&w.sides);
    add_up_net(s);
    return enough_memory ? DT_OK : DT_NO_MEMORY;
}
