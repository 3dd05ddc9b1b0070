/* Who can fill a gap: see fillers.h. Tips are found by measures of their legs (legs.h), then compared with the gap's
 * lines point by point at the best pose. */
#include "fillers.h"

#include "base/workers.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const double LEAST_LEG_MM = 4.0;
static const double ANGLE_ERROR =
    0.35; /* radians (20 degrees): corners are measured over a scale only, and bent there */
static const double HOLLOW_MM =
    0.065; /* lines that leave a larger hole where they part do not meet there: a drawing error and a little */
/* mm: up to this room the index was held against looking at every tip; beyond it every tip is looked at */
static const double MOST_INDEXED_MM = 0.24;
static const size_t MEMORY_LIMIT = (size_t)1 << 30;

/* Corners that fit beside a tip, as bits of ANGLE_BIN; known up to this angle (radians). */
typedef struct dt_beside {
    uint64_t corners;
    double known;
} dt_beside;

/* ---- the table ---- */

/* A bend of radius r in a gap of angle g leaves a hollow r (1 / sin(g / 2) - 1) deep at its point. */
static double widest_gap(double bend) {
    return 2.0 * asin(1.0 / (1.0 + HOLLOW_MM / bend));
}

/* Corners are measured close by and farther off, since lines may bend as soon as they leave them. */
static void measure_corners(dt_fillers *f, double knee) {
    static const double FAR_OFF = 10.0;
    f->narrowest = PI;
    for (size_t i = 0; i < f->line_count; i++)
        for (size_t k = 0; k < f->lines[i].line.tip_count; k++) {
            const dt_tip *tip = &f->lines[i].line.tips[k];
            if (!tip->sharp) continue;
            double turn = fmax(tip->turn, dt_line_turn(&f->lines[i].line, tip->at, FAR_OFF * knee));
            f->narrowest = fmin(f->narrowest, PI - turn);
        }
    double scale = f->line_count ? f->lines[0].line.scale : knee;
    f->widest_sharp = widest_gap(scale / DT_SHARP_TURN);
    f->widest = widest_gap(knee / DT_SHARP_TURN);
}

/* A line that leaves another along a bend of radius r opens a cusp that no corner fills up to where it is as wide as
 * the narrowest one: that is longer than what lies within a hollow of both unless r < 2 hollow / sin^2(narrowest). Such
 * bends have to be sharp. */
bool dt_fillers_judge(const dt_fillers *f) {
    if (f->line_count == 0) return false;
    double bend = f->lines[0].line.scale / DT_SHARP_TURN, sine = sin(fmin(f->narrowest, PI / 2.0));
    return sine > 0.0 && bend >= 2.0 * HOLLOW_MM / (sine * sine);
}

/* Tips by line, the sharp ones apart. */
static bool list_entries(dt_fillers *f) {
    size_t tips = 0;
    for (size_t i = 0; i < f->line_count; i++) tips += f->lines[i].line.tip_count;
    f->sharp = DT_TAKE(&f->arena, tips, dt_entry);
    f->knees = DT_TAKE(&f->arena, tips, dt_entry);
    for (int leg = 0; leg < 2; leg++) f->beside[leg] = DT_TAKE(&f->arena, tips, dt_beside);
    f->legs = DT_TAKE(&f->arena, tips, dt_leg_points);
    f->first_leg = DT_TAKE(&f->arena, f->line_count + 1, size_t);
    if (!f->sharp || !f->knees || !f->beside[0] || !f->beside[1] || !f->legs || !f->first_leg) return false;
    for (size_t i = 0; i < f->line_count; i++) f->first_leg[i + 1] = f->first_leg[i] + f->lines[i].line.tip_count;
    for (uint32_t i = 0; i < f->line_count; i++)
        for (uint32_t k = 0; k < f->lines[i].line.tip_count; k++) {
            const dt_tip *tip = &f->lines[i].line.tips[k];
            dt_entry entry = {i, k, PI - tip->turn};
            if (tip->sharp)
                f->sharp[f->sharp_count++] = entry;
            else
                f->knees[f->knee_count++] = entry;
        }
    return true;
}

static dt_status take_legs(void *context, size_t worker, size_t item) {
    const dt_fillers *f = context;
    (void)worker;
    for (uint32_t k = 0; k < f->lines[item].line.tip_count; k++)
        dt_leg_points_take(&f->lines[item].line, k, &f->legs[f->first_leg[item] + k]);
    return DT_OK;
}

