/* Turners: other ways in which a piece fits its own place. Each locally best turn is refined; a shape that fits at every turn of
 * the grid is a disc and gets one entry, "any turn". */
#include "fit/store.h"

#include <math.h>
#include <stdlib.h>

enum { NEAR_TURNS = 2 };  /* turns of the grid this close to another way are that way */
/* Nearest points asked for: a figure that may fit at any turn takes some 40,000. Thousands of specks, each a few kerfs wide, may all. What
 * is beyond is left out, but for what is round enough to turn freely anyway. The sum is looked at after each block of pieces. */
enum { MOST_WORK = 3000000, MOST_WORK_EACH = 400000, PIECES_A_BLOCK = 64 };

/* A worker's own. */
typedef struct wheel {
    dt_fit *fit;
    dt_fitter fitter;
    const dt_form *from, *to;
    dt_matches ways;       /* of the leaders so far */
    size_t first;          /* of them: the present leader's */
    size_t most_work;      /* for the present leader: as in dt_fitter.work */
    bool cut;              /* not all was tried */
} wheel;

/* Turning by one step of the grid: two ways nearer than this are one. */
static double turn_between(dt_pose a, dt_pose b) {
    return fabs(atan2(a.c * b.s - a.s * b.c, a.c * b.c + a.s * b.s));
}

static bool is_known(const wheel *w, dt_pose pose) {
    double same = NEAR_TURNS * 2.0 * 3.14159265358979323846 / DT_START_TURNS;
    if (!pose.flipped && turn_between(pose, DT_POSE_IDENTITY) < same) return true;
    for (size_t i = w->first; i < w->ways.count; i++) {
        const dt_match *way = &w->ways.items[i];
        if (way->pose.flipped == pose.flipped && turn_between(pose, way->pose) < same) return true;
    }
    return false;
}

static bool add_way(wheel *w, double mismatch, dt_pose pose, dt_point where) {
    if (w->from->over) pose = dt_pose_compose(pose, DT_POSE_OVER);
    if (is_known(w, pose)) return true;
    dt_match way = {.pose = pose, .turn = dt_pose_turn(pose), .mismatch_mm = mismatch, .differ_at = where,
                    .only_flipped = pose.flipped};
    return dt_array_push(&w->ways, way);
}

/* How far the line of a ring strays from a circle about a point; INFINITY: it does not go round it. */
static double off_round(const dt_near *line, dt_path ring, dt_point centre) {
    double farthest = 0.0;
    for (size_t i = 0; i < ring.count; i++) farthest = fmax(farthest, dt_point_distance(centre, ring.points[i]));
    return dt_path_contains(ring, centre) ? farthest - dt_near_find(line, centre, 0).distance : INFINITY;
}

/* Lines within two circles about one point, round which both go, lie within the gap of the circles at any turn: each meets every ray.
 * INFINITY: they do not. */
static double off_all_round(const dt_form *form) {
    dt_shape shape = form->shape;
    if (shape.hole_count > 1) return INFINITY;
    double outer = off_round(&form->outline, shape.outline, form->centre);
    return shape.hole_count ? fmax(outer, off_round(&form->holes, shape.holes[0], form->centre)) : outer;
}

static double fit_at(wheel *w, int turn, dt_pose *pose, dt_point *where) {
    *pose = dt_start_pose(w->from, w->to, 2.0 * 3.14159265358979323846 * turn / DT_START_TURNS);
    double value = dt_forms_mismatch_at(w->from, w->to, *pose, where);
    w->fitter.work += dt_forms_gauge_work(w->from, w->to);
    return value > w->fit->kerf ? dt_forms_refine(&w->fitter, w->from, w->to, w->fit->kerf, pose, where) : value;
}

/* The way that is farthest off of those at the turns of the grid; false: one of them does not fit. */
static bool fits_at_turns(wheel *w, dt_match *any) {
    *any = (dt_match){.turn = NAN, .pose = DT_POSE_IDENTITY};
    for (int i = 0; i < DT_START_TURNS; i++) {
        dt_pose pose;
        dt_point where;
        double value = fit_at(w, i, &pose, &where);
        if (value > w->fit->kerf) return false;
        if (value < any->mismatch_mm) continue;
        any->mismatch_mm = value;
        any->differ_at = where;
        any->pose = pose;
    }
    return true;
}

