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
 * for nine in ten. Pairs within it grow with the square of the pieces (at 2,500 pieces some 0.3 s), so beyond MANY pieces the margin is
 * smaller, and beyond MOST_NEAR no near twins are sought. */
static const double LAP_EYES = 2.0, LAP_EYES_OF_MANY = 1.2;
enum { MANY = 250, MOST_NEAR = 2500 };
enum { MOST_PAIRS = 400000 }; /* in each list: 50 MB; a sheet of 900 alike pieces just fits */

/* Pairs of leaders that are fitted: a knobbed sheet of 5,000 pieces needs 12,000, and four times as many when it is twice as large; and the
 * nearest points that the fits ask for, some nine millions a second: the states of a map with all their islets take 12 millions.
 * Pieces a few kerfs wide may fit at any turn, so thousands of specks would ask for hundreds of millions; the largest pieces come first. */
enum { MOST_FITS = 60000, MOST_WORK = 13000000, MOST_WORK_NEAR = 3000000 };
/* And pairs that do fit, which cost ten times as much: a sheet of hundreds of pieces that hardly differ has more than anyone will look at. */
enum { MOST_FOUND = 6000 };

/* Leaders are hunted for in blocks, so that what a block lists is bounded and the limits below fall the same way whoever does the work. */
enum { LEADERS_A_BLOCK = 64, MOST_A_LEADER = 2000, PAIRS_A_BATCH = 2048, FEWEST_A_BATCH = 64 };

/* Two leaders that may fit, and how they do. */
typedef struct pair {
    uint32_t leader, item;
    bool upright, over, fits;  /* ways to try; whether one holds */
    dt_match match;
} pair;

typedef DT_ARRAY(pair) pairs;

/* A worker's own. */
typedef struct hunter {
    struct hunt *hunt;
    dt_fitter fitter;
    uint32_t leader;
    size_t listed;                    /* for this leader */
    dt_form over;                     /* the leader turned over */
    dt_lap lap_over;
    pairs pairs;                      /* listed in this block */
    dt_status status;
} hunter;

/* Where a worker listed the pairs of a leader; then, where they are in hunt.pairs. */
typedef struct slice {
    uint32_t leader;
    size_t worker, first, count;
} slice;

typedef struct hunt {
    dt_fit *fit;
    const dt_watch *watch;
    bool near;                        /* after near twins */
    double limit, lap_limit;
    size_t fits, found, workers;      /* pairs tried and pairs that fit, so far */
    size_t work, most_work;           /* of the hunters' fitters, so far, and in all */
    uint32_t *order;                  /* leaders, the largest first */
    size_t leader_count;
    hunter hunters[DT_MOST_WORKERS];
    slice slices[LEADERS_A_BLOCK], batch[LEADERS_A_BLOCK];
    size_t slice_count, next_slice, batch_count;
    pairs pairs;                      /* of the batch, by leader */
    DT_ARRAY(uint32_t) wanted;        /* forms to prepare for it */
    bool *is_wanted;                  /* by piece */
    dt_lap *laps;                     /* by piece */
    float *lap_keys;
    dt_kdtree by_lap;
    DT_ARRAY(uint32_t) twins;         /* leaders that are twins of an earlier leader */
    uint32_t *first_twin, *twin_count; /* by leader: in twins */
    dt_status status;
} hunt;

/* Not every pair will be listed. */
static void leave_out(hunt *h) {
    dt_fit_leave_out(h->fit, h->near ? DT_LIST_NEAR_TWINS : DT_LIST_TWINS);
    if (!h->near) dt_fit_leave_out(h->fit, DT_LIST_NEAR_TWINS);
}

