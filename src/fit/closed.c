/* Closed sides: a piece that lies as an island in a hole, and the piece around it. Such a side asks for a whole ring, so its candidates are
 * the rings of the same kind (outlines for a hole, holes for an island) whose mismatch with it is within the eye. Rings are sought as
 * pieces are among twins: by the keys of their hulls, which differ by no more than the mismatch. */
#include "fit/store.h"

#include <math.h>

/* Nearest points that all fits may ask for, and what it costs to see that a ring cannot fit. Some thousand unlike rings ask for more. */
enum { MOST_WORK = 4000000, WORK_OF_A_LOOK = 5 };
static const uint32_t NONE = UINT32_MAX;

typedef struct ring {
    dt_form form;
    uint32_t piece, index; /* of the ring: 0 = outline */
} ring;

typedef struct finder {
    dt_fit *fit;
    dt_fitter fitter;
    dt_arena arena;
    ring *rings;              /* of all leaders */
    size_t count;
    float *keys;
    dt_kdtree tree;
    uint32_t *first_walker;   /* by leader */
    uint32_t *seen;           /* by leader: class + 1 that counted it last */
    ring *side;               /* asked about */
    uint32_t *first_asked[2]; /* by the leader of the island, for holes and for islands: the first such side, + 1 */
    dt_status status;
} finder;

static dt_path path_of(dt_shape shape, uint32_t index) {
    return index ? shape.holes[index - 1] : shape.outline;
}

/* The form of a ring alone, measured. */
static dt_status measure_ring(finder *f, uint32_t piece, uint32_t index, ring *out) {
    dt_shape shape = {path_of(f->fit->forms[piece].shape, index), NULL, 0};
    *out = (ring){.piece = piece, .index = index};
    return dt_form_measure(shape, &f->arena, &out->form);
}

static dt_status gather_rings(finder *f) {
    const dt_fit *fit = f->fit;
    size_t room = 0;
    for (uint32_t i = 0; i < fit->count; i++) room += fit->class_of[i] == i ? 1 + fit->forms[i].shape.hole_count : 0;
    f->rings = DT_TAKE(&f->arena, room, ring);
    f->keys = DT_TAKE(&f->arena, room * DT_FORM_KEYS, float);
    f->first_walker = DT_TAKE(&f->arena, fit->count, uint32_t);
    f->seen = DT_TAKE(&f->arena, fit->count, uint32_t);
    for (int kind = 0; kind < 2; kind++) f->first_asked[kind] = DT_TAKE(&f->arena, fit->count, uint32_t);
    if (!f->rings || !f->keys || !f->first_walker || !f->seen || !f->first_asked[0] || !f->first_asked[1]) return DT_NO_MEMORY;
    for (uint32_t w = (uint32_t)fit->walker_count; w-- > 0;) f->first_walker[fit->walkers[w].leader] = w;
    for (uint32_t i = 0; i < fit->count; i++)
        for (uint32_t r = 0; fit->class_of[i] == i && r <= fit->forms[i].shape.hole_count; r++) {
            dt_status status = measure_ring(f, i, r, &f->rings[f->count]);
            if (status != DT_OK) return status;
            dt_form_key(&f->rings[f->count].form, f->keys + f->count * DT_FORM_KEYS);
            f->count++;
        }
    return dt_kdtree_new(f->keys, f->count, DT_FORM_KEYS, &f->arena, &f->tree);
}

static uint32_t walker_of(const finder *f, const ring *r, bool over) {
    const dt_fit *fit = f->fit;
    for (uint32_t w = f->first_walker[r->piece]; w < fit->walker_count && fit->walkers[w].leader == r->piece; w++)
        if (fit->walkers[w].ring == r->index && fit->walkers[w].over == over) return w;
    return NONE;
}

static bool lay_ring(finder *f, const ring *r, dt_form *form) {
    double eye = f->fit->eye;
    uint32_t walker = walker_of(f, r, form->over);
    dt_pose pose;
    dt_point where;
    f->status = dt_form_prepare(form, &f->arena);
    if (f->status != DT_OK || walker == NONE) return f->status == DT_OK;
    double value = dt_forms_fit_copy(&f->fitter, form, &f->side->form, DT_SAME_MM, eye + DT_POLISH_MM, &pose, &where);
    if (value > eye && value < INFINITY) value = dt_forms_polish(&f->fitter, form, &f->side->form, value, &pose, &where);
    if (value > eye) return true;
    if (!dt_array_push(&f->fit->found, (dt_found){walker, pose, value, pose, INFINITY})) f->status = DT_NO_MEMORY;
    return f->status == DT_OK;
}

