/* Following the lines of a gap: see follow.h. */
#include "follow.h"

#include "assembly/vector.h"
#include "geom/rigid_fit.h"

#include <math.h>

static const double PI = 3.14159265358979323846;
static const double LOOSE_ENDS_MM =
    0.2;                            /* a tip is known to this along its line: its lines follow others to the room */
static const double SPREAD = 1.1;   /* on top of what was worked out, to be safe */
static const double STEP_MM = 1.0;  /* between points that are compared */
static const double REACH_MM = 1.5; /* a foot lies within this of where equal lengths put it */
static const double CURVE_MM = 2.0; /* radius of the bends along which points slip */
enum { MOST_SAMPLES = 2 * DT_LEG_POINTS };

double dt_gap_angle(const dt_gap_lines *gap, double scale) {
    const dt_edge *a = &gap->onward, *b = &gap->back;
    dt_point in = dt_point_sub(dt_line_at(a->line, a->at), dt_line_at(a->line, a->at + scale));
    dt_point out = dt_point_sub(dt_line_at(b->line, b->at - scale), dt_line_at(b->line, b->at));
    in = turn_by(a->pose, in);
    out = turn_by(b->pose, out);
    return PI - atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

/* ---- a gap's lines by points ---- */

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

static void add_leg(dt_target *t, int leg, double length, const dt_line *line) {
    const double half = 0.1;
    dt_point before[DT_LEG_POINTS], after[DT_LEG_POINTS];
    size_t n = 0;
    while (n < DT_LEG_POINTS && leg_arc(line, n) <= length - line->scale) n++;
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

dt_target dt_target_make(const dt_gap_lines *gap, double room) {
    dt_target t = {.gap = gap, .room = room};
    t.onward = dt_line_ahead(gap->onward.line, gap->onward.at);
    t.back = dt_line_behind(gap->back.line, gap->back.at);
    add_leg(&t, 0, t.onward, gap->onward.line);
    add_leg(&t, 1, t.back, gap->back.line);
    return t;
}

/* How a follower's arcs may differ from the gap's, from its point on: by where its tip is, and by what the room adds to
 * the length of bends. */
static void add_slips(const dt_target *t, int leg, double at_tip, dt_gap_legs *out) {
    enum { STEPS = 4 }; /* samples, so that a millimetre of line tells its direction */
    const dt_point *p = out->samples.leg[leg];
    double turned = 0.0;
    for (size_t i = 0; i < DT_LEG_SAMPLES; i++) {
        if (i % STEPS == 0 && i >= 2 * STEPS)
            turned += angle_between(dt_point_sub(p[i], p[i - STEPS]), dt_point_sub(p[i - STEPS], p[i - 2 * STEPS]));
        out->slip[leg][i] = at_tip + SPREAD * t->room * turned;
    }
}

static void add_gap_leg(const dt_target *t, int leg, double at_tip, dt_gap_legs *out) {
    const dt_line *line = leg ? t->gap->back.line : t->gap->onward.line;
    sample_leg(t->gap, leg, 0.0, DT_LEG_STEP_MM, DT_LEG_SAMPLES, out->samples.leg[leg]);
    out->followed[leg] = (leg ? t->back : t->onward) - line->scale - STEP_MM;
    add_slips(t, leg, at_tip, out);
}

/* A tip that follows both lines to the room lies off by as much more as the gap is narrow. */
static double half_angle(const dt_target *t) {
    return fmax(0.1, fmin(PI, t->gap->angle) / 2.0);
}

static double tip_room(const dt_target *t) {
    return hypot(LOOSE_ENDS_MM, SPREAD * t->room / sin(half_angle(t)));
}

/* The gap as the index sees it. */
void dt_target_describe(const dt_target *t, dt_gap_legs *out) {
    double at_tip = LOOSE_ENDS_MM + SPREAD * t->room / tan(half_angle(t));
    out->room = SPREAD * t->room;
    out->tip_room = tip_room(t);
    add_gap_leg(t, 0, at_tip, out);
    add_gap_leg(t, 1, at_tip, out);
}

/* The same of one leg, whose follower's tip is loose along it. */
void dt_target_describe_leg(const dt_target *t, int leg, dt_gap_legs *out) {
    out->room = SPREAD * t->room;
    out->tip_room = hypot(LOOSE_ENDS_MM, out->room);
    add_gap_leg(t, leg, LOOSE_ENDS_MM, out);
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
static size_t points_to_follow(const dt_target *t, const dt_line *line, double length, int leg) {
    double slip = line->scale + REACH_MM;
    size_t n = 0;
    while (n < t->count[leg] && leg_arc(line, n) <= length - slip) n++;
    return n;
}

void dt_leg_points_take(const dt_line *line, uint32_t tip, dt_leg_points *out) {
    for (int leg = 0; leg < 2; leg++) {
        double sign = leg ? 1.0 : -1.0, first = line->tips[tip].at + sign * leg_arc(line, 0);
        dt_line_sample(line, first, sign * STEP_MM, DT_LEG_POINTS, out->leg[leg]);
    }
}

/* Every stride-th point from the first one on. */
static void choose_points(const dt_target *t, dt_follower f, dt_along along, size_t stride, lay *l) {
    const dt_tip *tip = &f.line->tips[f.tip];
    l->line = f.line;
    l->count = 0;
    for (int leg = along == DT_ALONG_BACK; leg <= (along != DT_ALONG_ONWARD); leg++) {
        size_t end = points_to_follow(t, f.line, leg ? tip->ahead : tip->behind, leg);
        for (size_t n = stride / 2; n < end; n += stride, l->count++) {
            l->own[l->count] = f.points->leg[leg][n];
            l->points[l->count] = t->points[leg][n];
            l->normals[l->count] = t->normals[leg][n];
            l->feet[l->count] = tip->at + (leg ? 1.0 : -1.0) * leg_arc(f.line, n);
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

/* What is left between every stride-th point and the line at the pose, as rows of the linear program about the points'
 * middle; the largest distance. */
static double find_rows(lay *l, dt_point centre, double radius, size_t stride, dt_minimax_rows *rows) {
    dt_pose back = dt_pose_inverse(l->pose);
    double most = 0.0;
    for (size_t i = 0, row = 0; i < l->count; i += stride, row++) {
        dt_line_foot foot = dt_line_nearest(l->line, carry(back, l->points[i]), l->feet[i], REACH_MM);
        l->feet[i] = foot.arc;
        most = fmax(most, foot.distance);
        dt_point at = carry(l->pose, foot.at), n = turn_by(l->pose, foot.normal);
        double g[3] = {n.x, n.y, dt_point_cross(dt_point_sub(at, centre), n) / radius};
        dt_minimax_put(rows, row, g, dt_point_dot(n, dt_point_sub(at, l->points[i])));
    }
    return most;
}

/* Is there a pose near this one at which every stride-th point lies within the room of the line? The largest distance is
 * convex in small motions but for the lines' bends, so a few steps of the linear program decide; what promises to come
 * near the room is taken for a follower. */
static bool comes_near(lay *l, double room, size_t stride) {
    enum { ROUNDS = 5 };
    dt_minimax_rows rows[MOST_SAMPLES / 2 + 1];
    double radius, x[3];
    dt_point centre = middle_of(l, &radius);
    for (int round = 0; round < ROUNDS; round++) {
        if (find_rows(l, centre, radius, stride, rows) <= room) return true;
        double promised = dt_minimax_step(rows, (l->count + stride - 1) / stride, 1.0, x);
        if (promised > (round ? 1.15 : 2.0) * room) return false;
        move_by(l, centre, (double[3]){x[0], x[1], x[2] / radius});
    }
    return find_rows(l, centre, radius, stride, rows) <= SPREAD * room;
}

/* What a few points cannot come to, all cannot. */
static bool can_follow(lay *l, double room) {
    enum { STRIDE = 3 };
    return comes_near(l, room, STRIDE) && comes_near(l, room, 1);
}

/* How far points at equal lengths lie off along a line, root mean square: by where the tip is, and by what the room
 * adds to the length of a bend, its turn times the room, growing evenly from the tip to the end of the leg. */
static double slip_of(const dt_target *t, double turned) {
    double longer = t->room * turned / sqrt(3.0);
    return sqrt(LOOSE_ENDS_MM * LOOSE_ENDS_MM + longer * longer);
}

static double most_rms(const dt_target *t, double turned) {
    double slip = slip_of(t, turned);
    return SPREAD * sqrt(t->room * t->room + slip * slip);
}

/* Can points at equal lengths lie near each other? Of a few of them a larger share may lie far off. */
static bool may_agree(const dt_target *t, dt_along along, double spread, lay *l) {
    double turned = along == DT_ALONG_BOTH ? fmax(t->turned[0], t->turned[1]) : t->turned[along];
    double rms = spread * most_rms(t, turned), slip = slip_of(t, turned);
    return align(l) <= rms * rms * (double)l->count &&
           left_across(l) <= spread * SPREAD * (t->room + 0.5 * slip * slip / CURVE_MM);
}

/* A piece whose line runs near all points of the gap's lines may still have its tip somewhere along one of them, where it
 * fills no gap. */
static bool reaches_point(const dt_target *t, dt_follower f, dt_pose pose) {
    static const double MORE_MM = 0.1; /* poses are good enough, not the best */
    const dt_edge *edge = &t->gap->onward;
    dt_point tip = carry(pose, dt_line_at(f.line, f.line->tips[f.tip].at));
    return dt_point_distance(tip, carry(edge->pose, dt_line_at(edge->line, edge->at))) <= tip_room(t) + MORE_MM;
}

/* Refused by a few points first, then by all; the rest is compared exactly. */
bool dt_follows(const dt_target *t, dt_follower follower, dt_along along, uint64_t *compared, dt_pose *pose) {
    enum { FEWEST = 4, STRIDE = 4 };
    static const double OF_FEW = 1.25;
    lay l;
    *pose = DT_POSE_IDENTITY;
    choose_points(t, follower, along, STRIDE, &l);
    if (l.count > FEWEST && !may_agree(t, along, OF_FEW, &l)) return false;
    ++*compared;
    choose_points(t, follower, along, 1, &l);
    if (l.count < FEWEST) return true; /* says nothing */
    if (!may_agree(t, along, 1.0, &l) || !can_follow(&l, t->room)) return false;
    if (along == DT_ALONG_BOTH && !reaches_point(t, follower, l.pose)) return false;
    *pose = l.pose;
    return true;
}
