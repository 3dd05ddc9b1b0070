/* Twins and near twins: leaders whose keys lie near each other are fitted; what holds for two leaders holds, to DT_SAME_MM each, for all
 * pieces of their classes. Twins are sought by the keys of their hulls, which differ by at most the mismatch (form.h), so none is missed.
 * Near twins are many times as many pairs by that measure, so they are sought by their laps (lap.h): lines that lie near each other everywhere
 * are walked at much the same pace. That is no proof, hence the wide margins below. */
#include "fit/lap.h"
#include "fit/store.h"

#include <math.h>
#include <stdlib.h>

static const double INRADIUS_ROOM_MM = 0.1; /* the inscribed circle is found to 0.01 mm or so */
/* Laps of near twins lie within this many eyes: on sheets of jigsaw pieces 1.5 times their mismatch was the most that was met, and 1.2 times
 * for nine in ten. Pairs within it grow with the square of the pieces (at 1,500 pieces some 0.4 s), so beyond MANY pieces the margin is
 * smaller, and beyond MOST_NEAR no near twins are sought. */
static const double LAP_EYES = 2.0, LAP_EYES_OF_MANY = 1.2;
enum { MANY = 250, MOST_NEAR = 1500 };
enum { MOST_PAIRS = 400000 }; /* in each list: 50 MB; a sheet of 900 alike pieces just fits */

/* Pairs of leaders that are fitted: a knobbed sheet of 5,000 pieces needs 12,000, and four times as many when it is twice as large. More
 * come from thousands of specks, each about a kerf wide. */
enum { MOST_FITS = 60000 };

