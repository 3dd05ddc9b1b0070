/* The best rigid fit of one form onto another: turns on a grid, the promising ones refined by sequential linear programming over
 * sample points, and the exact Hausdorff distance at the end; where that is larger than the samples say, its place becomes a
 * sample and the fit goes on (an exchange method). See mismatch.h. */
#include "fit/mismatch.h"

#include <math.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;
static const double EXACT_MM = 5e-4;        /* of the final distance */
static const double SAMPLES_SHORT_MM = 1e-3;/* the samples may miss the exact distance by this much */
static const double TIE_MM = 2e-3;         /* fits that differ by less are equally good: the first one stays */
static const double HOPE_SHARE = 1.3, HOPE_MM = 0.05; /* a fit goes on while it promises this much more than the limit */
static const double STALLED_MM = 0.02;      /* few samples say about this much less than all */
static const double POLISH_SHARE = 0.1;      /* of a limit: shapes quite unlike may gain so much more */
static const double POLISH_TURNS[] = {-2.0, -0.7, 0.7, 2.0}; /* degrees */
static const double AIM_SHARE = 0.8;         /* of a limit: few samples need not be brought nearer */
static const double HOPELESS = 2.5;         /* limits: laid by least squares and a sample so far off: never brought within the limit */
static const double TOUCHING_MM = 1e-7;     /* below this the direction between two points says nothing */
enum { COARSE_POINTS = 24, FIRST_POINTS = 12, QUICK_POINTS = 48, MOST_QUICK = 12, MOST_EXCHANGES = 10, MOST_PULLS = 6000 };

dt_status dt_fitter_new(dt_arena *arena, dt_fitter *out) {
    dt_fitter fitter = {.pulls = DT_TAKE(arena, MOST_PULLS, dt_pull), .rows = DT_TAKE(arena, MOST_PULLS / 2 + 1, dt_minimax_rows),
                        .room = MOST_PULLS};
    if (!fitter.pulls || !fitter.rows) return DT_NO_MEMORY;
    *out = fitter;
    return DT_OK;
}

/* ---- pulls ---- */

typedef struct pair {
    dt_fitter *fitter;
    const dt_form *a, *b;
    size_t points;       /* about how many samples of each line to use; 0 = all */
    double give_up;      /* mm: a pose at which a sample is farther off is of no use; INFINITY = none */
    bool hasty;          /* as in dt_rigid_fit */
} pair;

typedef struct bundle {
    dt_pull *pulls;
    size_t count, room;
    double most, give_up;
} bundle;

static dt_point across(dt_span span) {
    dt_point along = dt_point_sub(span.b, span.a);
    double length = hypot(along.x, along.y);
    return length > 0.0 ? (dt_point){-along.y / length, along.x / length} : (dt_point){1.0, 0.0};
}

static dt_point turned(dt_pose pose, dt_point v) {
    return dt_point_sub(dt_pose_apply(pose, v), pose.shift);
}

static void add_pull(bundle *list, dt_point moving, dt_point still, double distance, dt_point normal) {
    list->most = fmax(list->most, distance);
    if (list->count == list->room) return;
    dt_point direction = distance > TOUCHING_MM ? dt_point_scale(dt_point_sub(moving, still), 1.0 / distance) : normal;
    list->pulls[list->count++] = (dt_pull){moving, direction, distance};
}

static void pull_to(bundle *list, dt_samples samples, size_t stride, dt_pose pose, const dt_near *to) {
    uint32_t hint = 0;
    for (size_t i = 0; i < samples.count && list->most <= list->give_up; i += stride) {
        dt_point p = dt_pose_apply(pose, samples.points[i]);
        dt_hit hit = dt_near_find(to, p, hint);
        hint = hit.span;
        add_pull(list, p, hit.at, hit.distance, across(to->spans[hit.span]));
    }
}

