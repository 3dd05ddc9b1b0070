/* Who can fill a gap: see fillers.h. Tips are found by measures of their legs (legs.h), then compared with the gap's
 * lines point by point at the best pose. */
#include "fillers.h"

#include "assembly/vector.h"
#include "geom/rigid_fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const double LEAST_LEG_MM = 4.0;
static const double ANGLE_ERROR =
    0.35; /* radians (20 degrees): corners are measured over a scale only, and bent there */
static const double LOOSE_ENDS_MM =
    0.2; /* a tip is known to this along its line: its lines follow others to the room */
static const double HOLLOW_MM =
    0.065; /* lines that leave a larger hole where they part do not meet there: a drawing error and a little */
/* mm: up to this room the index was held against looking at every tip; beyond it every tip is looked at */
static const double MOST_INDEXED_MM = 0.24;
static const double SPREAD = 1.1;   /* on top of what was worked out, to be safe */
static const double STEP_MM = 1.0;  /* between points that are compared */
static const double REACH_MM = 1.5; /* a foot lies within this of where equal lengths put it */
static const size_t MEMORY_LIMIT = (size_t)1 << 30;
static const double CURVE_MM = 2.0; /* radius of the bends along which points slip */
enum { LEG_POINTS = 32, MOST_SAMPLES = 2 * LEG_POINTS };

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
    f->beside = DT_TAKE(&f->arena, tips, dt_beside);
    for (uint32_t i = 0; f->sharp && f->knees && f->beside && i < f->line_count; i++)
        for (uint32_t k = 0; k < f->lines[i].line.tip_count; k++) {
            const dt_tip *tip = &f->lines[i].line.tips[k];
            dt_entry entry = {i, k, PI - tip->turn};
            if (tip->sharp)
                f->sharp[f->sharp_count++] = entry;
            else
                f->knees[f->knee_count++] = entry;
        }
    return f->sharp && f->knees && f->beside;
}

static dt_status make_indexes(dt_fillers *f, size_t workers) {
    dt_leg_plan both = {f->lines, f->sharp, f->sharp_count, DT_BY_BOTH, workers}, one = both, knees = both;
    knees.entries = f->knees;
    knees.count = f->knee_count;
    dt_status status = dt_leg_index_new(&both, &f->arena, &f->by_both);
    one.by = DT_BY_ARRIVING;
    if (status == DT_OK) status = dt_leg_index_new(&one, &f->arena, &f->by_arriving);
    if (status == DT_OK) status = dt_leg_index_new(&knees, &f->arena, &f->knees_by_both);
    return status;
}

