/* Which faces are no pieces: trays and voids. */
#include "stage.h"

static bool is_outside_half(const stage *s, uint32_t half) {
    return half_face(s->net, half) == DT_OUTSIDE_FACE;
}

static bool outline_is_border(const stage *s, const face_shape *shape) {
    for (size_t i = 0; i < shape->rings[0].half_count; i++)
        if (!is_outside_half(s, shape->rings[0].halves[i] ^ 1u)) return false;
    return true;
}

static size_t count_within(const stage *s, dt_path hole) {
    dt_box box = dt_box_of(hole);
    size_t count = 0;
    for (size_t f = 0; f < s->shape_count; f++) {
        dt_point p = s->shapes[f].inside;
        count += dt_box_meets(box, (dt_box){p, p}) && dt_path_contains(hole, p);
    }
    return count;
}

/* Holes with one single face are places for figures, and the ring is a piece; those of a tray hold at least two. */
static bool is_tray(const stage *s, const face_shape *shape) {
    if (shape->ring_count < 2 || !outline_is_border(s, shape)) return false;
    for (size_t h = 0; h + 1 < shape->ring_count; h++)
        if (count_within(s, shape->holes[h]) < 2) return false;
    return true;
}

/* Each puzzle of a sheet may have one of its own. */
dt_status stage_tray(stage *s) {
    for (size_t f = 0; f < s->shape_count; f++) {
        if (!is_tray(s, &s->shapes[f])) continue;
        s->shapes[f].kind = FACE_TRAY;
        s->result->tray_count++;
    }
    return DT_OK;
}

/* ---- voids ---- */

static const dt_stroke *void_stroke(const stage *s, uint32_t index) {
    if (index >= s->strokes.count) return NULL; /* no strokes were given */
    const dt_stroke *stroke = &s->strokes.strokes[index];
    return stroke->role == DT_ROLE_VOID ? stroke : NULL;
}

typedef struct void_signs {
    bool within;       /* inside a closed void stroke that bounds it */
    size_t open_arcs;  /* drawn by an open void stroke */
    size_t arcs;       /* drawn by any stroke at all (the join of a gap is not) */
} void_signs;

static void read_arc(const stage *s, const face_shape *shape, const dt_arc *arc, void_signs *signs) {
    bool open = false;
    for (size_t i = 0; i < arc->stroke_count && !signs->within; i++) {
        const dt_stroke *stroke = void_stroke(s, arc->strokes[i]);
        if (!stroke) continue;
        open = open || !stroke->closed;
        signs->within = stroke->closed && dt_path_contains(stroke->path, shape->inside);
    }
    signs->open_arcs += open;
    signs->arcs += arc->stroke_count > 0;
}

/* A face is a void when it lies in a closed void stroke that is part of its outline (other lines may cross the void), or when open
 * void strokes make up all of its outline. */
static bool is_void(const stage *s, const face_shape *shape) {
    void_signs signs = {0};
    for (size_t i = 0; i < shape->rings[0].half_count && !signs.within; i++)
        read_arc(s, shape, dt_net_arc(s->net, shape->rings[0].halves[i] / 2), &signs);
    return signs.within || (signs.open_arcs > 0 && signs.open_arcs == signs.arcs);
}

static int compare_voids(const void *left, const void *right) {
    const dt_void *a = left, *b = right;
    if (a->inside.y != b->inside.y) return a->inside.y < b->inside.y ? -1 : 1;
    return (a->inside.x > b->inside.x) - (a->inside.x < b->inside.x);
}

dt_status stage_voids(stage *s) {
    size_t count = 0;
    for (size_t f = 0; f < s->shape_count; f++) {
        if (s->shapes[f].kind != FACE_PIECE || !is_void(s, &s->shapes[f])) continue;
        s->shapes[f].kind = FACE_VOID;
        count++;
    }
    dt_void *voids = DT_TAKE(&s->result->arena, count, dt_void);
    if (!voids) return DT_NO_MEMORY;
    for (size_t f = 0, i = 0; f < s->shape_count; f++) {
        const face_shape *shape = &s->shapes[f];
        if (shape->kind == FACE_VOID) voids[i++] = (dt_void){shape->inside, shape->area, shape->rings[0].path};
    }
    qsort(voids, count, sizeof *voids, compare_voids);
    s->result->voids = voids;
    s->result->void_count = count;
    return DT_OK;
}