static void pull_from(bundle *list, dt_samples samples, size_t stride, dt_pose pose, const dt_near *from) {
    dt_pose back = dt_pose_inverse(pose);
    uint32_t hint = 0;
    for (size_t i = 0; i < samples.count && list->most <= list->give_up; i += stride) {
        dt_hit hit = dt_near_find(from, dt_pose_apply(back, samples.points[i]), hint);
        hint = hit.span;
        add_pull(list, dt_pose_apply(pose, hit.at), samples.points[i], hit.distance,
                 turned(pose, across(from->spans[hit.span])));
    }
}

static size_t stride_for(const pair *p, dt_samples samples) {
    size_t stride = p->points ? samples.count / p->points : 1;
    return stride ? stride : 1;
}

static double pulls_of_pair(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const pair *p = context;
    bundle list = {pulls, 0, room, 0.0, p->give_up};
    const dt_form *a = p->a, *b = p->b;
    pull_to(&list, a->outline_samples, stride_for(p, a->outline_samples), pose, &b->outline);
    pull_from(&list, b->outline_samples, stride_for(p, b->outline_samples), pose, &a->outline);
    if (a->holes.count && b->holes.count) {
        pull_to(&list, a->hole_samples, stride_for(p, a->hole_samples), pose, &b->holes);
        pull_from(&list, b->hole_samples, stride_for(p, b->hole_samples), pose, &a->holes);
    }
    pull_to(&list, (dt_samples){p->fitter->extra_a, p->fitter->extra_a_count}, 1, pose, &b->outline);
    pull_from(&list, (dt_samples){p->fitter->extra_b, p->fitter->extra_b_count}, 1, pose, &a->outline);
    *count = list.count;
    p->fitter->work += list.count;
    return list.most;
}

static double improve(const pair *p, double enough, double limit, dt_pose *pose) {
    dt_fitter *fitter = p->fitter;
    dt_rigid_fit fit = {.source = pulls_of_pair, .context = &(pair){fitter, p->a, p->b, p->points, p->give_up, p->hasty}, .centre = p->b->centre,
                        .radius = fmax(p->b->radius, 1e-6), .enough_mm = enough, .hopeless_mm = HOPE_SHARE * limit + HOPE_MM,
                        .give_up_mm = p->give_up, .hasty = p->hasty, .step_mm = 1e-5,
                        .pulls = fitter->pulls, .rows = fitter->rows, .room = fitter->room};
    return dt_rigid_fit_run(&fit, pose);
}

/* ---- the exact distance, and the exchange ---- */

typedef struct gauge {
    double most;
    dt_point where;     /* in b's axes */
    dt_point sample;    /* the point of a (from_a) or b that is so far off, in its own axes */
    bool from_a, on_outline;
} gauge;

static void gauge_lines(gauge *g, const dt_near *a, const dt_near *b, dt_pose pose, bool on_outline) {
    dt_pose back = dt_pose_inverse(pose);
    dt_point where;
    double most = dt_near_farthest(a, pose, b, g->most, EXACT_MM, &where);
    if (most > g->most) *g = (gauge){most, where, dt_pose_apply(back, where), true, on_outline};
    most = dt_near_farthest(b, back, a, g->most, EXACT_MM, &where);
    if (most > g->most) *g = (gauge){most, dt_pose_apply(pose, where), dt_pose_apply(pose, where), false, on_outline};
}

static gauge gauge_forms(const dt_form *a, const dt_form *b, dt_pose pose) {
    gauge g = {.most = 0.0, .where = b->shape.outline.points[0]};
    gauge_lines(&g, &a->outline, &b->outline, pose, true);
    if (a->holes.count && b->holes.count) gauge_lines(&g, &a->holes, &b->holes, pose, false);
    return g;
}

double dt_forms_mismatch_at(const dt_form *a, const dt_form *b, dt_pose pose, dt_point *differ_at) {
    gauge g = gauge_forms(a, b, pose);
    *differ_at = g.where;
    return g.most;
}

size_t dt_forms_gauge_work(const dt_form *a, const dt_form *b) {
    return a->outline.count + b->outline.count + a->holes.count + b->holes.count;
}