typedef struct hunt {
    dt_fit *fit;
    dt_fitter fitter;
    uint32_t leader;
    double limit, lap_limit;
    size_t fits;
    dt_form over;                     /* the leader turned over */
    dt_lap *laps, lap_over;           /* by piece; of the leader turned over */
    float *lap_keys;
    dt_kdtree by_lap;
    uint32_t *twin_of;                /* by piece: the last leader whose twin it is, plus 1 */
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

static bool fits_are_left(hunt *h) {
    if (h->fits++ < MOST_FITS) return true;
    h->fit->whole = false;
    return false;
}

static dt_status prepare_pair(hunt *h, uint32_t item, bool upright, bool over) {
    dt_arena *arena = &h->fit->arena;
    dt_status status = dt_form_prepare(&h->fit->forms[item], arena);
    if (upright && status == DT_OK) status = dt_form_prepare(&h->fit->forms[h->leader], arena);
    return over && status == DT_OK ? dt_form_prepare(&h->over, arena) : status;
}

/* Upright first: a piece that drops in as it lies needs no turning over, whichever is the closer fit. */
static void fit_pair(hunt *h, uint32_t item, bool upright, bool over) {
    dt_form *a = &h->fit->forms[h->leader], *b = &h->fit->forms[item];
    dt_match match = {.a = {h->leader}, .b = {item}, .mismatch_mm = INFINITY};
    bool fits = upright && try_fit(h, a, b, h->limit, &match);
    double below = fmin(h->limit, fmin(match.mismatch_mm, match.mismatch_mm > h->fit->kerf ? INFINITY : h->fit->kerf));
    if (over && !(fits && match.mismatch_mm <= h->fit->kerf)) fits |= try_fit(h, &h->over, b, below, &match);
    if (fits && match.mismatch_mm <= h->fit->kerf) h->twin_of[item] = h->leader + 1;
    if (fits) spread(h, &match);
}

static bool may_be_pair(const hunt *h, uint32_t item) {
    const dt_fit *fit = h->fit;
    return item > h->leader && fit->class_of[item] == item && dt_form_may_fit(&fit->forms[h->leader], &fit->forms[item], h->limit) &&
           circles_may_fit(fit, h->leader, item, h->limit);
}

static bool try_twin(void *context, uint32_t item) {
    hunt *h = context;
    if (!may_be_pair(h, item)) return true;
    const dt_form *b = &h->fit->forms[item];
    bool upright = may_turn_to(&h->fit->forms[h->leader], b, h->limit), over = may_turn_to(&h->over, b, h->limit);
    if ((!upright && !over) || !fits_are_left(h)) return true;
    h->status = prepare_pair(h, item, upright, over);
    if (h->status == DT_OK) fit_pair(h, item, upright, over);
    return h->status == DT_OK;
}

static bool promises(hunt *h, const dt_form *a, const dt_form *b, const dt_pose *poses, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (dt_forms_promise(&h->fitter, a, b, h->limit, poses[i])) return true;
    return false;
}

static bool try_near_twin(void *context, uint32_t item) {
    hunt *h = context;
    dt_pose upright[DT_MOST_LAID], over[DT_MOST_LAID];
    if (h->twin_of[item] == h->leader + 1 || !may_be_pair(h, item)) return true;
    size_t ways = dt_laps_lay(&h->laps[h->leader], &h->laps[item], h->lap_limit, upright);
    size_t ways_over = dt_laps_lay(&h->lap_over, &h->laps[item], h->lap_limit, over);
    if (ways + ways_over == 0 || !fits_are_left(h)) return true;
    h->status = prepare_pair(h, item, ways > 0, ways_over > 0);
    if (h->status != DT_OK) return false;
    dt_form *a = &h->fit->forms[h->leader], *b = &h->fit->forms[item];
    bool may = promises(h, a, b, upright, ways), may_over = promises(h, &h->over, b, over, ways_over);
    if (may || may_over) fit_pair(h, item, may, may_over);
    return h->status == DT_OK;
}

static int by_pair(const void *a, const void *b) {
    const dt_match *p = a, *q = b;
    if (p->a.v != q->a.v) return p->a.v < q->a.v ? -1 : 1;
    return (p->b.v > q->b.v) - (p->b.v < q->b.v);
}

static void hunt_for(hunt *h) {
    const dt_fit *fit = h->fit;
    h->over = dt_form_flip(&fit->forms[h->leader]);
    h->limit = fit->kerf;
    dt_kdtree_find(&fit->tree, fit->keys + (size_t)h->leader * DT_FORM_KEYS, dt_form_key_within(h->limit), try_twin, h);
    if (fit->eye <= fit->kerf || fit->count > MOST_NEAR || h->status != DT_OK) return;
    h->lap_over = dt_lap_flip(&h->laps[h->leader]);
    h->limit = fit->eye;
    dt_kdtree_find(&h->by_lap, h->lap_keys + (size_t)h->leader * DT_LAP_TERMS, (float)h->lap_limit, try_near_twin, h);
}

static dt_status hunt_all(hunt *h, const dt_watch *watch) {
    dt_fit *fit = h->fit;
    for (h->leader = 0; h->leader < fit->count && h->status == DT_OK; h->leader++) {
        if (fit->class_of[h->leader] != h->leader) continue;
        if (h->leader % 64 == 0 && dt_watch_stopped(watch)) return DT_STOPPED;
        dt_match same = {.a = {h->leader}, .b = {h->leader}, .pose = DT_POSE_IDENTITY,
                         .differ_at = fit->forms[h->leader].shape.outline.points[0]};
        spread(h, &same);
        hunt_for(h);
    }
    return h->status;
}

static dt_status take_laps(hunt *h, dt_arena *scratch) {
    size_t count = h->fit->count;
    h->laps = DT_TAKE(scratch, count, dt_lap);
    h->lap_keys = DT_TAKE(scratch, count * DT_LAP_TERMS, float);
    h->twin_of = DT_TAKE(scratch, count, uint32_t);
    if (!h->laps || !h->lap_keys || !h->twin_of) return DT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        h->laps[i] = dt_lap_of(h->fit->forms[i].shape.outline);
        dt_lap_key(&h->laps[i], h->lap_keys + i * DT_LAP_TERMS);
    }
    return dt_kdtree_new(h->lap_keys, count, DT_LAP_TERMS, scratch, &h->by_lap);
}

dt_status dt_fit_find_twins(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    hunt h = {.fit = fit, .lap_limit = (fit->count > MANY ? LAP_EYES_OF_MANY : LAP_EYES) * fit->eye};
    if (fit->count > MANY && fit->eye > fit->kerf) fit->whole = false;
    dt_status status = dt_fitter_new(&scratch, &h.fitter);
    if (status == DT_OK) status = take_laps(&h, &scratch);
    if (status == DT_OK) status = hunt_all(&h, watch);
    if (fit->twins.count) qsort(fit->twins.items, fit->twins.count, sizeof(dt_match), by_pair);
    if (fit->near_twins.count) qsort(fit->near_twins.items, fit->near_twins.count, sizeof(dt_match), by_pair);
    dt_arena_free(&scratch);
    return status;
}