static bool fits_at_every_turn(wheel *w, dt_match *any) {
    double values[DT_START_TURNS];
    if (w->most_work == 0) {
        *any = (dt_match){.turn = NAN, .pose = DT_POSE_IDENTITY, .mismatch_mm = off_all_round(w->to),
                          .differ_at = w->to->shape.outline.points[0]};
        return any->mismatch_mm <= w->fit->kerf;
    }
    dt_forms_glance(&w->fitter, w->from, w->to, w->fit->kerf, values);
    for (int i = 0; i < DT_START_TURNS; i++)
        if (values[i] == INFINITY) return false;
    return fits_at_turns(w, any);
}

static bool try_turns(wheel *w, size_t most_work) {
    dt_start starts[DT_MOST_STARTS];
    size_t count = w->most_work ? dt_forms_starts(&w->fitter, w->from, w->to, w->fit->kerf, starts) : 0;
    w->cut = w->cut || w->most_work == 0;
    for (size_t i = 0; i < count; i++) {
        dt_pose pose = dt_start_pose(w->from, w->to, starts[i].angle);
        dt_point where;
        if (w->fitter.work > most_work) {
            w->cut = true;
            return true;
        }
        double value = dt_forms_refine(&w->fitter, w->from, w->to, w->fit->kerf, &pose, &where);
        if (value <= w->fit->kerf && !add_way(w, value, pose, where)) return false;
    }
    return true;
}

/* Does any turn but the drawn one pass the bound that needs no grids? Nearly every piece stops here. */
static bool may_turn(const dt_form *from, const dt_form *to, double kerf) {
    bool may[DT_START_TURNS];
    dt_forms_turns(from, to, kerf, may);
    for (int i = 0; i < DT_START_TURNS; i++) {
        bool drawn = !from->over && (i <= NEAR_TURNS || i >= DT_START_TURNS - NEAR_TURNS);
        if (!drawn && may[i]) return true;
    }
    return false;
}

static int by_turn(const void *a, const void *b) {
    const dt_match *p = a, *q = b;
    if (p->pose.flipped != q->pose.flipped) return p->pose.flipped ? 1 : -1;
    return (p->turn > q->turn) - (p->turn < q->turn);
}

static dt_status ways_of(wheel *w, uint32_t leader, dt_arena *kept) {
    const dt_fit *fit = w->fit;
    dt_form *form = &w->fit->forms[leader], over = dt_form_flip(form);
    w->to = w->from = form;
    bool upright = may_turn(form, form, fit->kerf), flipped = may_turn(&over, form, fit->kerf);
    if (!upright && !flipped) return DT_OK;
    dt_status status = dt_form_prepare(form, kept);
    size_t most_work = w->fitter.work + w->most_work;
    dt_match any;
    if (status == DT_OK && upright && fits_at_every_turn(w, &any)) return dt_array_push(&w->ways, any) ? DT_OK : DT_NO_MEMORY;
    if (status == DT_OK && upright && !try_turns(w, most_work)) status = DT_NO_MEMORY;
    if (status == DT_OK && flipped) status = dt_form_prepare(&over, kept);
    w->from = &over;
    if (status == DT_OK && flipped && !try_turns(w, most_work)) status = DT_NO_MEMORY;
    size_t count = w->ways.count - w->first;
    if (count) qsort(w->ways.items + w->first, count, sizeof *w->ways.items, by_turn);
    return status;
}