static dt_status make_indexes(dt_fillers *f, size_t workers) {
    dt_leg_plan both = {f->lines, f->sharp, f->sharp_count, DT_BY_BOTH, workers}, one = both, knees = both;
    knees.entries = f->knees;
    knees.count = f->knee_count;
    dt_status status = dt_workers_run(workers, f->line_count, take_legs, f);
    if (status == DT_OK) status = dt_leg_index_new(&both, &f->arena, &f->by_both);
    for (int leg = 0; status == DT_OK && leg < 2; leg++) {
        one.by = leg ? DT_BY_LEAVING : DT_BY_ARRIVING;
        status = dt_leg_index_new(&one, &f->arena, &f->by_one[leg]);
    }
    if (status == DT_OK) status = dt_leg_index_new(&knees, &f->arena, &f->knees_by_both);
    return status;
}

dt_status dt_fillers_new(const dt_fillers_plan *plan, dt_fillers *out) {
    dt_fillers f = {
        .lines = plan->lines, .line_count = plan->line_count, .room = plan->room, .patience = UINT64_MAX, .arena = DT_ARENA(MEMORY_LIMIT)};
    f.plain = plan->room > MOST_INDEXED_MM;
    measure_corners(&f, plan->knee);
    if (!list_entries(&f) || make_indexes(&f, plan->workers) != DT_OK) {
        dt_fillers_free(&f);
        return DT_NO_MEMORY;
    }
    *out = f;
    return DT_OK;
}

void dt_fillers_free(dt_fillers *f) {
    dt_arena arena = f->arena;
    dt_arena_free(&arena);
    *f = (dt_fillers){.lines = NULL};
}

/* ---- the questions ---- */

typedef struct question {
    dt_fillers *fillers;
    const dt_target *target;
    const bool *used;
    dt_filling *out;
    int leg;       /* of the gap, that sharers follow, */
    double widest; /* and their widest corner */
    uint64_t most; /* of fillers->compared */
} question;

static const dt_tip *tip_of(const dt_fillers *f, dt_entry e) {
    return &f->lines[e.line].line.tips[e.tip];
}

/* Corners are measured close by, and bend there. One that is wider than its gap by more lies upon others. */
static bool fits_angle(double angle, double gap) {
    double more = angle - gap;
    return more <= ANGLE_ERROR && more >= -1.5 * ANGLE_ERROR;
}

static dt_follower follower_of(const dt_fillers *f, dt_entry e) {
    return (dt_follower){&f->lines[e.line].line, e.tip, &f->legs[f->first_leg[e.line] + e.tip]};
}

static void take(question *q, dt_entry e) {
    const dt_owned_line *owner = &q->fillers->lines[e.line];
    const dt_tip *tip = tip_of(q->fillers, e);
    dt_pose pose;
    if (q->used[owner->piece] || !fits_angle(e.angle, q->target->gap->angle)) return;
    if (!dt_follows(q->target, follower_of(q->fillers, e), DT_ALONG_BOTH, &q->fillers->compared, &pose)) return;
    if (q->out->count == DT_MOST_FILLERS)
        q->out->unknown = true;
    else
        q->out->alone[q->out->count++] = (dt_filler){owner, tip, pose};
}

static bool take_sharp(void *context, uint32_t item) {
    question *q = context;
    take(q, q->fillers->sharp[item]);
    return !q->out->unknown;
}

static bool take_knee(void *context, uint32_t item) {
    question *q = context;
    take(q, q->fillers->knees[item]);
    return !q->out->unknown;
}

static void look_up(question *q, const dt_leg_index *index, const dt_gap_legs *legs,
                    bool (*found)(void *context, uint32_t item)) {
    size_t all = index == &q->fillers->knees_by_both ? q->fillers->knee_count : q->fillers->sharp_count;
    if (!q->fillers->plain)
        dt_leg_index_find(index, legs, found, q);
    else
        for (uint32_t i = 0; i < all; i++)
            if (!found(q, i)) return;
}