static bool add_sample(dt_fitter *fitter, const gauge *g) {
    size_t *count = g->from_a ? &fitter->extra_a_count : &fitter->extra_b_count;
    if (!g->on_outline || *count == DT_FITTER_EXTRAS) return false;
    (g->from_a ? fitter->extra_a : fitter->extra_b)[(*count)++] = g->sample;
    return true;
}

double dt_forms_refine(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose *pose, dt_point *differ_at) {
    pair all = {fitter, a, b, 0, INFINITY, false};
    dt_pose at = *pose;
    double best = INFINITY;
    fitter->extra_a_count = fitter->extra_b_count = 0;
    for (int exchange = 0; exchange < MOST_EXCHANGES; exchange++) {
        double sampled = improve(&all, 0.0, limit, &at);
        if (sampled > limit) break;
        gauge g = gauge_forms(a, b, at);
        fitter->work += dt_forms_gauge_work(a, b);
        if (g.most < best) {
            best = g.most;
            *pose = at;
            *differ_at = g.where;
        }
        if (g.most - sampled <= SAMPLES_SHORT_MM || !add_sample(fitter, &g)) break;
    }
    fitter->extra_a_count = fitter->extra_b_count = 0;
    return best <= limit ? best : INFINITY;
}

/* ---- where to start ---- */

dt_pose dt_start_pose(const dt_form *a, const dt_form *b, double angle) {
    dt_pose pose = {cos(angle), sin(angle), {0.0, 0.0}, false};
    pose.shift = dt_point_sub(b->centre, dt_pose_apply(pose, a->centre));
    return pose;
}

/* Largest distance of a few samples, one way; gives up above `most`. */
static double glance(dt_samples samples, dt_pose pose, const dt_near *to, double most) {
    double value = 0.0;
    uint32_t hint = 0;
    for (size_t i = 0; i < COARSE_POINTS && value <= most; i++) {
        dt_hit hit = dt_near_find_within(to, dt_pose_apply(pose, samples.points[i * samples.count / COARSE_POINTS]), hint, most);
        hint = hit.span;
        value = fmax(value, hit.distance);
    }
    return value;
}

static double glance_both(const dt_form *a, const dt_form *b, double angle, double most) {
    dt_pose pose = dt_start_pose(a, b, angle);
    double value = glance(a->outline_samples, pose, &b->outline, most);
    if (value > most) return INFINITY;
    value = fmax(value, glance(b->outline_samples, dt_pose_inverse(pose), &a->outline, most));
    return value > most ? INFINITY : value;
}

static int by_value(const void *a, const void *b) {
    const dt_start *p = a, *q = b;
    if (p->value != q->value) return p->value < q->value ? -1 : 1;
    return (p->angle > q->angle) - (p->angle < q->angle);
}

/* The grid misses the best turn by half a step at most. */
static double missed_gap(const dt_form *a) {
    return PI / DT_START_TURNS * dt_form_gap_slope(a);
}

void dt_forms_turns(const dt_form *a, const dt_form *b, double limit, bool may[DT_START_TURNS]) {
    double gaps[DT_START_TURNS];
    dt_form_gaps(a, b, limit + missed_gap(a), gaps);
    for (int i = 0; i < DT_START_TURNS; i++) may[i] = gaps[i] < INFINITY;
}

/* At the best pose within limit the centres lie within 4/pi limit, and nearer where the gap leaves less to the shift. */
void dt_forms_glance(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, double values[DT_START_TURNS]) {
    double half = PI / DT_START_TURNS, missed = missed_gap(a), turned_away = half * fmax(a->radius, b->radius), gaps[DT_START_TURNS];
    dt_form_gaps(a, b, limit + missed, gaps);
    for (int i = 0; i < DT_START_TURNS; i++) {
        values[i] = INFINITY;
        if (gaps[i] == INFINITY) continue;
        double least = fmax(0.0, gaps[i] - missed), shift = sqrt(2.0 * fmax(0.0, limit * limit - least * least));
        fitter->work += COARSE_POINTS;
        values[i] = glance_both(a, b, 2.0 * half * i, limit + fmin(shift, 4.0 / PI * limit) + turned_away);
    }
}

