/* Which pieces match several sides of a place at one pose. The list of ways of one side leads; each way is tried on all
 * sides (stand.c). Invariant of the finder: no leader is marked between two questions. */
#include "fit/crowd.h"
#include "fit/stand.h"

#include <math.h>
#include <stdlib.h>

static const double LEAST_CROWD = 0.5; /* fewer further pieces than this are not worth an estimate */

/* By leader of a class: a walker on which all sides stand, upright and turned over, plus 1; 0 = none. */
typedef struct standing {
    uint32_t walker[2];
} standing;

struct dt_rivals {
    const dt_fit *fit;
    dt_arena arena;
    dt_fitter fitter;
    dt_point *probes; /* by side, DT_PROBES each */
    standing *marks;  /* by leader */
    uint32_t *marked; /* leaders with a mark, in the order in which they were found */
    size_t marked_count;
    dt_rival_class *classes; /* room for all */
};

static const dt_side_class *class_of_side(const dt_fit *fit, const dt_side_entry *entry) {
    return &fit->side_classes.items[entry->class_id];
}

/* ---- the question ---- */

static bool leads(const dt_side_class *a, const dt_side_class *b) {
    return a->whole != b->whole ? a->whole : a->count < b->count;
}

/* Known sides that are whole rings. */
typedef struct holes {
    const dt_side_class *classes[DT_MOST_SHOWN];
    size_t count;
} holes;

/* The known sides, the one with the fewest ways in front (a list that is whole before one that is not). Sides too short
 * to tell anything are left out. */
static void gather(const dt_rivals *r, dt_piece_id place, const bool *known, dt_question *q, holes *rings) {
    const dt_fit *fit = r->fit;
    uint32_t first = fit->side_start[place.v], sides = fit->side_start[place.v + 1] - first;
    for (uint32_t i = 0; i < sides && q->count < DT_MOST_SHOWN; i++) {
        const dt_side_entry *entry = &fit->sides[first + i];
        if (!known[i] || entry->class_id == UINT32_MAX) continue;
        const dt_side_class *class = class_of_side(fit, entry);
        if (class->closed && rings->count < DT_MOST_SHOWN) rings->classes[rings->count++] = class;
        if (class->closed || class->everywhere) continue;
        dt_shown *side = &q->sides[q->count++];
        side->entry = entry;
        side->probes = r->probes + (size_t)(first + i) * DT_PROBES;
        side->laid = false;
        if (!leads(class, class_of_side(fit, q->sides[0].entry))) continue;
        dt_shown leading = *side;
        *side = q->sides[0];
        q->sides[0] = leading;
    }
}

/* ---- the listed ways ---- */

static void mark(dt_rivals *r, const dt_walker *walker, uint32_t index) {
    standing *s = &r->marks[walker->leader];
    if (!s->walker[0] && !s->walker[1]) r->marked[r->marked_count++] = walker->leader;
    s->walker[walker->over] = index + 1;
}

/* Ways of one leader come scattered in the list, so those that stand are marked. The place's own class is not looked
 * at. */
static dt_status find_standing(dt_rivals *r, uint32_t own, dt_question *q) {
    const dt_fit *fit = r->fit;
    const dt_side_class *class = class_of_side(fit, q->sides[0].entry);
    dt_pose back = dt_pose_inverse(q->sides[0].entry->to_class);
    dt_status status = DT_OK;
    for (uint32_t i = class->first; i < class->first + class->count && status == DT_OK; i++) {
        const dt_found *found = &fit->found.items[i];
        const dt_walker *walker = &fit->walkers[found->walker];
        bool stands = false;
        if (walker->leader == own || r->marks[walker->leader].walker[walker->over]) continue;
        status = dt_question_stands(q, q->count, &walker->loop, dt_pose_compose(back, found->pose), &stands);
        if (stands) mark(r, walker, found->walker);
    }
    return status;
}

/* ---- rings: their lists are whole, and few ---- */

static bool is_in(const dt_fit *fit, const dt_side_class *class, uint32_t leader) {
    for (uint32_t i = class->first; i < class->first + class->count; i++)
        if (fit->walkers[fit->found.items[i].walker].leader == leader) return true;
    return false;
}

