/* Twins and near twins: leaders whose keys lie within the eye of each other are fitted; what holds for two leaders holds, to
 * DT_SAME_MM each, for all pieces of their classes. The keys differ by at most the mismatch (form.h), so no twin is missed. */
#include "fit/store.h"

#include <math.h>
#include <stdlib.h>

static const double INRADIUS_ROOM_MM = 0.1; /* the inscribed circle is found to 0.01 mm or so */
enum { MOST_NEAR = 250 }; /* pieces up to which near twins are sought: their number of pairs grows with the square */
enum { MOST_PAIRS = 400000 }; /* in each list: 50 MB; a sheet of 900 alike pieces just fits */

/* Pairs of leaders that are fitted: a knobbed sheet of 5,000 pieces needs 12,000, and four times as many when it is twice as large. More
 * come from thousands of specks, each about a kerf wide. */
enum { MOST_FITS = 60000 };

typedef struct hunt {
    dt_fit *fit;
    dt_fitter fitter;
    uint32_t leader;
    double limit;
    size_t fits;
    dt_form over;                     /* the leader turned over */
    dt_status status;
} hunt;

static bool add_match(hunt *h, dt_match match) {
    dt_matches *list = match.mismatch_mm <= h->fit->kerf ? &h->fit->twins : &h->fit->near_twins;
    if (list->count == MOST_PAIRS) {
        h->fit->whole = false;
        return false;
    }
    if (!dt_array_push(list, match)) h->status = DT_NO_MEMORY;
    return h->status == DT_OK;
}

/* The fit of two leaders as a fit of members p and q of their classes, with the smaller id first. */
static dt_match between(const dt_fit *fit, const dt_match *leaders, uint32_t p, uint32_t q) {
    dt_match match = *leaders;
    dt_pose from_leader = dt_pose_inverse(fit->to_leader[q]);
    match.a.v = p;
    match.b.v = q;
    match.pose = dt_pose_compose(from_leader, dt_pose_compose(leaders->pose, fit->to_leader[p]));
    match.differ_at = dt_pose_apply(from_leader, leaders->differ_at);
    if (leaders->a.v == leaders->b.v) match.mismatch_mm = fit->off_leader[p] + fit->off_leader[q];
    if (p > q) {
        match.a.v = q;
        match.b.v = p;
        match.pose = dt_pose_inverse(match.pose);
        match.differ_at = dt_pose_apply(match.pose, match.differ_at);
    }
    match.turn = dt_pose_turn(match.pose);
    return match;
}

static void spread(hunt *h, const dt_match *leaders) {
    const uint32_t *starts = h->fit->member_start, *members = h->fit->members;
    uint32_t a = leaders->a.v, b = leaders->b.v;
    for (uint32_t i = starts[a]; i < starts[a + 1]; i++)
        for (uint32_t j = a == b ? i + 1 : starts[b]; j < starts[b + 1]; j++)
            if (!add_match(h, between(h->fit, leaders, members[i], members[j]))) return;
}

static bool try_fit(hunt *h, const dt_form *a, const dt_form *b, double limit, dt_match *match) {
    dt_pose pose;
    dt_point where;
    double value = dt_forms_fit(&h->fitter, a, b, limit + DT_POLISH_MM, &pose, &where);
    bool nearly = value > h->fit->kerf && value <= h->fit->kerf + DT_POLISH_MM;
    if (nearly || (value > limit && value < INFINITY)) value = dt_forms_polish(&h->fitter, a, b, value, &pose, &where);
    if (value > limit) return false;
    match->pose = a->over ? dt_pose_compose(pose, DT_POSE_OVER) : pose;
    match->mismatch_mm = value;
    match->differ_at = where;
    match->only_flipped = a->over;
    return true;
}

static bool may_turn_to(const dt_form *a, const dt_form *b, double limit) {
    bool may[DT_START_TURNS];
    dt_forms_turns(a, b, limit, may);
    for (int i = 0; i < DT_START_TURNS; i++)
        if (may[i]) return true;
    return false;
}