size_t dt_forms_starts(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_start starts[DT_MOST_STARTS]) {
    double values[DT_START_TURNS];
    size_t count = 0;
    dt_forms_glance(fitter, a, b, limit, values);
    for (int i = 0; i < DT_START_TURNS; i++) {
        double before = values[(i + DT_START_TURNS - 1) % DT_START_TURNS], after = values[(i + 1) % DT_START_TURNS];
        if (values[i] < INFINITY && values[i] <= before && values[i] <= after)
            starts[count++] = (dt_start){2.0 * PI / DT_START_TURNS * i, values[i]};
    }
    qsort(starts, count, sizeof *starts, by_value);
    return count;
}

/* ---- the whole fit ---- */

typedef struct trial {
    double value;
    dt_pose pose, start;
    size_t rank;
} trial;

static int by_trial(const void *a, const void *b) {
    const trial *p = a, *q = b;
    if (p->value != q->value) return p->value < q->value ? -1 : 1;
    return (p->rank > q->rank) - (p->rank < q->rank);
}

static double promised(const pair *few, double limit, dt_pose *pose) {
    double value = improve(few, 0.0, limit, pose);
    return value <= HOPE_SHARE * limit + HOPE_MM ? value : INFINITY;
}

/* The best over a few samples is no worse than over all, but for where the fit stalls. */
bool dt_forms_promise(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose pose) {
    static const size_t points[] = {FIRST_POINTS, QUICK_POINTS};
    dt_point where;
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        pair few = {fitter, a, b, points[i], HOPELESS * limit, true};
        if (improve(&few, AIM_SHARE * limit, limit, &pose) > limit + STALLED_MM) return false;
    }
    return dt_forms_refine(fitter, a, b, limit + STALLED_MM, &pose, &where) < INFINITY;
}

/* Refines the starts over a few samples, which make the mismatch look smaller than it is unless the fit stalls. */
static size_t quick_trials(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, trial trials[MOST_QUICK]) {
    dt_start starts[DT_MOST_STARTS];
    size_t count = dt_forms_starts(fitter, a, b, limit, starts), kept = 0;
    pair few = {fitter, a, b, QUICK_POINTS, INFINITY, false};
    for (size_t i = 0; i < count && i < MOST_QUICK; i++) {
        dt_pose start = dt_start_pose(a, b, starts[i].angle);
        trial t = {0.0, start, start, i};
        t.value = promised(&few, limit, &t.pose);
        if (t.value < INFINITY) trials[kept++] = t;
    }
    qsort(trials, kept, sizeof *trials, by_trial);
    return kept;
}

typedef struct outcome {
    double value;
    dt_pose pose;
    dt_point differ_at;
} outcome;

static void refine_from(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose start, outcome *best) {
    outcome o = {INFINITY, start, {0.0, 0.0}};
    o.value = dt_forms_refine(fitter, a, b, fmin(limit, best->value), &o.pose, &o.differ_at);
    if (o.value < best->value) *best = o;
}

/* A fit can stall in a corner of the few-sample problem: where the full one ends well above it, the start itself is tried too. */
double dt_forms_fit(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose *pose, dt_point *differ_at) {
    trial trials[MOST_QUICK];
    if (!dt_form_may_fit(a, b, limit)) return INFINITY;
    size_t count = quick_trials(fitter, a, b, limit, trials);
    outcome best = {.value = INFINITY};
    for (size_t i = 0; i < count && trials[i].value < best.value - TIE_MM; i++) {
        refine_from(fitter, a, b, limit, trials[i].pose, &best);
        if (best.value > trials[i].value + STALLED_MM) refine_from(fitter, a, b, limit, trials[i].start, &best);
    }
    if (!(best.value <= limit)) return INFINITY;
    *pose = best.pose;
    *differ_at = best.differ_at;
    return best.value;
}

double dt_forms_fit_copy(dt_fitter *fitter, const dt_form *a, const dt_form *b, double same, double limit, dt_pose *pose,
                         dt_point *differ_at) {
    *pose = dt_start_pose(a, b, 0.0);
    double off = dt_forms_mismatch_at(a, b, *pose, differ_at);
    fitter->work += dt_forms_gauge_work(a, b);
    return off <= same ? off : dt_forms_fit(fitter, a, b, limit, pose, differ_at);
}