dt_status dt_fillers_new(const dt_fillers_plan *plan, dt_fillers *out) {
    dt_fillers f = {
        .lines = plan->lines, .line_count = plan->line_count, .room = plan->room, .arena = DT_ARENA(MEMORY_LIMIT)};
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

/* ---- a gap's lines by points ---- */

/* Points of the lines of a gap: first of the one that leaves, from the gap on, then of the one that arrives. */
typedef struct target {
    const dt_gap_lines *gap;
    double onward, back; /* mm of each line before it turns sharply */
    size_t count[2];     /* points on each line, at the same arcs as an entry's legs */
    dt_point points[2][LEG_POINTS], normals[2][LEG_POINTS];
    double room, turned[2]; /* mm; radians that each line turns altogether */
} target;

static double leg_arc(const dt_line *line, size_t i) {
    return line->scale + (double)i * STEP_MM;
}

static void carry_all(dt_pose pose, dt_point *points, size_t count) {
    for (size_t i = 0; i < count; i++) points[i] = carry(pose, points[i]);
}

/* Points of a gap's line at arcs first, first + step, ... from the gap on. */
static void sample_leg(const dt_gap_lines *gap, int leg, double first, double step, size_t count, dt_point *out) {
    const dt_edge *edge = leg ? &gap->back : &gap->onward;
    double sign = leg ? -1.0 : 1.0;
    dt_line_sample(edge->line, edge->at + sign * first, sign * step, count, out);
    carry_all(edge->pose, out, count);
}

static double angle_between(dt_point a, dt_point b) {
    return fabs(atan2(dt_point_cross(a, b), dt_point_dot(a, b)));
}

static void add_leg(target *t, int leg, double length, const dt_line *line) {
    const double half = 0.1;
    dt_point before[LEG_POINTS], after[LEG_POINTS];
    size_t n = 0;
    while (n < LEG_POINTS && leg_arc(line, n) <= length - line->scale) n++;
    t->count[leg] = n;
    sample_leg(t->gap, leg, line->scale, STEP_MM, n, t->points[leg]);
    sample_leg(t->gap, leg, line->scale - half, STEP_MM, n, before);
    sample_leg(t->gap, leg, line->scale + half, STEP_MM, n, after);
    for (size_t i = 0; i < n; i++) {
        dt_point across = dt_point_scale(dt_point_sub(after[i], before[i]), leg ? 1.0 : -1.0);
        double size = sqrt(dt_point_dot(across, across));
        t->normals[leg][i] = size > 0.0 ? (dt_point){-across.y / size, across.x / size} : (dt_point){0.0, 0.0};
        if (i) t->turned[leg] += angle_between(t->normals[leg][i], t->normals[leg][i - 1]);
    }
}

static target make_target(const dt_gap_lines *gap, double room) {
    target t = {.gap = gap, .room = room};
    t.onward = dt_line_ahead(gap->onward.line, gap->onward.at);
    t.back = dt_line_behind(gap->back.line, gap->back.at);
    add_leg(&t, 0, t.onward, gap->onward.line);
    add_leg(&t, 1, t.back, gap->back.line);
    return t;
}

/* How a follower's arcs may differ from the gap's, from its point on: by where its tip is, and by what the room adds to
 * the length of bends. */
static void add_slips(const target *t, int leg, double at_tip, dt_gap_legs *out) {
    enum { STEPS = 4 }; /* samples, so that a millimetre of line tells its direction */
    const dt_point *p = out->samples.leg[leg];
    double turned = 0.0;
    for (size_t i = 0; i < DT_LEG_SAMPLES; i++) {
        if (i % STEPS == 0 && i >= 2 * STEPS)
            turned += angle_between(dt_point_sub(p[i], p[i - STEPS]), dt_point_sub(p[i - STEPS], p[i - 2 * STEPS]));
        out->slip[leg][i] = at_tip + SPREAD * t->room * turned;
    }
}

static void add_gap_leg(const target *t, int leg, double at_tip, dt_gap_legs *out) {
    const dt_line *line = leg ? t->gap->back.line : t->gap->onward.line;
    sample_leg(t->gap, leg, 0.0, DT_LEG_STEP_MM, DT_LEG_SAMPLES, out->samples.leg[leg]);
    out->followed[leg] = (leg ? t->back : t->onward) - line->scale - STEP_MM;
    add_slips(t, leg, at_tip, out);
}

/* The gap as the index sees it. A tip that follows both lines to the room lies off by as much more as the gap is
 * narrow. */
static void describe_gap(const target *t, dt_gap_legs *out) {
    double half = fmax(0.1, fmin(PI, t->gap->angle) / 2.0);
    double at_tip = LOOSE_ENDS_MM + SPREAD * t->room / tan(half);
    out->room = SPREAD * t->room;
    out->tip_room = hypot(LOOSE_ENDS_MM, out->room / sin(half));
    add_gap_leg(t, 0, at_tip, out);
    add_gap_leg(t, 1, at_tip, out);
}

/* The same of one leg, whose follower's tip is loose along it. */
static void describe_leg(const target *t, int leg, double loose, dt_gap_legs *out) {
    out->room = SPREAD * t->room;
    out->tip_room = hypot(loose, out->room);
    add_gap_leg(t, leg, loose, out);
}

/* ---- following ---- */

/* A candidate laid on a target: those of its points that have to be followed. */
typedef struct lay {
    const dt_line *line;
    dt_point points[MOST_SAMPLES], normals[MOST_SAMPLES]; /* of the target */
    dt_point own[MOST_SAMPLES];                           /* at equal lengths on the line */
    double feet[MOST_SAMPLES];                            /* arcs on the line */
    size_t count;
    dt_pose pose;
} lay;

/* Neither line has to be followed beyond where the other turns away; how far along that is, is known to a slip. */
static size_t points_to_follow(const target *t, const dt_line *line, double length, int leg) {
    double slip = line->scale + REACH_MM;
    size_t n = 0;
    while (n < t->count[leg] && leg_arc(line, n) <= length - slip) n++;
    return n;
}

/* Every stride-th point from the first one on. */
static void choose_points(const target *t, const dt_line *line, const dt_entry *e, bool alone, size_t stride, lay *l) {
    const dt_tip *tip = &line->tips[e->tip];
    l->line = line;
    l->count = 0;
    for (int leg = 0; leg <= (alone ? 1 : 0); leg++) {
        double sign = leg ? 1.0 : -1.0;
        size_t first = stride / 2, end = points_to_follow(t, line, leg ? tip->ahead : tip->behind, leg);
        size_t count = end > first ? (end - first + stride - 1) / stride : 0;
        dt_line_sample(line, tip->at + sign * leg_arc(line, first), sign * STEP_MM * (double)stride, count,
                       l->own + l->count);
        for (size_t n = first; n < end; n += stride, l->count++) {
            l->points[l->count] = t->points[leg][n];
            l->normals[l->count] = t->normals[leg][n];
            l->feet[l->count] = tip->at + sign * leg_arc(line, n);
        }
    }
}

/* Equal lengths on equal lengths, by least squares; gives the sum of squares left over. */
static double align(lay *l) {
    dt_point from = {0.0, 0.0}, to = {0.0, 0.0};
    double share = 1.0 / (double)l->count, dot = 0.0, cross = 0.0, square = 0.0;
    for (size_t i = 0; i < l->count; i++) {
        from = dt_point_add(from, l->own[i]);
        to = dt_point_add(to, l->points[i]);
    }
    from = dt_point_scale(from, share);
    to = dt_point_scale(to, share);
    for (size_t i = 0; i < l->count; i++) {
        dt_point a = dt_point_sub(l->own[i], from), b = dt_point_sub(l->points[i], to);
        dot += dt_point_dot(a, b);
        cross += dt_point_cross(a, b);
        square += dt_point_dot(a, a) + dt_point_dot(b, b);
    }
    double size = sqrt(dot * dot + cross * cross);
    l->pose = size > 0.0 ? (dt_pose){dot / size, cross / size, {0.0, 0.0}, false} : DT_POSE_IDENTITY;
    l->pose.shift = dt_point_sub(to, turn_by(l->pose, from));
    return fmax(0.0, square - 2.0 * size);
}

/* Two shifts, and a turn about the centre. */
static void move_by(lay *l, dt_point centre, const double x[3]) {
    dt_pose by = {cos(x[2]), sin(x[2]), {0.0, 0.0}, false};
    by.shift = dt_point_add(dt_point_sub(centre, turn_by(by, centre)), (dt_point){x[0], x[1]});
    l->pose = dt_pose_compose(by, l->pose);
}

static dt_point middle_of(const lay *l, double *radius) {
    dt_point sum = {0.0, 0.0};
    for (size_t i = 0; i < l->count; i++) sum = dt_point_add(sum, dt_point_scale(l->points[i], 1.0 / (double)l->count));
    *radius = 0.1;
    for (size_t i = 0; i < l->count; i++) *radius = fmax(*radius, dt_point_distance(l->points[i], sum));
    return sum;
}

/* What the points lie off across the target's lines, and how a small motion changes that: two shifts, a turn. */
typedef struct across {
    double g[MOST_SAMPLES][3], off[MOST_SAMPLES];
    size_t count;
} across;

static void find_across(const lay *l, dt_point centre, across *a) {
    a->count = l->count;
    for (size_t i = 0; i < l->count; i++) {
        dt_point at = carry(l->pose, l->own[i]), n = l->normals[i];
        a->g[i][0] = n.x;
        a->g[i][1] = n.y;
        a->g[i][2] = dt_point_cross(dt_point_sub(at, centre), n);
        a->off[i] = dt_point_dot(n, dt_point_sub(at, l->points[i]));
    }
}

/* The motion that leaves the least squares, by Cholesky; one that the lines leave open stays next to nothing. */
static void best_motion(const across *a, double x[3]) {
    double m[6] = {0.0}, right[3] = {0.0};
    const double least = 1e-9 * (double)a->count;
    for (size_t i = 0; i < a->count; i++) {
        const double *g = a->g[i], d = a->off[i];
        m[0] += g[0] * g[0], m[1] += g[0] * g[1], m[2] += g[0] * g[2];
        m[3] += g[1] * g[1], m[4] += g[1] * g[2], m[5] += g[2] * g[2];
        right[0] += g[0] * d, right[1] += g[1] * d, right[2] += g[2] * d;
    }
    double l0 = sqrt(fmax(m[0], least)), l1 = m[1] / l0, l2 = m[2] / l0, l3 = sqrt(fmax(m[3] - l1 * l1, least));
    double l4 = (m[4] - l1 * l2) / l3, l5 = sqrt(fmax(m[5] - l2 * l2 - l4 * l4, least));
    double y0 = right[0] / l0, y1 = (right[1] - l1 * y0) / l3, y2 = (right[2] - l2 * y0 - l4 * y1) / l5;
    x[2] = y2 / l5;
    x[1] = (y1 - l4 * x[2]) / l3;
    x[0] = (y0 - l1 * x[1] - l2 * x[2]) / l0;
}

/* What is left across the target's lines once the motion that lessens it most is made: the root of the mean square.
 * Points that slipped along the lines do not count, but for the lines' bends. */
static double left_across(const lay *l) {
    across a;
    double radius, x[3], squares = 0.0;
    find_across(l, middle_of(l, &radius), &a);
    best_motion(&a, x);
    for (size_t i = 0; i < a.count; i++) {
        double left = a.off[i] - a.g[i][0] * x[0] - a.g[i][1] * x[1] - a.g[i][2] * x[2];
        squares += left * left;
    }
    return sqrt(squares / (double)a.count);
}

/* What is left between the points and the line at the pose, as rows of the linear program about the points' middle; the
 * largest distance. */
static double find_rows(lay *l, dt_point centre, double radius, dt_minimax_rows *rows) {
    dt_pose back = dt_pose_inverse(l->pose);
    double most = 0.0;
    for (size_t i = 0; i < l->count; i++) {
        dt_line_foot foot = dt_line_nearest(l->line, carry(back, l->points[i]), l->feet[i], REACH_MM);
        l->feet[i] = foot.arc;
        most = fmax(most, foot.distance);
        dt_point at = carry(l->pose, foot.at), n = turn_by(l->pose, foot.normal);
        double g[3] = {n.x, n.y, dt_point_cross(dt_point_sub(at, centre), n) / radius};
        dt_minimax_put(rows, i, g, dt_point_dot(n, dt_point_sub(at, l->points[i])));
    }
    return most;
}

/* Is there a pose near this one at which every point lies within the room of the line? The largest distance is convex
 * in small motions but for the lines' bends, so a few steps of the linear program decide; what promises to come near
 * the room is taken for a follower. */
static bool can_follow(lay *l, double room) {
    enum { ROUNDS = 5 };
    dt_minimax_rows rows[MOST_SAMPLES / 2 + 1];
    double radius, x[3];
    dt_point centre = middle_of(l, &radius);
    for (int round = 0; round < ROUNDS; round++) {
        if (find_rows(l, centre, radius, rows) <= room) return true;
        double promised = dt_minimax_step(rows, l->count, 1.0, x);
        if (promised > (round ? 1.15 : 2.0) * room) return false;
        move_by(l, centre, (double[3]){x[0], x[1], x[2] / radius});
    }
    return find_rows(l, centre, radius, rows) <= SPREAD * room;
}

/* How far points at equal lengths lie off along a line, root mean square: by where the tip is, and by what the room
 * adds to the length of a bend, its turn times the room, growing evenly from the tip to the end of the leg. */
static double slip_of(const target *t, double turned) {
    double longer = t->room * turned / sqrt(3.0);
    return sqrt(LOOSE_ENDS_MM * LOOSE_ENDS_MM + longer * longer);
}

static double most_rms(const target *t, double turned) {
    double slip = slip_of(t, turned);
    return SPREAD * sqrt(t->room * t->room + slip * slip);
}

/* Can points at equal lengths lie near each other? Of a few of them a larger share may lie far off. */
static bool may_agree(const target *t, bool alone, double spread, lay *l) {
    double turned = alone ? fmax(t->turned[0], t->turned[1]) : t->turned[0];
    double rms = spread * most_rms(t, turned), slip = slip_of(t, turned);
    return align(l) <= rms * rms * (double)l->count &&
           left_across(l) <= spread * SPREAD * (t->room + 0.5 * slip * slip / CURVE_MM);
}

/* Refused by a few points first, then by all; the rest is compared exactly. */
static bool follows(dt_fillers *f, const target *t, const dt_line *line, const dt_entry *e, bool alone, dt_pose *pose) {
    enum { FEWEST = 4, STRIDE = 4 };
    static const double OF_FEW = 1.25;
    lay l;
    *pose = DT_POSE_IDENTITY;
    choose_points(t, line, e, alone, STRIDE, &l);
    if (l.count > FEWEST && !may_agree(t, alone, OF_FEW, &l)) return false;
    f->compared++;
    choose_points(t, line, e, alone, 1, &l);
    if (l.count < FEWEST) return true; /* says nothing */
    if (!may_agree(t, alone, 1.0, &l) || !can_follow(&l, t->room)) return false;
    *pose = l.pose;
    return true;
}

/* ---- the questions ---- */

typedef struct question {
    dt_fillers *fillers;
    const target *target;
    const bool *used;
    dt_filling *out;
} question;

static const dt_tip *tip_of(const dt_fillers *f, dt_entry e) {
    return &f->lines[e.line].line.tips[e.tip];
}

/* Corners are measured close by, and bend there. One that is wider than its gap by more lies upon others. */
static bool fits_angle(double angle, double gap) {
    double more = angle - gap;
    return more <= ANGLE_ERROR && more >= -1.5 * ANGLE_ERROR;
}

static void take(question *q, dt_entry e) {
    const dt_owned_line *owner = &q->fillers->lines[e.line];
    const dt_tip *tip = tip_of(q->fillers, e);
    dt_pose pose;
    if (q->used[owner->piece] || !fits_angle(e.angle, q->target->gap->angle)) return;
    if (!follows(q->fillers, q->target, &owner->line, &e, true, &pose)) return;
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
    describe_gap(q->target, &legs);
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

/* A tip, and the corners of all others that follow its leg that leaves. */
typedef struct neighbourhood {
    dt_fillers *fillers;
    const target *target;
    uint64_t corners;
} neighbourhood;

static bool add_neighbour(void *context, uint32_t item) {
    neighbourhood *n = context;
    const dt_entry *e = &n->fillers->sharp[item];
    uint64_t bit = (uint64_t)1 << angle_bin(e->angle);
    dt_pose pose;
    if (!(n->corners & bit) && follows(n->fillers, n->target, &n->fillers->lines[e->line].line, e, false, &pose))
        n->corners |= bit;
    return true;
}

/* Corners up to an angle that fit beside the tip, whatever else lies about it. */
static uint64_t find_beside(dt_fillers *f, uint32_t item, double known, double most) {
    const dt_entry *e = &f->sharp[item];
    const dt_line *line = &f->lines[e->line].line;
    dt_edge edge = {line, DT_POSE_IDENTITY, line->tips[e->tip].at};
    dt_gap_lines gap = {edge, edge, 0.0};
    target t = make_target(&gap, f->room);
    neighbourhood n = {f, &t, f->beside[item].corners};
    dt_gap_legs legs = {.least_angle = known, .most_angle = most};
    if (t.onward < LEAST_LEG_MM) return UINT64_MAX; /* says nothing */
    describe_leg(&t, 0, LOOSE_ENDS_MM, &legs);
    dt_leg_index_find(&f->by_arriving, &legs, add_neighbour, &n);
    return n.corners;
}

static uint64_t corners_beside(dt_fillers *f, uint32_t item, double most) {
    static const double AHEAD = 0.1; /* radians: soon a gap will ask for as much */
    dt_beside *b = &f->beside[item];
    if (most > b->known) {
        b->corners = find_beside(f, item, b->known, most + AHEAD);
        b->known = most + AHEAD;
    }
    return b->corners;
}

/* Does some corner fit beside the tip that fills what it leaves of the gap, or leaves room for a third? */
static bool has_company(dt_fillers *f, uint32_t item, double gap) {
    double left = gap - f->sharp[item].angle;
    uint64_t alone = bins_between(left - 1.5 * ANGLE_ERROR, left + ANGLE_ERROR),
             with_third = bins_between(0.0, left - f->narrowest + ANGLE_ERROR);
    return corners_beside(f, item, left + ANGLE_ERROR) & (alone | with_third);
}

/* Is there room for two at least? */
static bool may_be_shared(const dt_fillers *f, double angle) {
    return angle >= 2.0 * f->narrowest - ANGLE_ERROR;
}

/* Does the piece begin to fill the gap along the line that leaves, with another beside it? Where that cannot be judged
 * it may. */
static bool shares(question *q, const dt_entry *e, const dt_owned_line *owner, const dt_tip *tip, dt_pose *pose) {
    dt_fillers *f = q->fillers;
    if (!follows(f, q->target, &owner->line, e, false, pose)) return false;
    dt_gap_lines beside = {{&owner->line, *pose, tip->at}, q->target->gap->back, q->target->gap->angle - e->angle};
    if (may_be_shared(f, beside.angle)) return true; /* there may be three */
    target t = make_target(&beside, 2.0 * q->target->room);
    if (t.onward < LEAST_LEG_MM || t.back < LEAST_LEG_MM) return true;
    dt_filling *next = malloc(sizeof *next);
    bool found = !next;
    if (next) {
        next->count = next->first_count = 0;
        next->unknown = false;
        find_alone(&(question){.fillers = f, .target = &t, .used = q->used, .out = next});
        found = next->unknown;
        for (size_t i = 0; i < next->count; i++) found = found || next->alone[i].owner->piece != owner->piece;
    }
    free(next);
    return found;
}

static bool take_first(void *context, uint32_t item) {
    question *q = context;
    const dt_fillers *f = q->fillers;
    const dt_entry *e = &f->sharp[item];
    const dt_owned_line *owner = &f->lines[e->line];
    const dt_tip *tip = tip_of(f, *e);
    double left = q->target->gap->angle - e->angle;
    dt_pose pose;
    if (q->used[owner->piece] || left < f->narrowest - ANGLE_ERROR) return true;
    if (!f->plain && !has_company(q->fillers, item, q->target->gap->angle)) return true;
    if (!shares(q, e, owner, tip, &pose)) return true;
    q->out->unknown = q->out->first_count == DT_MOST_FILLERS;
    if (!q->out->unknown) q->out->first[q->out->first_count++] = (dt_filler){owner, tip, pose};
    return !q->out->unknown;
}

static void find_first(question *q) {
    const dt_fillers *f = q->fillers;
    double angle = q->target->gap->angle;
    if (!may_be_shared(f, angle)) return;
    dt_gap_legs legs = {.least_angle = -PI, .most_angle = angle - f->narrowest + ANGLE_ERROR};
    describe_leg(q->target, 0, LOOSE_ENDS_MM, &legs);
    look_up(q, &f->by_arriving, &legs, take_first);
}

double dt_gap_angle(const dt_gap_lines *gap, double scale) {
    const dt_edge *a = &gap->onward, *b = &gap->back;
    dt_point in = dt_point_sub(dt_line_at(a->line, a->at), dt_line_at(a->line, a->at + scale));
    dt_point out = dt_point_sub(dt_line_at(b->line, b->at - scale), dt_line_at(b->line, b->at));
    in = turn_by(a->pose, in);
    out = turn_by(b->pose, out);
    return PI - atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

void dt_fillers_find_alone(dt_fillers *f, const dt_gap_lines *gap, const bool *used, dt_filling *out) {
    target t = make_target(gap, f->room);
    out->count = out->first_count = 0;
    out->unknown = gap->angle > f->widest || t.onward < LEAST_LEG_MM || t.back < LEAST_LEG_MM;
    question q = {.fillers = f, .target = &t, .used = used, .out = out};
    if (!out->unknown) find_alone(&q);
}

void dt_fillers_find_first(dt_fillers *f, const dt_gap_lines *gap, const bool *used, dt_filling *filling) {
    if (filling->unknown) return;
    target t = make_target(gap, f->room);
    find_first(&(question){.fillers = f, .target = &t, .used = used, .out = filling});
}