static void find_alone(question *q) {
    const dt_fillers *f = q->fillers;
    double angle = q->target->gap->angle;
    dt_gap_legs legs = {.least_angle = angle - 1.5 * ANGLE_ERROR, .most_angle = angle + ANGLE_ERROR};
    dt_target_describe(q->target, &legs);
    look_up(q, &f->by_both, &legs, take_sharp);
    if (angle > f->widest_sharp && !q->out->unknown) look_up(q, &f->knees_by_both, &legs, take_knee);
}

/* ---- several that share a gap ---- */

enum { ANGLE_BINS = 64 };
static const double ANGLE_BIN = 0.04; /* radians */

static int angle_bin(double angle) {
    double bin = angle / ANGLE_BIN;
    return bin <= 0.0 ? 0 : bin >= ANGLE_BINS - 1 ? ANGLE_BINS - 1 : (int)bin;
}

static uint64_t bins_between(double from, double to) {
    uint64_t bits = 0;
    for (int bin = angle_bin(from); to >= 0.0 && bin <= angle_bin(to); bin++) bits |= (uint64_t)1 << bin;
    return bits;
}

/* A tip, and the corners of all others that follow its leg that the gap's line does not. */
typedef struct neighbourhood {
    dt_fillers *fillers;
    const dt_target *target;
    int leg;
    uint64_t corners;
} neighbourhood;

static bool add_neighbour(void *context, uint32_t item) {
    neighbourhood *n = context;
    const dt_entry *e = &n->fillers->sharp[item];
    uint64_t bit = (uint64_t)1 << angle_bin(e->angle);
    dt_pose pose;
    if (!(n->corners & bit) &&
        dt_follows(n->target, follower_of(n->fillers, *e), (dt_along)n->leg, &n->fillers->compared, &pose))
        n->corners |= bit;
    return true;
}

static bool is_long_enough(const dt_target *t, int leg) {
    return (leg ? t->back : t->onward) >= LEAST_LEG_MM;
}

/* Corners up to an angle that fit beside the tip, whatever else lies about it. */
static uint64_t find_beside(dt_fillers *f, uint32_t item, int leg, double most) {
    const dt_entry *e = &f->sharp[item];
    const dt_line *line = &f->lines[e->line].line;
    dt_edge edge = {line, DT_POSE_IDENTITY, line->tips[e->tip].at};
    dt_gap_lines gap = {edge, edge, 0.0};
    dt_target t = dt_target_make(&gap, f->room);
    neighbourhood n = {f, &t, leg, f->beside[leg][item].corners};
    dt_gap_legs legs = {.least_angle = f->beside[leg][item].known, .most_angle = most};
    if (!is_long_enough(&t, leg)) return UINT64_MAX; /* says nothing */
    dt_target_describe_leg(&t, leg, &legs);
    dt_leg_index_find(&f->by_one[leg], &legs, add_neighbour, &n);
    return n.corners;
}

static uint64_t corners_beside(dt_fillers *f, uint32_t item, int leg, double most) {
    static const double AHEAD = 0.1; /* radians: soon a gap will ask for as much */
    dt_beside *b = &f->beside[leg][item];
    if (most > b->known) {
        b->corners = find_beside(f, item, leg, most + AHEAD);
        b->known = most + AHEAD;
    }
    return b->corners;
}

/* Widest corner that may stand beside the tip. */
static double most_beside(const dt_fillers *f, uint32_t item, double gap) {
    return gap - f->sharp[item].angle + ANGLE_ERROR;
}

/* Does some corner fit beside the tip that fills what it leaves of the gap, or leaves room for a third? */
static bool has_company(dt_fillers *f, uint32_t item, int leg, double gap) {
    double left = gap - f->sharp[item].angle;
    uint64_t alone = bins_between(left - 1.5 * ANGLE_ERROR, left + ANGLE_ERROR),
             with_third = bins_between(0.0, left - f->narrowest + ANGLE_ERROR);
    return corners_beside(f, item, leg, most_beside(f, item, gap)) & (alone | with_third);
}

/* Is there room for two at least? */
static bool may_be_shared(const dt_fillers *f, double angle) {
    return angle >= 2.0 * f->narrowest - ANGLE_ERROR;
}

/* Does the piece, laid along one line, have another beside it that fills the rest? Where that cannot be judged
 * it may. */