/* A fit of straight lines can stop at a corner of the problem that small motions do not leave. */
double dt_forms_polish(dt_fitter *fitter, const dt_form *a, const dt_form *b, double value, dt_pose *pose, dt_point *differ_at) {
    outcome best = {value, *pose, *differ_at};
    for (size_t i = 0; i < sizeof POLISH_TURNS / sizeof *POLISH_TURNS; i++) {
        dt_pose turn = dt_pose_about(POLISH_TURNS[i], false, b->centre, b->centre);
        refine_from(fitter, a, b, value, dt_pose_compose(turn, *pose), &best);
    }
    *pose = best.pose;
    *differ_at = best.differ_at;
    return best.value;
}

/* ---- two shapes, alone ---- */

enum { MOST_SCRATCH = 256 << 20 };

/* A fixed order of two forms, so that the answer is the same either way round. */
static bool comes_after(const dt_form *a, const dt_form *b) {
    if (a->area != b->area) return a->area > b->area;
    if (a->perimeter != b->perimeter) return a->perimeter > b->perimeter;
    return a->shape.outline.count > b->shape.outline.count;
}

static void keep_best(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_match *best) {
    dt_pose pose;
    dt_point where;
    double value = dt_forms_fit(fitter, a, b, (1.0 + POLISH_SHARE) * fmin(limit, best->mismatch_mm) + DT_POLISH_MM, &pose, &where);
    if (value < INFINITY) value = dt_forms_polish(fitter, a, b, value, &pose, &where);
    if (value > limit || !(value < best->mismatch_mm - TIE_MM)) return;
    best->mismatch_mm = value;
    best->pose = pose;
    best->differ_at = where;
}

static dt_status match_forms(dt_form *a, dt_form *b, bool may_flip, double limit, dt_match *best) {
    dt_arena arena = DT_ARENA(MOST_SCRATCH);
    dt_fitter fitter;
    dt_form over = dt_form_flip(a);
    dt_status status = dt_fitter_new(&arena, &fitter);
    if (status == DT_OK) status = dt_form_prepare(a, &arena);
    if (status == DT_OK) status = dt_form_prepare(b, &arena);
    if (status == DT_OK && may_flip) status = dt_form_prepare(&over, &arena);
    if (status != DT_OK) goto done;
    keep_best(&fitter, a, b, limit, best);
    double upright = best->mismatch_mm;
    if (may_flip) keep_best(&fitter, &over, b, limit, best);
    best->only_flipped = best->mismatch_mm < upright;
    if (best->only_flipped) best->pose = dt_pose_compose(best->pose, DT_POSE_OVER);
done:
    dt_arena_free(&arena);
    return status;
}

dt_status dt_shape_mismatch(dt_shape a, dt_shape b, bool may_flip, double limit_mm, dt_match *out) {
    if (!(limit_mm >= 0.0)) return DT_BAD_ARGUMENT;
    dt_arena arena = DT_ARENA(MOST_SCRATCH);
    dt_form first, second;
    dt_match best = {.pose = DT_POSE_IDENTITY, .mismatch_mm = INFINITY};
    dt_status status = dt_form_measure(a, &arena, &first);
    if (status == DT_OK) status = dt_form_measure(b, &arena, &second);
    if (status != DT_OK) goto done;
    bool swapped = comes_after(&first, &second);
    status = match_forms(swapped ? &second : &first, swapped ? &first : &second, may_flip, limit_mm, &best);
    if (status != DT_OK) goto done;
    if (swapped) {
        best.pose = dt_pose_inverse(best.pose);
        best.differ_at = dt_pose_apply(best.pose, best.differ_at);
    }
    best.turn = dt_pose_turn(best.pose);
    *out = best;
done:
    dt_arena_free(&arena);
    return status;
}

dt_shape dt_piece_shape(const dt_piece *piece) {
    return (dt_shape){piece->outline, piece->holes, piece->hole_count};
}