static void mark_ring(dt_rivals *r, uint32_t own, const dt_side_class *class) {
    const dt_fit *fit = r->fit;
    for (uint32_t i = class->first; i < class->first + class->count; i++) {
        const dt_walker *walker = &fit->walkers[fit->found.items[i].walker];
        if (walker->leader != own && !r->marks[walker->leader].walker[walker->over])
            mark(r, walker, fit->found.items[i].walker);
    }
}

static void keep_in_ring(dt_rivals *r, const dt_side_class *class) {
    size_t kept = 0;
    for (size_t i = 0; i < r->marked_count; i++) {
        uint32_t leader = r->marked[i];
        if (is_in(r->fit, class, leader)) r->marked[kept++] = leader;
        else r->marks[leader] = (standing){{0, 0}};
    }
    r->marked_count = kept;
}

/* Members that lie turned over walk as the walker that is turned over. */
static dt_rival_class class_standing(uint32_t leader, const standing *s) {
    return (dt_rival_class){leader, {!s->walker[0], !s->walker[1]}};
}

static dt_rival_class class_as_drawn(const dt_fit *fit, uint32_t leader, uint32_t place) {
    bool over = fit->to_leader[place].flipped;
    return (dt_rival_class){leader, {over, !over}};
}

/* The place's own class matches whatever shows; with nothing to go by, everyone does. */
static size_t list_classes(const dt_rivals *r, uint32_t place, bool nothing_shows, dt_rival_class *out) {
    const dt_fit *fit = r->fit;
    size_t count = 0;
    out[count++] = class_as_drawn(fit, fit->class_of[place], place);
    for (uint32_t leader = 0; leader < fit->count && nothing_shows; leader++)
        if (fit->class_of[leader] == leader && leader != fit->class_of[place]) out[count++] = class_as_drawn(fit, leader, place);
    for (size_t i = 0; i < r->marked_count; i++) out[count++] = class_standing(r->marked[i], &r->marks[r->marked[i]]);
    return count;
}

/* ---- the ways that are not listed ---- */

/* Of the crowd of the leading side, the share that stands on all sides. */
static dt_status share_standing(dt_question *q, double *share) {
    const dt_side_entry *leading = q->sides[0].entry;
    size_t count, standing_too = 0;
    double alike;
    const dt_crowd_pick *picks = dt_crowd_picks(q->fit, leading->class_id, &count, &alike);
    dt_pose back = dt_pose_inverse(leading->to_class);
    dt_status status = DT_OK;
    for (size_t i = 0; i < count && status == DT_OK; i++) {
        bool stands = false;
        status = dt_question_stands(q, q->count, &q->fit->walkers[picks[i].walker].loop,
                                    dt_pose_compose(back, picks[i].pose), &stands);
        standing_too += stands;
    }
    if (status == DT_OK) *share = count ? fmin((double)standing_too / alike, 1.0) : 0.0;
    return status;
}

static dt_status estimate_hidden(dt_question *q, double *hidden) {
    const dt_side_class *class = class_of_side(q->fit, q->sides[0].entry);
    double share = 1.0;
    if (class->whole || class->crowd < LEAST_CROWD) return DT_OK;
    dt_status status = q->count > 1 ? share_standing(q, &share) : DT_OK;
    if (status == DT_OK) *hidden = share * class->crowd;
    return status;
}

/* ---- the finder ---- */

static dt_status take_probes(dt_rivals *r) {
    dt_status status = DT_OK;
    for (uint32_t i = 0; i < r->fit->side_count && status == DT_OK; i++) {
        const dt_side_entry *entry = &r->fit->sides[i];
        dt_arena scratch = DT_ARENA((size_t)16 << 20);
        dt_path path;
        if (entry->class_id == UINT32_MAX) continue;
        status = dt_fit_side_path(r->fit, entry->piece, entry->index, &scratch, &path);
        if (status == DT_OK)
            dt_path_points(path, 0.0, dt_path_length(path) / (DT_PROBES - 1), DT_PROBES,
                           r->probes + (size_t)i * DT_PROBES);
        dt_arena_free(&scratch);
    }
    return status;
}