static bool add_match(hunt *h, dt_match match) {
    dt_matches *list = match.mismatch_mm <= h->fit->kerf ? &h->fit->twins : &h->fit->near_twins;
    if (list->count == MOST_PAIRS) {
        leave_out(h);
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

static bool try_fit(hunter *w, const dt_form *a, const dt_form *b, double limit, dt_match *match) {
    dt_pose pose;
    dt_point where;
    double value = dt_forms_fit(&w->fitter, a, b, limit + DT_POLISH_MM, &pose, &where);
    bool nearly = value > w->hunt->fit->kerf && value <= w->hunt->fit->kerf + DT_POLISH_MM;
    if (nearly || (value > limit && value < INFINITY)) value = dt_forms_polish(&w->fitter, a, b, value, &pose, &where);
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

/* ---- listing ---- */

static bool is_twin(const hunt *h, uint32_t leader, uint32_t item) {
    for (uint32_t i = 0; i < h->twin_count[leader]; i++)
        if (h->twins.items[h->first_twin[leader] + i] == item) return true;
    return false;
}

static bool may_be_pair(const hunter *w, uint32_t item) {
    const hunt *h = w->hunt;
    const dt_fit *fit = h->fit;
    return item > w->leader && fit->class_of[item] == item && dt_form_may_fit(&fit->forms[w->leader], &fit->forms[item], h->limit) &&
           circles_may_fit(fit, w->leader, item, h->limit);
}

static bool list_pair(hunter *w, uint32_t item, bool upright, bool over) {
    if (!upright && !over) return true;
    w->listed++;
    pair p = {.leader = w->leader, .item = item, .upright = upright, .over = over};
    if (!dt_array_push(&w->pairs, p)) w->status = DT_NO_MEMORY;
    return w->status == DT_OK && w->listed < MOST_A_LEADER;
}

static bool list_twin(void *context, uint32_t item) {
    hunter *w = context;
    const hunt *h = w->hunt;
    if (!may_be_pair(w, item)) return true;
    const dt_form *b = &h->fit->forms[item];
    return list_pair(w, item, may_turn_to(&h->fit->forms[w->leader], b, h->limit), may_turn_to(&w->over, b, h->limit));
}

static bool list_near_twin(void *context, uint32_t item) {
    hunter *w = context;
    const hunt *h = w->hunt;
    dt_pose laid[DT_MOST_LAID];
    if (!may_be_pair(w, item) || is_twin(h, w->leader, item)) return true;
    bool upright = dt_laps_lay(&h->laps[w->leader], &h->laps[item], h->lap_limit, laid) > 0;
    return list_pair(w, item, upright, dt_laps_lay(&w->lap_over, &h->laps[item], h->lap_limit, laid) > 0);
}

static void begin_leader(hunter *w, uint32_t leader) {
    w->leader = leader;
    w->listed = 0;
    w->over = dt_form_flip(&w->hunt->fit->forms[leader]);
    if (w->hunt->near) w->lap_over = dt_lap_flip(&w->hunt->laps[leader]);
}

static dt_status list_round(void *context, size_t worker, size_t item) {
    hunt *h = context;
    hunter *w = &h->hunters[worker];
    slice *s = &h->slices[item];
    const float *keys = h->near ? h->lap_keys + (size_t)s->leader * DT_LAP_TERMS : h->fit->keys + (size_t)s->leader * DT_FORM_KEYS;
    if (worker == 0 && dt_watch_stopped(h->watch)) return DT_STOPPED;
    begin_leader(w, s->leader);
    s->worker = worker;
    s->first = w->pairs.count;
    if (h->near) dt_kdtree_find(&h->by_lap, keys, (float)h->lap_limit, list_near_twin, w);
    else dt_kdtree_find(&h->fit->tree, keys, dt_form_key_within(h->limit), list_twin, w);
    s->count = w->pairs.count - s->first;
    return w->status;
}

/* ---- fitting ---- */

static bool want(hunt *h, uint32_t piece) {
    if (h->fit->forms[piece].prepared || h->is_wanted[piece]) return true;
    h->is_wanted[piece] = true;
    return dt_array_push(&h->wanted, piece);
}

static bool is_spent(const hunt *h) {
    return h->found >= MOST_FOUND || h->fits >= MOST_FITS || h->work >= h->most_work;
}

/* As many as can be paid for, if they cost as much as those so far. */
static size_t batch_room(const hunt *h) {
    size_t each = h->fits ? h->work / h->fits + 1 : h->most_work / FEWEST_A_BATCH;
    size_t room = h->work < h->most_work ? (h->most_work - h->work) / each : 0;
    return room < FEWEST_A_BATCH ? FEWEST_A_BATCH : room > PAIRS_A_BATCH ? PAIRS_A_BATCH : room;
}

static void add_up_work(hunt *h) {
    h->work = 0;
    for (size_t i = 0; i < h->workers; i++) h->work += h->hunters[i].fitter.work;
}

/* How many of the pairs listed for a leader may still be fitted. */
static size_t allowed(hunt *h, size_t wanted) {
    size_t left = is_spent(h) ? 0 : MOST_FITS - h->fits;
    if (wanted <= left) return wanted;
    leave_out(h);
    return left;
}

static bool take_pair(hunt *h, const pair *listed) {
    return dt_array_push(&h->pairs, *listed) && want(h, listed->item) && (!listed->upright || want(h, listed->leader));
}

/* A batch of what the workers listed, by leader. */
static dt_status gather_pairs(hunt *h) {
    size_t most = batch_room(h);
    h->pairs.count = h->wanted.count = h->batch_count = 0;
    while (h->next_slice < h->slice_count && h->pairs.count < most && h->batch_count < LEADERS_A_BLOCK) {
        slice *s = &h->slices[h->next_slice];
        const pair *listed = h->hunters[s->worker].pairs.items + s->first;
        size_t room = most - h->pairs.count, count = s->count < room ? s->count : room;
        size_t taken = allowed(h, count);
        if (taken) h->batch[h->batch_count++] = (slice){.leader = s->leader, .first = h->pairs.count, .count = taken};
        h->fits += taken;
        for (size_t k = 0; k < taken; k++)
            if (!take_pair(h, &listed[k])) return DT_NO_MEMORY;
        s->first += taken;
        s->count = taken < count ? 0 : s->count - count;
        if (s->count == 0) h->next_slice++;
    }
    return DT_OK;
}

static dt_status prepare_round(void *context, size_t worker, size_t item) {
    hunt *h = context;
    return dt_form_prepare(&h->fit->forms[h->wanted.items[item]], &h->fit->kept[worker]);
}

static bool promises(hunter *w, const dt_form *a, const dt_form *b, const dt_lap *lap, uint32_t item) {
    const hunt *h = w->hunt;
    dt_pose poses[DT_MOST_LAID];
    size_t count = dt_laps_lay(lap, &h->laps[item], h->lap_limit, poses);
    for (size_t i = 0; i < count; i++)
        if (dt_forms_promise(&w->fitter, a, b, h->limit, poses[i])) return true;
    return false;
}

/* Upright first: a piece that drops in as it lies needs no turning over, whichever is the closer fit. */
static void fit_pair(hunter *w, pair *p) {
    const hunt *h = w->hunt;
    const dt_form *a = &h->fit->forms[p->leader], *b = &h->fit->forms[p->item];
    double kerf = h->fit->kerf;
    p->match = (dt_match){.a = {p->leader}, .b = {p->item}, .mismatch_mm = INFINITY};
    if (h->near && p->upright) p->upright = promises(w, a, b, &h->laps[p->leader], p->item);
    if (h->near && p->over) p->over = promises(w, &w->over, b, &w->lap_over, p->item);
    p->fits = p->upright && try_fit(w, a, b, h->limit, &p->match);
    double below = fmin(h->limit, fmin(p->match.mismatch_mm, p->match.mismatch_mm > kerf ? INFINITY : kerf));
    if (p->over && !(p->fits && p->match.mismatch_mm <= kerf)) p->fits |= try_fit(w, &w->over, b, below, &p->match);
}

static dt_status fit_round(void *context, size_t worker, size_t item) {
    hunt *h = context;
    hunter *w = &h->hunters[worker];
    const slice *s = &h->batch[item];
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    dt_status status = DT_OK;
    if (worker == 0 && dt_watch_stopped(h->watch)) return DT_STOPPED;
    if (s->count) begin_leader(w, s->leader);
    for (pair *p = h->pairs.items + s->first, *end = p + s->count; p < end && status == DT_OK; p++) {
        if (p->over) status = dt_form_prepare(&w->over, &scratch);
        if (status == DT_OK) fit_pair(w, p);
    }
    dt_arena_free(&scratch);
    return status;
}

/* ---- blocks ---- */

static bool note_twin(hunt *h, const pair *p) {
    if (h->twin_count[p->leader]++ == 0) h->first_twin[p->leader] = (uint32_t)h->twins.count;
    return dt_array_push(&h->twins, p->item);
}

/* All pieces of two classes are twins where their leaders are. */
static dt_status settle_batch(hunt *h) {
    for (size_t k = 0; k < h->pairs.count && h->status == DT_OK; k++) {
        const pair *p = &h->pairs.items[k];
        if (!p->fits) continue;
        h->found++;
        spread(h, &p->match);
        if (!h->near && !note_twin(h, p)) h->status = DT_NO_MEMORY;
    }
    return h->status;
}

/* And all of one class. */
static dt_status settle_classes(hunt *h) {
    for (size_t i = 0; i < h->slice_count && h->status == DT_OK; i++) {
        uint32_t leader = h->slices[i].leader;
        dt_match same = {.a = {leader}, .b = {leader}, .pose = DT_POSE_IDENTITY,
                         .differ_at = h->fit->forms[leader].shape.outline.points[0]};
        if (h->slices[i].count == MOST_A_LEADER) leave_out(h);
        if (!h->near) spread(h, &same);
    }
    return h->status;
}

static dt_status fit_batches(hunt *h) {
    dt_status status = DT_OK;
    for (h->next_slice = 0; h->next_slice < h->slice_count && status == DT_OK;) {
        status = gather_pairs(h);
        size_t wanted = h->wanted.count, slices = h->batch_count;
        if (status == DT_OK) status = dt_workers_run(dt_fit_workers(h->fit, wanted), wanted, prepare_round, h);
        if (status == DT_OK) status = dt_workers_run(dt_fit_workers(h->fit, h->pairs.count), slices, fit_round, h);
        if (status == DT_OK) status = settle_batch(h);
        add_up_work(h);
    }
    for (size_t i = 0; i < h->workers; i++) h->hunters[i].pairs.count = 0;
    return status;
}

static void take_block(hunt *h, size_t *next) {
    h->slice_count = 0;
    while (*next < h->leader_count && h->slice_count < LEADERS_A_BLOCK)
        h->slices[h->slice_count++] = (slice){.leader = h->order[(*next)++]};
}

static dt_status hunt_all(hunt *h) {
    dt_status status = DT_OK;
    for (size_t next = 0; next < h->leader_count && status == DT_OK;) {
        take_block(h, &next);
        if (is_spent(h)) leave_out(h);
        else status = dt_workers_run(dt_fit_workers(h->fit, h->slice_count), h->slice_count, list_round, h);
        if (status == DT_OK) status = settle_classes(h);
        if (status == DT_OK) status = fit_batches(h);
    }
    return status;
}

/* ---- the step ---- */

static int by_pair(const void *a, const void *b) {
    const dt_match *p = a, *q = b;
    if (p->a.v != q->a.v) return p->a.v < q->a.v ? -1 : 1;
    return (p->b.v > q->b.v) - (p->b.v < q->b.v);
}

static dt_status lap_round(void *context, size_t worker, size_t item) {
    hunt *h = context;
    h->laps[item] = dt_lap_of(h->fit->forms[item].shape.outline);
    dt_lap_key(&h->laps[item], h->lap_keys + item * DT_LAP_TERMS);
    (void)worker;
    return DT_OK;
}

static dt_status take_laps(hunt *h, dt_arena *scratch) {
    size_t count = h->fit->count;
    h->laps = DT_TAKE(scratch, count, dt_lap);
    h->lap_keys = DT_TAKE(scratch, count * DT_LAP_TERMS, float);
    if (!h->laps || !h->lap_keys) return DT_NO_MEMORY;
    dt_status status = dt_workers_run(dt_fit_workers(h->fit, count), count, lap_round, h);
    return status == DT_OK ? dt_kdtree_new(h->lap_keys, count, DT_LAP_TERMS, scratch, &h->by_lap) : status;
}

static dt_status hunt_twins(hunt *h) {
    h->limit = h->fit->kerf;
    h->most_work = MOST_WORK;
    return hunt_all(h);
}

static dt_status hunt_near_twins(hunt *h, dt_arena *scratch) {
    dt_fit *fit = h->fit;
    fit->near_sought = fit->count <= MOST_NEAR;
    if (fit->eye <= fit->kerf || !fit->near_sought) return DT_OK;
    h->near = true;
    h->limit = fit->eye;
    h->most_work = h->work + MOST_WORK_NEAR;
    dt_status status = take_laps(h, scratch);
    return status == DT_OK ? hunt_all(h) : status;
}

typedef struct sized {
    double radius;
    uint32_t leader;
} sized;

static int by_size(const void *a, const void *b) {
    const sized *p = a, *q = b;
    if (p->radius != q->radius) return p->radius > q->radius ? -1 : 1;
    return (p->leader > q->leader) - (p->leader < q->leader);
}

static bool sort_leaders(hunt *h, dt_arena *scratch) {
    const dt_fit *fit = h->fit;
    sized *list = DT_TAKE(scratch, fit->count, sized);
    h->order = DT_TAKE(scratch, fit->count, uint32_t);
    if (!list || !h->order) return false;
    for (uint32_t i = 0; i < fit->count; i++)
        if (fit->class_of[i] == i) list[h->leader_count++] = (sized){fit->forms[i].radius, i};
    if (h->leader_count) qsort(list, h->leader_count, sizeof *list, by_size);
    for (size_t i = 0; i < h->leader_count; i++) h->order[i] = list[i].leader;
    return true;
}

static dt_status begin_hunt(hunt *h, dt_arena *scratch) {
    size_t count = h->fit->count;
    h->workers = dt_fit_workers(h->fit, LEADERS_A_BLOCK);
    h->is_wanted = DT_TAKE(scratch, count, bool);
    h->first_twin = DT_TAKE(scratch, count, uint32_t);
    h->twin_count = DT_TAKE(scratch, count, uint32_t);
    bool made = h->is_wanted && h->first_twin && h->twin_count && sort_leaders(h, scratch);
    dt_status status = made ? DT_OK : DT_NO_MEMORY;
    for (size_t i = 0; i < h->workers && status == DT_OK; i++) {
        h->hunters[i].hunt = h;
        status = dt_fitter_new(scratch, &h->hunters[i].fitter);
    }
    return status;
}

static void end_hunt(hunt *h) {
    for (size_t i = 0; i < h->workers; i++) dt_array_free(&h->hunters[i].pairs);
    dt_array_free(&h->pairs);
    dt_array_free(&h->wanted);
    dt_array_free(&h->twins);
}

dt_status dt_fit_find_twins(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    hunt h = {.fit = fit, .watch = watch, .lap_limit = (fit->count > MANY ? LAP_EYES_OF_MANY : LAP_EYES) * fit->eye};
    if (fit->count > MANY && fit->eye > fit->kerf) dt_fit_leave_out(fit, DT_LIST_NEAR_TWINS);
    dt_status status = begin_hunt(&h, &scratch);
    if (status == DT_OK) status = hunt_twins(&h);
    if (status == DT_OK) status = hunt_near_twins(&h, &scratch);
    if (fit->twins.count) qsort(fit->twins.items, fit->twins.count, sizeof(dt_match), by_pair);
    if (fit->near_twins.count) qsort(fit->near_twins.items, fit->near_twins.count, sizeof(dt_match), by_pair);
    fit->work += h.work;
    end_hunt(&h);
    dt_arena_free(&scratch);
    return status;
}
