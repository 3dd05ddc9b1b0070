/* The pieces stage from end to end, and what can be asked of its result. Each step works on the shapes of the net's faces;
 * pieces exist from the numbering on. Invariants: pieces.h; dt_pieces_check tests them. */
#include "stage.h"

#include <math.h>

/* Scratch and result each stay below this for the largest drawing that is read (6 million points of 16 bytes, a box tree
 * beside them); more means a fault in the program. */
#define MOST_BYTES ((size_t)4 << 30)

dt_piece_id piece_of_face(const stage *s, uint32_t face) {
    if (face == DT_OUTSIDE_FACE || s->shapes[face].kind == FACE_TRAY) return DT_OUTSIDE;
    if (s->shapes[face].kind == FACE_VOID) return DT_IN_VOID;
    return (dt_piece_id){s->shapes[face].piece};
}

/* A piece of 20 mm has 150 points; a metre of coast in full detail some ten thousand. Beyond, measuring one piece may take
 * seconds. */
#define MOST_PIECE_POINTS 20000u

static size_t ring_points(const dt_net *net, dt_ring ring) {
    size_t count = 0;
    for (size_t i = 0; i < ring.count; i++) count += dt_net_arc(net, ring.halves[i] / 2)->path.count - 1;
    return count;
}

static dt_status check_points(const dt_net *net, dt_error *error) {
    for (size_t f = 0; f < dt_net_face_count(net); f++) {
        const dt_face *face = dt_net_face(net, f);
        size_t count = ring_points(net, face->outer);
        for (size_t h = 0; h < face->hole_count; h++) count += ring_points(net, face->holes[h]);
        if (count <= MOST_PIECE_POINTS) continue;
        dt_point at = dt_net_arc(net, face->outer.halves[0] / 2)->path.points[0];
        return dt_fail(error, DT_TOO_LARGE, "the piece at (%.1f, %.1f) has %zu points along its outline, more than dovetell takes (%u): "
                       "simplify that line", at.x, at.y, count, MOST_PIECE_POINTS);
    }
    return DT_OK;
}

static dt_status run_steps(stage *s) {
    dt_status (*const before[])(stage *) = {stage_shapes, stage_tray, stage_voids, stage_number};
    dt_status (*const after[])(stage *) = {stage_seams,   stage_puzzles,  stage_corners, stage_names,
                                           stage_colours, stage_measures, stage_faults};
    dt_status status = DT_OK;
    for (size_t i = 0; status == DT_OK && i < sizeof before / sizeof *before; i++) status = before[i](s);
    if (status == DT_OK && s->result->piece_count == 0)
        return dt_fail(s->error, DT_NO_PIECES,
                       "every closed shape here is a void or a tray, so no piece is left: draw at least one piece outside "
                       "the void layer");
    for (size_t i = 0; status == DT_OK && i < sizeof after / sizeof *after; i++) status = after[i](s);
    return status == DT_OK || status == DT_TOO_LARGE ? status : dt_fail(s->error, status, "%s", dt_status_text(status));
}

dt_status dt_pieces_new(const dt_net *net, dt_strokes strokes, const dt_settings *settings, dt_pieces **out,
                        dt_error *error) {
    stage s = {.net = net, .strokes = strokes, .settings = settings, .error = error, .scratch = DT_ARENA(MOST_BYTES)};
    s.result = calloc(1, sizeof *s.result);
    if (!s.result) return dt_fail(error, DT_NO_MEMORY, "%s", dt_status_text(DT_NO_MEMORY));
    s.result->arena = (dt_arena)DT_ARENA(MOST_BYTES);
    dt_status status = check_points(net, error);
    if (status == DT_OK) status = run_steps(&s);
    dt_arena_free(&s.scratch);
    if (status == DT_OK) *out = s.result;
    else dt_pieces_free(s.result);
    return status;
}

void dt_pieces_free(dt_pieces *pieces) {
    if (!pieces) return;
    dt_array_free(&pieces->seams);
    dt_arena_free(&pieces->arena);
    free(pieces);
}

size_t dt_pieces_count(const dt_pieces *pieces) {
    return pieces->piece_count;
}

const dt_piece *dt_pieces_get(const dt_pieces *pieces, dt_piece_id id) {
    return &pieces->pieces[id.v];
}

size_t dt_pieces_seam_count(const dt_pieces *pieces) {
    return pieces->seams.count;
}

const dt_seam *dt_pieces_seam(const dt_pieces *pieces, dt_seam_id id) {
    return &pieces->seams.items[id.v];
}

size_t dt_pieces_void_count(const dt_pieces *pieces) {
    return pieces->void_count;
}

const dt_void *dt_pieces_void(const dt_pieces *pieces, size_t index) {
    return &pieces->voids[index];
}

size_t dt_pieces_puzzle_count(const dt_pieces *pieces) {
    return pieces->puzzle_count;
}

size_t dt_pieces_whimsy_count(const dt_pieces *pieces) {
    return pieces->whimsy_count;
}

size_t dt_pieces_tray_count(const dt_pieces *pieces) {
    return pieces->tray_count;
}

dt_box dt_pieces_box(const dt_pieces *pieces) {
    return pieces->box;
}

dt_piece_id dt_pieces_across(const dt_pieces *pieces, dt_piece_id id, const dt_side *side) {
    const dt_seam *seam = &pieces->seams.items[side->seam.v];
    return seam->a.v == id.v ? seam->b : seam->a;
}

size_t dt_pieces_fault_count(const dt_pieces *pieces) {
    return pieces->fault_count;
}

const dt_fault *dt_pieces_fault(const dt_pieces *pieces, size_t index) {
    return &pieces->faults[index];
}
