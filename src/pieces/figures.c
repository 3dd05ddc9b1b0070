/* Which faces are no pieces (the tray, the voids), which pieces are figures (whimsies), and what they are called. */
#include "stage.h"

static bool is_outside_half(const stage *s, uint32_t half) {
    return half_face(s->net, half) == DT_OUTSIDE_FACE;
}

static bool outline_is_border(const stage *s, const face_shape *shape) {
    for (size_t i = 0; i < shape->rings[0].half_count; i++)
        if (!is_outside_half(s, shape->rings[0].halves[i] ^ 1u)) return false;
    return true;
}

static bool holds_all_others(const stage *s, size_t face) {
    dt_path hole = s->shapes[face].holes[0];
    dt_box box = dt_box_of(hole);
    for (size_t f = 0; f < s->shape_count; f++) {
        dt_point p = s->shapes[f].inside;
        if (f == face) continue;
        if (!dt_box_meets(box, (dt_box){p, p}) || !dt_path_contains(hole, p)) return false;
    }
    return true;
}

/* A ring round one single face is a piece with a figure in it; a tray holds at least two. */
dt_status stage_tray(stage *s) {
    for (size_t f = 0; s->shape_count > 2 && f < s->shape_count; f++) {
        face_shape *shape = &s->shapes[f];
        if (shape->ring_count != 2 || !outline_is_border(s, shape) || !holds_all_others(s, f)) continue;
        shape->kind = FACE_TRAY;
        s->result->has_tray = true;
        return DT_OK;
    }
    return DT_OK;
}

dt_status stage_voids(stage *s) {
    (void)s;
    return DT_OK;
}

dt_status stage_names(stage *s) {
    (void)s;
    return DT_OK;
}