/* The largest circle inside changes by no more than the outline does. */
static bool circles_may_fit(const dt_fit *fit, uint32_t a, uint32_t b, double limit) {
    double ra = dt_pieces_get(fit->pieces, (dt_piece_id){a})->inradius_mm, rb = dt_pieces_get(fit->pieces, (dt_piece_id){b})->inradius_mm;
    return fabs(ra - rb) <= limit + INRADIUS_ROOM_MM;
}

/* Upright first: a piece that drops in as it lies needs no turning over, whichever is the closer fit. */
static bool pair_leaders(void *context, uint32_t item) {
    hunt *h = context;
    dt_form *a = &h->fit->forms[h->leader], *b = &h->fit->forms[item];
    if (item <= h->leader || h->fit->class_of[item] != item || !dt_form_may_fit(a, b, h->limit)) return true;
    if (!circles_may_fit(h->fit, h->leader, item, h->limit)) return true;
    bool upright = may_turn_to(a, b, h->limit), over = may_turn_to(&h->over, b, h->limit);
    if (!upright && !over) return true;
    if (h->fits++ == MOST_FITS) h->fit->whole = false;
    if (h->fits > MOST_FITS) return true;
    dt_arena *arena = &h->fit->arena;
    h->status = dt_form_prepare(a, arena);
    if (h->status == DT_OK) h->status = dt_form_prepare(b, arena);
    if (h->status == DT_OK && over) h->status = dt_form_prepare(&h->over, arena);
    if (h->status != DT_OK) return false;
    dt_match match = {.a = {h->leader}, .b = {item}, .mismatch_mm = INFINITY};
    bool fits = upright && try_fit(h, a, b, h->limit, &match);
    double below = fmin(h->limit, fmin(match.mismatch_mm, match.mismatch_mm > h->fit->kerf ? INFINITY : h->fit->kerf));
    if (over && !(fits && match.mismatch_mm <= h->fit->kerf)) fits |= try_fit(h, &h->over, b, below, &match);
    if (fits) spread(h, &match);
    return h->status == DT_OK;
}

static int by_pair(const void *a, const void *b) {
    const dt_match *p = a, *q = b;
    if (p->a.v != q->a.v) return p->a.v < q->a.v ? -1 : 1;
    return (p->b.v > q->b.v) - (p->b.v < q->b.v);
}

static dt_status hunt_all(hunt *h, const dt_watch *watch) {
    dt_fit *fit = h->fit;
    for (h->leader = 0; h->leader < fit->count && h->status == DT_OK; h->leader++) {
        if (fit->class_of[h->leader] != h->leader) continue;
        if (h->leader % 64 == 0 && dt_watch_stopped(watch)) return DT_STOPPED;
        dt_match same = {.a = {h->leader}, .b = {h->leader}, .pose = DT_POSE_IDENTITY,
                         .differ_at = fit->forms[h->leader].shape.outline.points[0]};
        spread(h, &same);
        h->over = dt_form_flip(&fit->forms[h->leader]);
        dt_kdtree_find(&fit->tree, fit->keys + (size_t)h->leader * DT_FORM_KEYS, dt_form_key_within(h->limit), pair_leaders, h);
    }
    return h->status;
}

dt_status dt_fit_find_twins(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    hunt h = {.fit = fit, .limit = fit->count > MOST_NEAR ? fit->kerf : fmax(fit->kerf, fit->eye)};
    if (h.limit < fit->eye) fit->whole = false;
    dt_status status = dt_fitter_new(&scratch, &h.fitter);
    if (status == DT_OK) status = hunt_all(&h, watch);
    if (fit->twins.count) qsort(fit->twins.items, fit->twins.count, sizeof(dt_match), by_pair);
    if (fit->near_twins.count) qsort(fit->near_twins.items, fit->near_twins.count, sizeof(dt_match), by_pair);
    dt_arena_free(&scratch);
    return status;
}