dt_status dt_rivals_new(const dt_fit *fit, dt_rivals **out) {
    dt_rivals *r = calloc(1, sizeof *r);
    if (!r) return DT_NO_MEMORY;
    *r = (dt_rivals){.fit = fit, .arena = DT_ARENA((size_t)256 << 20)};
    dt_status status = dt_fitter_new(&r->arena, &r->fitter);
    r->probes = DT_TAKE(&r->arena, fit->side_count * DT_PROBES, dt_point);
    r->marks = DT_TAKE(&r->arena, fit->count, standing);
    r->marked = DT_TAKE(&r->arena, fit->count, uint32_t);
    r->classes = DT_TAKE(&r->arena, fit->count, dt_rival_class);
    if (!r->probes || !r->marks || !r->marked || !r->classes) status = DT_NO_MEMORY;
    if (status == DT_OK) status = take_probes(r);
    if (status == DT_OK)
        *out = r;
    else
        dt_rivals_free(r);
    return status;
}

void dt_rivals_free(dt_rivals *rivals) {
    if (!rivals) return;
    dt_arena_free(&rivals->arena);
    free(rivals);
}

static void forget(dt_rivals *r) {
    for (size_t i = 0; i < r->marked_count; i++) r->marks[r->marked[i]] = (standing){{0, 0}};
    r->marked_count = 0;
}

dt_status dt_rivals_by_class(dt_rivals *r, dt_piece_id place, const bool *known, dt_rival_class *out, size_t *count,
                             double *hidden) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    dt_question q = {.fit = r->fit, .fitter = &r->fitter, .arena = &scratch};
    holes rings = {.count = 0};
    double more = 0.0;
    uint32_t own = r->fit->class_of[place.v];
    gather(r, place, known, &q, &rings);
    dt_status status = q.count ? find_standing(r, own, &q) : DT_OK;
    if (q.count == 0 && rings.count) mark_ring(r, own, rings.classes[0]);
    for (size_t i = 0; i < rings.count; i++) keep_in_ring(r, rings.classes[i]);
    if (status == DT_OK && q.count && rings.count == 0) status = estimate_hidden(&q, &more);
    if (status == DT_OK) {
        *count = list_classes(r, place.v, q.count + rings.count == 0, out);
        *hidden = more;
    }
    forget(r);
    dt_arena_free(&scratch);
    return status;
}

static size_t list_members(const dt_fit *fit, const dt_rival_class *class, uint32_t place, dt_rival *out) {
    size_t count = 0;
    for (uint32_t i = fit->member_start[class->class_id]; i < fit->member_start[class->class_id + 1]; i++) {
        uint32_t piece = fit->members[i];
        if (piece != place) out[count++] = (dt_rival){{piece}, class->only_flipped[fit->to_leader[piece].flipped]};
    }
    return count;
}

dt_status dt_rivals_of(dt_rivals *r, dt_piece_id place, const bool *known, dt_rival *out, size_t *count,
                       double *hidden) {
    size_t classes = 0, listed = 0;
    dt_status status = dt_rivals_by_class(r, place, known, r->classes, &classes, hidden);
    if (status != DT_OK) return status;
    for (size_t i = 0; i < classes; i++) listed += list_members(r->fit, &r->classes[i], place.v, out + listed);
    *count = listed;
    return DT_OK;
}

size_t dt_fit_place_k(const dt_fit *fit, dt_piece_id place, const bool *known, const bool *loose) {
    size_t listed = 0, k = 1;
    double hidden;
    dt_rivals *finder = NULL;
    dt_rival *rivals = calloc(fit->count, sizeof *rivals);
    if (rivals && dt_rivals_new(fit, &finder) == DT_OK &&
        dt_rivals_of(finder, place, known, rivals, &listed, &hidden) == DT_OK)
        for (size_t i = 0; i < listed; i++) k += !loose || loose[rivals[i].piece.v];
    dt_rivals_free(finder);
    free(rivals);
    return k;
}