static bool try_ring(void *context, uint32_t item) {
    finder *f = context;
    ring *r = &f->rings[item];
    if (f->fitter.work > MOST_WORK) {
        dt_fit_leave_out(f->fit, DT_LIST_LOOK_ALIKES);
        return false;
    }
    f->fitter.work += WORK_OF_A_LOOK;
    if ((r->index == 0) != (f->side->index == 0) || !dt_form_may_fit(&r->form, &f->side->form, f->fit->eye)) return true;
    dt_form over = dt_form_flip(&r->form);
    return lay_ring(f, r, &r->form) && (!f->fit->two_sided || lay_ring(f, r, &over));
}

/* Pieces, not ways; the side's own class is always among them. */
static uint32_t count_pieces(finder *f, const dt_side_class *class, uint32_t class_id, uint32_t own) {
    const dt_fit *fit = f->fit;
    uint32_t k = fit->member_start[own + 1] - fit->member_start[own];
    f->seen[own] = class_id + 1;
    for (uint32_t i = class->first; i < class->first + class->count; i++) {
        uint32_t leader = fit->walkers[fit->found.items[i].walker].leader;
        if (f->seen[leader] == class_id + 1) continue;
        f->seen[leader] = class_id + 1;
        k += fit->member_start[leader + 1] - fit->member_start[leader];
    }
    return k;
}

/* The first of its sides asks for a whole class. */
static dt_status ask_side(finder *f, uint32_t side, uint32_t ring_index) {
    dt_fit *fit = f->fit;
    dt_side_entry *entry = &fit->sides[side];
    uint32_t class_id = (uint32_t)fit->side_classes.count, first = (uint32_t)fit->found.count;
    float key[DT_FORM_KEYS];
    ring asked;
    f->side = &asked;
    f->status = measure_ring(f, entry->piece, ring_index, &asked);
    if (f->status == DT_OK) f->status = dt_form_prepare(&asked.form, &f->arena);
    if (f->status != DT_OK) return f->status;
    dt_form_key(&asked.form, key);
    dt_kdtree_find(&f->tree, key, dt_form_key_within(fit->eye), try_ring, f);
    if (f->status != DT_OK) return f->status;
    dt_side_class class = {.leader = side, .first = first, .count = (uint32_t)fit->found.count - first, .whole = true, .closed = true};
    class.k = count_pieces(f, &class, class_id, fit->class_of[entry->piece]);
    entry->class_id = class_id;
    return dt_array_push(&fit->side_classes, class) ? DT_OK : DT_NO_MEMORY;
}

/* The piece that lies in the hole, of the two that meet at the side. */
static uint32_t island_at(const dt_fit *fit, uint32_t side) {
    const dt_side_entry *entry = &fit->sides[side];
    const dt_side *drawn = &dt_pieces_get(fit->pieces, (dt_piece_id){entry->piece})->sides[entry->index];
    return drawn->ring ? dt_pieces_across(fit->pieces, (dt_piece_id){entry->piece}, drawn).v : entry->piece;
}

/* Sides about islands of one shape are of one class: what fits one of them fits all. */
static dt_status settle_side(finder *f, uint32_t side, uint32_t ring_index) {
    dt_fit *fit = f->fit;
    uint32_t island = island_at(fit, side), *first = &f->first_asked[ring_index == 0][fit->class_of[island]];
    if (!*first) {
        *first = side + 1;
        return ask_side(f, side, ring_index);
    }
    const dt_side_entry *leader = &fit->sides[*first - 1];
    dt_pose from_leader = dt_pose_inverse(fit->to_leader[island_at(fit, *first - 1)]);
    fit->sides[side].class_id = leader->class_id;
    fit->sides[side].to_class = dt_pose_compose(from_leader, fit->to_leader[island]);
    return DT_OK;
}

static const dt_side *closed_side(const dt_fit *fit, const dt_side_entry *entry) {
    dt_piece_id id = {entry->piece};
    const dt_side *side = &dt_pieces_get(fit->pieces, id)->sides[entry->index];
    bool closed = dt_pieces_seam(fit->pieces, side->seam)->closed;
    return closed && DT_IS_PIECE(dt_pieces_across(fit->pieces, id, side)) ? side : NULL;
}

dt_status dt_fit_find_closed(dt_fit *fit) {
    finder f = {.fit = fit, .arena = DT_ARENA((size_t)512 << 20)};
    dt_status status = DT_OK;
    for (uint32_t i = 0; i < fit->side_count && status == DT_OK; i++) {
        const dt_side *side = closed_side(fit, &fit->sides[i]);
        if (!side) continue;
        if (!f.rings) status = dt_fitter_new(&f.arena, &f.fitter);
        if (!f.rings && status == DT_OK) status = gather_rings(&f);
        if (status == DT_OK) status = settle_side(&f, i, side->ring);
    }
    fit->work += f.fitter.work;
    dt_arena_free(&f.arena);
    return status;
}