static bool shares(question *q, const dt_entry *e, const dt_owned_line *owner, const dt_tip *tip, dt_pose pose) {
    dt_fillers *f = q->fillers;
    const dt_gap_lines *gap = q->target->gap;
    dt_gap_lines beside = {gap->onward, gap->back, gap->angle - e->angle};
    *(q->leg ? &beside.back : &beside.onward) = (dt_edge){&owner->line, pose, tip->at};
    if (may_be_shared(f, beside.angle)) return true; /* there may be three */
    dt_target t = dt_target_make(&beside, 2.0 * q->target->room);
    if (!is_long_enough(&t, 0) || !is_long_enough(&t, 1)) return true;
    dt_filling *next = malloc(sizeof *next);
    bool found = !next;
    if (next) {
        next->count = 0;
        next->unknown = false;
        find_alone(&(question){.fillers = f, .target = &t, .used = q->used, .out = next});
        found = next->unknown;
        for (size_t i = 0; i < next->count; i++) found = found || next->alone[i].owner->piece != owner->piece;
    }
    free(next);
    return found;
}

/* Who stands beside a tip is known once and for all, but in wide gaps that is asked of nearly all tips and costs more than
 * to see that few of them follow the line. */
static bool ask_company_first(const question *q, uint32_t item) {
    static const double MANY_PAIRS = 1.75; /* radians */
    double gap = q->target->gap->angle;
    return gap < MANY_PAIRS || most_beside(q->fillers, item, gap) <= q->fillers->beside[q->leg][item].known;
}

static bool take_sharer(void *context, uint32_t item) {
    question *q = context;
    dt_fillers *f = q->fillers;
    const dt_entry *e = &f->sharp[item];
    const dt_owned_line *owner = &f->lines[e->line];
    const dt_tip *tip = tip_of(f, *e);
    double gap = q->target->gap->angle;
    bool company_first = ask_company_first(q, item);
    size_t *count = &q->out->sharer_count[q->leg];
    dt_pose pose;
    if (q->used[owner->piece] || e->angle > q->widest) return true;
    q->out->unknown = q->out->cut = f->compared > q->most;
    if (q->out->unknown) return false;
    if (!f->plain && company_first && !has_company(f, item, q->leg, gap)) return true;
    if (!dt_follows(q->target, follower_of(f, *e), (dt_along)q->leg, &f->compared, &pose)) return true;
    if (!f->plain && !company_first && !has_company(f, item, q->leg, gap)) return true;
    if (!shares(q, e, owner, tip, pose)) return true;
    q->out->unknown = *count == DT_MOST_FILLERS;
    if (!q->out->unknown) q->out->sharers[q->leg][(*count)++] = (dt_filler){owner, tip, pose};
    return !q->out->unknown;
}

/* Corners that share a gap fill no more than that and the error: so the first of them or the last takes at most half of it. */
static void find_sharers(question *q) {
    const dt_fillers *f = q->fillers;
    double angle = q->target->gap->angle;
    if (!may_be_shared(f, angle)) return;
    q->widest = fmin(angle - f->narrowest + ANGLE_ERROR, (angle + ANGLE_ERROR) / 2.0);
    dt_gap_legs legs = {.least_angle = -PI, .most_angle = q->widest};
    for (q->leg = 0; q->leg < 2 && !q->out->unknown; q->leg++) {
        dt_target_describe_leg(q->target, q->leg, &legs);
        look_up(q, &f->by_one[q->leg], &legs, take_sharer);
    }
}

void dt_fillers_find_alone(dt_fillers *f, const dt_gap_lines *gap, const bool *used, dt_filling *out) {
    dt_target t = dt_target_make(gap, f->room);
    out->count = out->sharer_count[0] = out->sharer_count[1] = 0;
    out->cut = false;
    out->unknown = gap->angle > f->widest || !is_long_enough(&t, 0) || !is_long_enough(&t, 1);
    question q = {.fillers = f, .target = &t, .used = used, .out = out};
    if (!out->unknown) find_alone(&q);
}

void dt_fillers_find_sharers(dt_fillers *f, const dt_gap_lines *gap, const bool *used, dt_filling *filling) {
    if (filling->unknown) return;
    dt_target t = dt_target_make(gap, f->room);
    uint64_t most = f->patience < UINT64_MAX - f->compared ? f->compared + f->patience : UINT64_MAX;
    find_sharers(&(question){.fillers = f, .target = &t, .used = used, .out = filling, .most = most});
}

bool dt_filling_is_shared(const dt_filling *filling) {
    return filling->sharer_count[0] || filling->sharer_count[1];
}