/* The leader's ways as ways of a piece of its class. A piece that lies mirrored is in another class, so turns carry over. */
static bool hand_out(dt_fit *fit, const dt_match *ways, size_t count, uint32_t piece) {
    dt_pose there = fit->to_leader[piece], back = dt_pose_inverse(there);
    for (size_t i = 0; i < count; i++) {
        dt_match way = ways[i];
        way.a.v = way.b.v = piece;
        way.pose = dt_pose_compose(back, dt_pose_compose(way.pose, there));
        way.differ_at = dt_pose_apply(back, way.differ_at);
        if (!isnan(way.turn)) way.turn = dt_pose_turn(way.pose);
        if (!dt_array_push(&fit->turners, way)) return false;
    }
    return true;
}

static int by_piece(const void *a, const void *b) {
    const dt_match *p = a, *q = b;
    if (p->a.v != q->a.v) return p->a.v < q->a.v ? -1 : 1;
    return by_turn(a, b);
}

/* Where a worker put the ways of a leader. */
typedef struct slice {
    size_t worker, first, count;
} slice;

typedef struct carousel {
    dt_fit *fit;
    const dt_watch *watch;
    wheel *wheels;
    size_t workers;
    slice *slices;    /* by piece */
    size_t from;      /* of the block */
    size_t most_work; /* for each piece of it; 0: no more is tried */
} carousel;

static dt_status turn_round(void *context, size_t worker, size_t item) {
    carousel *c = context;
    wheel *w = &c->wheels[worker];
    item += c->from;
    if (c->fit->class_of[item] != item) return DT_OK;
    if (worker == 0 && dt_watch_stopped(c->watch)) return DT_STOPPED;
    w->first = w->ways.count;
    w->most_work = c->most_work;
    dt_status status = ways_of(w, (uint32_t)item, &c->fit->kept[worker]);
    c->slices[item] = (slice){worker, w->first, w->ways.count - w->first};
    return status;
}

static dt_status hand_out_all(const carousel *c) {
    dt_fit *fit = c->fit;
    for (uint32_t leader = 0; leader < fit->count; leader++) {
        const slice *s = &c->slices[leader];
        const dt_match *ways = c->wheels[s->worker].ways.items + s->first;
        for (uint32_t i = fit->member_start[leader]; s->count && i < fit->member_start[leader + 1]; i++)
            if (!hand_out(fit, ways, s->count, fit->members[i])) return DT_NO_MEMORY;
    }
    return DT_OK;
}

static dt_status turn_all(carousel *c) {
    dt_status status = DT_OK;
    size_t count = c->fit->count, work = 0;
    for (c->from = 0; c->from < count && status == DT_OK; c->from += PIECES_A_BLOCK) {
        size_t left = count - c->from, block = left < PIECES_A_BLOCK ? left : PIECES_A_BLOCK;
        c->most_work = work < MOST_WORK ? MOST_WORK_EACH : 0;
        status = dt_workers_run(dt_fit_workers(c->fit, block), block, turn_round, c);
        work = 0;
        for (size_t i = 0; i < c->workers; i++) work += c->wheels[i].fitter.work;
    }
    c->fit->work += work;
    for (size_t i = 0; i < c->workers; i++)
        if (c->wheels[i].cut) dt_fit_leave_out(c->fit, DT_LIST_TURNERS);
    return status;
}

dt_status dt_fit_find_turners(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    size_t workers = dt_fit_workers(fit, fit->count);
    carousel c = {.fit = fit, .watch = watch, .wheels = DT_TAKE(&scratch, workers, wheel), .workers = workers,
                  .slices = DT_TAKE(&scratch, fit->count, slice)};
    dt_status status = c.wheels && c.slices ? DT_OK : DT_NO_MEMORY;
    for (size_t i = 0; i < workers && status == DT_OK; i++) {
        c.wheels[i].fit = fit;
        status = dt_fitter_new(&scratch, &c.wheels[i].fitter);
    }
    if (status == DT_OK) status = turn_all(&c);
    if (status == DT_OK) status = hand_out_all(&c);
    if (fit->turners.count) qsort(fit->turners.items, fit->turners.count, sizeof(dt_match), by_piece);
    for (size_t i = 0; c.wheels && i < workers; i++) dt_array_free(&c.wheels[i].ways);
    dt_arena_free(&scratch);
    return status;
}
