/* Who can fill a gap: see fillers.h. Tips are found by a key of the line's window about them, then compared with the
 * gap's lines point by point at the best pose. */
#include "fillers.h"

#include "assembly/vector.h"
#include "fit/windows.h"
#include "geom/rigid_fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const double MOST_WINDOW_MM = 24.0, LEAST_LEG_MM = 4.0;
static const double ANGLE_ERROR =
    0.35; /* radians (20 degrees): corners are measured over a scale only, and bent there */
static const double LOOSE_ENDS_MM =
    0.2; /* a tip is known to this along its line: its lines follow others to the room */
static const double HOLLOW_MM =
    0.065; /* lines that leave a larger hole where they part do not meet there: a drawing error and a little */
static const double SPREAD = 1.1;   /* on top of what was worked out, to be safe */
static const double STEP_MM = 1.0;  /* between points that are compared */
static const double REACH_MM = 1.5; /* a foot lies within this of where equal lengths put it */
static const size_t MEMORY_LIMIT = (size_t)1 << 30;
static const double CURVE_MM = 2.0; /* radius of the bends along which points slip */
enum { MOST_SAMPLES = 2 * DT_LEG_POINTS, SHORT_SHARE = 20 };

/* ---- the table ---- */

static int ascending(const void *a, const void *b) {
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

static double shorter_leg(const dt_tip *tip) {
    return fmin(tip->ahead, tip->behind);
}

/* All but one in twenty tips have legs as long as the window. */
static bool choose_window(dt_fillers *f, size_t tips) {
    double *legs = malloc((tips + 1) * sizeof *legs);
    size_t count = 0;
    if (!legs) return false;
    for (size_t i = 0; i < f->line_count; i++)
        for (size_t k = 0; k < f->lines[i].line.tip_count; k++)
            if (f->lines[i].line.tips[k].sharp) legs[count++] = shorter_leg(&f->lines[i].line.tips[k]);
    qsort(legs, count, sizeof *legs, ascending);
    f->window = count ? fmin(MOST_WINDOW_MM, 0.98 * legs[count / SHORT_SHARE]) : MOST_WINDOW_MM;
    f->window = fmax(f->window, LEAST_LEG_MM);
    f->shortest = count ? legs[0] : 0.0;
    free(legs);
    return true;
}

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

static void window_points(const dt_line *line, double at, double window, dt_point points[DT_WINDOW_POINTS]) {
    for (int i = 0; i < DT_WINDOW_POINTS; i++)
        points[i] = dt_line_at(line, at + window * ((2.0 * i + 1.0) / DT_WINDOW_POINTS - 1.0));
}

static void leg_points(const dt_line *line, double at, double window, dt_point points[DT_WINDOW_POINTS]) {
    for (int i = 0; i < DT_WINDOW_POINTS; i++) points[i] = dt_line_at(line, at - window * (i + 0.5) / DT_WINDOW_POINTS);
}

static double leg_arc(const dt_line *line, size_t i) {
    return line->scale + (double)i * STEP_MM;
}

static bool make_entry(dt_fillers *f, uint32_t i, uint32_t k, dt_entry *out) {
    const dt_line *line = &f->lines[i].line;
    double at = line->tips[k].at;
    dt_point *legs = DT_TAKE(&f->arena, 2 * DT_LEG_POINTS, dt_point);
    for (size_t n = 0; legs && n < DT_LEG_POINTS; n++) {
        legs[n] = dt_line_at(line, at - leg_arc(line, n));
        legs[DT_LEG_POINTS + n] = dt_line_at(line, at + leg_arc(line, n));
    }
    *out = (dt_entry){i, k, PI - line->tips[k].turn, legs};
    return legs != NULL;
}

static int narrower_first(const void *a, const void *b) {
    const dt_entry *p = a, *q = b;
    if (p->angle != q->angle) return p->angle < q->angle ? -1 : 1;
    return p->line != q->line ? (p->line > q->line) - (p->line < q->line) : (p->tip > q->tip) - (p->tip < q->tip);
}

static bool sort_narrow(dt_fillers *f) {
    f->narrow = DT_TAKE(&f->arena, f->entry_count + f->short_count, dt_entry);
    if (!f->narrow) return false;
    for (size_t i = 0; i < f->entry_count; i++) f->narrow[f->narrow_count++] = f->entries[i];
    for (size_t i = 0; i < f->short_count; i++) f->narrow[f->narrow_count++] = f->shorts[i];
    qsort(f->narrow, f->narrow_count, sizeof *f->narrow, narrower_first);
    return true;
}

static bool list_entries(dt_fillers *f, size_t tips) {
    f->entries = DT_TAKE(&f->arena, tips, dt_entry);
    f->shorts = DT_TAKE(&f->arena, tips, dt_entry);
    f->knees = DT_TAKE(&f->arena, tips, dt_entry);
    f->keys = DT_TAKE(&f->arena, tips * DT_WINDOW_KEYS, float);
    f->leg_keys = DT_TAKE(&f->arena, tips * DT_WINDOW_KEYS, float);
    if (!f->entries || !f->shorts || !f->knees || !f->keys || !f->leg_keys) return false;
    for (uint32_t i = 0; i < f->line_count; i++)
        for (uint32_t k = 0; k < f->lines[i].line.tip_count; k++) {
            const dt_tip *tip = &f->lines[i].line.tips[k];
            dt_entry entry;
            if (!make_entry(f, i, k, &entry)) return false;
            if (!tip->sharp)
                f->knees[f->knee_count++] = entry;
            else if (shorter_leg(tip) < f->window)
                f->shorts[f->short_count++] = entry;
            if (!tip->sharp || shorter_leg(tip) < f->window) continue;
            dt_point points[DT_WINDOW_POINTS];
            double steady;
            window_points(&f->lines[i].line, tip->at, f->window, points);
            dt_window_key(points, f->keys + f->entry_count * DT_WINDOW_KEYS, &steady);
            leg_points(&f->lines[i].line, tip->at, f->window, points);
            dt_window_key(points, f->leg_keys + f->entry_count * DT_WINDOW_KEYS, &steady);
            f->entries[f->entry_count++] = entry;
        }
    return true;
}

dt_status dt_fillers_new(const dt_owned_line *lines, size_t count, double knee, double room, dt_fillers *out) {
    dt_fillers f = {.lines = lines, .line_count = count, .room = room, .arena = DT_ARENA(MEMORY_LIMIT)};
    size_t tips = 0;
    for (size_t i = 0; i < count; i++) tips += lines[i].line.tip_count;
    measure_corners(&f, knee);
    bool made = choose_window(&f, tips) && list_entries(&f, tips) && sort_narrow(&f);
    made = made && dt_kdtree_new(f.keys, f.entry_count, DT_WINDOW_KEYS, &f.arena, &f.tree) == DT_OK;
    made = made && dt_kdtree_new(f.leg_keys, f.entry_count, DT_WINDOW_KEYS, &f.arena, &f.leg_tree) == DT_OK;
    if (!made) {
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
    dt_point points[2][DT_LEG_POINTS], normals[2][DT_LEG_POINTS];
    double room, turned[2]; /* mm; radians that each line turns altogether */
    double near_turned[2];  /* the same within the window */
} target;

static dt_point target_at(const dt_gap_lines *gap, double along) {
    const dt_edge *edge = along < 0.0 ? &gap->onward : &gap->back;
    return carry(edge->pose, dt_line_at(edge->line, edge->at - along));
}

static void add_leg(target *t, int leg, double length, double window, const dt_line *line) {
    double sign = leg ? 1.0 : -1.0, half = 0.1;
    size_t n = 0;
    for (; n < DT_LEG_POINTS && leg_arc(line, n) <= length - line->scale; n++) {
        double along = leg_arc(line, n);
        dt_point across =
            dt_point_sub(target_at(t->gap, sign * (along + half)), target_at(t->gap, sign * (along - half)));
        double size = sqrt(dt_point_dot(across, across));
        t->points[leg][n] = target_at(t->gap, sign * along);
        t->normals[leg][n] = size > 0.0 ? (dt_point){-across.y / size, across.x / size} : (dt_point){0.0, 0.0};
        double turn = n ? acos(fmax(-1.0, fmin(1.0, dt_point_dot(t->normals[leg][n], t->normals[leg][n - 1])))) : 0.0;
        t->turned[leg] += turn;
        if (along <= window) t->near_turned[leg] += turn;
    }
    t->count[leg] = n;
}

static target make_target(const dt_fillers *f, const dt_gap_lines *gap, double room) {
    target t = {.gap = gap, .room = room};
    t.onward = dt_line_ahead(gap->onward.line, gap->onward.at);
    t.back = dt_line_behind(gap->back.line, gap->back.at);
    add_leg(&t, 0, t.onward, f->window, gap->onward.line);
    add_leg(&t, 1, t.back, f->window, gap->back.line);
    return t;
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
static void choose_points(const target *t, const dt_line *line, const dt_entry *e, bool alone, lay *l) {
    const dt_tip *tip = &line->tips[e->tip];
    double slip = line->scale + REACH_MM;
    l->line = line;
    l->count = 0;
    for (size_t leg = 0; leg <= (alone ? 1 : 0); leg++)
        for (size_t n = 0; n < t->count[leg]; n++) {
            double along = leg_arc(line, n);
            if (along > (leg ? tip->ahead : tip->behind) - slip) break;
            l->points[l->count] = t->points[leg][n];
            l->normals[l->count] = t->normals[leg][n];
            l->own[l->count] = e->legs[leg * DT_LEG_POINTS + n];
            l->feet[l->count++] = leg ? tip->at + along : tip->at - along;
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

/* What is left across the target's lines once the motion that lessens it most is made: the sum of squares. Points that
 * slipped along the lines do not count, but for the lines' bends. */
static double left_across(const lay *l, dt_point centre) {
    double m[6] = {0.0}, right[3] = {0.0}, square = 0.0;
    for (size_t i = 0; i < l->count; i++) {
        dt_point at = carry(l->pose, l->own[i]), n = l->normals[i];
        double x = n.x, y = n.y, z = dt_point_cross(dt_point_sub(at, centre), n),
               d = dt_point_dot(n, dt_point_sub(at, l->points[i]));
        m[0] += x * x, m[1] += x * y, m[2] += x * z, m[3] += y * y, m[4] += y * z, m[5] += z * z;
        right[0] += x * d, right[1] += y * d, right[2] += z * d;
        square += d * d;
    }
    /* Cholesky; a motion that the lines leave open takes nothing away */
    const double least = 1e-9 * (double)l->count;
    double l0 = sqrt(fmax(m[0], least)), l1 = m[1] / l0, l2 = m[2] / l0, l3 = sqrt(fmax(m[3] - l1 * l1, least));
    double l4 = (m[4] - l1 * l2) / l3, l5 = sqrt(fmax(m[5] - l2 * l2 - l4 * l4, least));
    double y0 = right[0] / l0, y1 = (right[1] - l1 * y0) / l3, y2 = (right[2] - l2 * y0 - l4 * y1) / l5;
    return square - y0 * y0 - y1 * y1 - y2 * y2;
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

static void move_by(lay *l, dt_point centre, double radius, const double x[3]) {
    double turn = x[2] / radius;
    dt_pose by = {cos(turn), sin(turn), {0.0, 0.0}, false};
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
        move_by(l, centre, radius, x);
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

/* The same as align for every STRIDE-th point, without a lay: most tips are refused here. */
static bool is_far_off(const target *t, const dt_line *line, const dt_entry *e, bool alone, double rms) {
    enum { STRIDE = 4, FEWEST = 4 };
    const dt_tip *tip = &line->tips[e->tip];
    double x = 0.0, y = 0.0, u = 0.0, v = 0.0, dot = 0.0, cross = 0.0, square = 0.0, n = 0.0;
    for (size_t leg = 0; leg <= (alone ? 1 : 0); leg++) {
        double length = (leg ? tip->ahead : tip->behind) - line->scale - REACH_MM;
        const dt_point *own = e->legs + leg * DT_LEG_POINTS, *points = t->points[leg];
        for (size_t i = STRIDE / 2; i < t->count[leg] && leg_arc(line, i) <= length; i += STRIDE) {
            dt_point p = own[i], q = points[i];
            x += p.x, y += p.y, u += q.x, v += q.y, n += 1.0;
            dot += dt_point_dot(p, q), cross += dt_point_cross(p, q);
            square += dt_point_dot(p, p) + dt_point_dot(q, q);
        }
    }
    if (n < FEWEST) return false;
    dot -= (x * u + y * v) / n;
    cross -= (x * v - y * u) / n;
    square -= (x * x + y * y + u * u + v * v) / n;
    return square - 2.0 * sqrt(dot * dot + cross * cross) > SPREAD * rms * rms * n;
}

/* Refused first by a few points, then by all, then by what is left across the lines; the rest is compared exactly. */
static bool follows(dt_fillers *f, const target *t, const dt_line *line, const dt_entry *e, bool alone, dt_pose *pose) {
    enum { FEWEST = 4 };
    double turned = alone ? fmax(t->turned[0], t->turned[1]) : t->turned[0];
    double rms = most_rms(t, turned), slip = slip_of(t, turned),
           across = SPREAD * (t->room + 0.5 * slip * slip / CURVE_MM), radius;
    lay l;
    *pose = DT_POSE_IDENTITY;
    if (is_far_off(t, line, e, alone, rms)) return false;
    f->compared++;
    choose_points(t, line, e, alone, &l);
    if (l.count < FEWEST) return true; /* says nothing */
    if (align(&l) > rms * rms * (double)l.count) return false;
    if (left_across(&l, middle_of(&l, &radius)) > across * across * (double)l.count || !can_follow(&l, t->room))
        return false;
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
static bool may_fill(const question *q, dt_entry e) {
    double more = e.angle - q->target->gap->angle;
    return more <= ANGLE_ERROR && more >= -1.5 * ANGLE_ERROR;
}

static void take(question *q, dt_entry e) {
    const dt_owned_line *owner = &q->fillers->lines[e.line];
    const dt_tip *tip = tip_of(q->fillers, e);
    dt_pose pose;
    if (q->used[owner->piece] || !may_fill(q, e) || !follows(q->fillers, q->target, &owner->line, &e, true, &pose)) return;
    if (q->out->count == DT_MOST_FILLERS)
        q->out->unknown = true;
    else
        q->out->alone[q->out->count++] = (dt_filler){owner, tip, pose};
}

static bool take_found(void *context, uint32_t item) {
    question *q = context;
    take(q, q->fillers->entries[item]);
    return !q->out->unknown;
}

/* Keys of points that lie off by so much at the best motion differ by no more, but for the turn of the keys: what their
 * first terms lie off sideways turns the other terms instead. */
static float key_reach(const target *t, double turned, double steady) {
    return (float)(most_rms(t, turned) * fmax(1.0, 1.0 / steady));
}

static void look_through(question *q, const dt_entry *entries, size_t count) {
    for (size_t i = 0; i < count && !q->out->unknown; i++) take(q, entries[i]);
}

static const double LEAST_STEADY = 0.35;

/* The entries whose arriving legs are like ONWARD, as far as keys tell; false where they do not. */
static bool find_by_leg(question *q, bool (*found)(void *context, uint32_t item)) {
    const dt_fillers *f = q->fillers;
    dt_point points[DT_WINDOW_POINTS];
    float key[DT_WINDOW_KEYS];
    double steady;
    if (q->target->onward < f->window) return false;
    for (int i = 0; i < DT_WINDOW_POINTS; i++)
        points[i] = target_at(q->target->gap, -f->window * (i + 0.5) / DT_WINDOW_POINTS);
    dt_window_key(points, key, &steady);
    if (steady < LEAST_STEADY) return false;
    dt_kdtree_find(&f->leg_tree, key, key_reach(q->target, q->target->near_turned[0], steady), found, q);
    return true;
}

/* The same by both legs. In a narrow gap the two ends of the window lie near each other, and the key does not tell how
 * it is turned. */
static bool find_by_window(question *q, bool (*found)(void *context, uint32_t item)) {
    static const double STEADY = 1.0;
    const dt_fillers *f = q->fillers;
    const target *t = q->target;
    dt_point points[DT_WINDOW_POINTS];
    float key[DT_WINDOW_KEYS];
    double steady;
    if (t->onward < f->window || t->back < f->window) return false;
    for (int i = 0; i < DT_WINDOW_POINTS; i++)
        points[i] = target_at(t->gap, f->window * ((2.0 * i + 1.0) / DT_WINDOW_POINTS - 1.0));
    dt_window_key(points, key, &steady);
    if (steady < STEADY) return false;
    dt_kdtree_find(&f->tree, key, key_reach(t, fmax(t->near_turned[0], t->near_turned[1]), steady), found, q);
    return true;
}

/* Few corners are as narrow as a narrow gap. */
static void look_through_narrow(question *q) {
    const dt_fillers *f = q->fillers;
    for (size_t i = 0;
         i < f->narrow_count && !q->out->unknown && f->narrow[i].angle <= q->target->gap->angle + ANGLE_ERROR; i++)
        take(q, f->narrow[i]);
}

static void find_alone(question *q) {
    static const double NARROW = 1.2; /* radians (70 degrees) */
    const dt_fillers *f = q->fillers;
    if (q->target->gap->angle < NARROW) {
        look_through_narrow(q);
        return;
    }
    if (!find_by_window(q, take_found)) look_through(q, f->entries, f->entry_count);
    look_through(q, f->shorts, f->short_count);
    if (q->target->gap->angle > f->widest_sharp) look_through(q, f->knees, f->knee_count);
}

/* Does the piece begin to fill the gap along the line that leaves, with another beside it? Where that cannot be judged
 * it may. */
static bool shares(question *q, const dt_entry *e, const dt_owned_line *owner, const dt_tip *tip, dt_pose *pose) {
    dt_fillers *f = q->fillers;
    double gap_angle = q->target->gap->angle, angle = e->angle;
    if (q->used[owner->piece] || angle > gap_angle - f->narrowest + ANGLE_ERROR) return false;
    if (!follows(q->fillers, q->target, &owner->line, e, false, pose)) return false;
    dt_gap_lines beside = {{&owner->line, *pose, tip->at}, q->target->gap->back, gap_angle - angle};
    if (beside.angle >= 2.0 * f->narrowest - ANGLE_ERROR) return true; /* there may be three */
    target t = make_target(f, &beside, 2.0 * q->target->room);
    if (t.onward < LEAST_LEG_MM || t.back < LEAST_LEG_MM) return true;
    dt_filling *next = malloc(sizeof *next);
    bool found = !next;
    if (next) {
        next->count = next->first_count = 0;
        next->unknown = false;
        find_alone(&(question){f, &t, q->used, next});
        found = next->unknown;
        for (size_t i = 0; i < next->count; i++) found = found || next->alone[i].owner->piece != owner->piece;
    }
    free(next);
    return found;
}

static void take_first(question *q, dt_entry e) {
    const dt_owned_line *owner = &q->fillers->lines[e.line];
    const dt_tip *tip = tip_of(q->fillers, e);
    dt_pose pose;
    if (!shares(q, &e, owner, tip, &pose)) return;
    if (q->out->first_count == DT_MOST_FILLERS)
        q->out->unknown = true;
    else
        q->out->first[q->out->first_count++] = (dt_filler){owner, tip, pose};
}

static bool take_found_first(void *context, uint32_t item) {
    question *q = context;
    take_first(q, q->fillers->entries[item]);
    return !q->out->unknown;
}

static void find_first(question *q) {
    const dt_fillers *f = q->fillers;
    if (q->target->gap->angle < 2.0 * f->narrowest - ANGLE_ERROR) return;
    bool by_key = find_by_leg(q, take_found_first);
    for (size_t i = 0; !by_key && i < f->entry_count && !q->out->unknown; i++) take_first(q, f->entries[i]);
    for (size_t i = 0; i < f->short_count && !q->out->unknown; i++) take_first(q, f->shorts[i]);
}

double dt_gap_angle(const dt_gap_lines *gap, double scale) {
    const dt_edge *a = &gap->onward, *b = &gap->back;
    dt_point in = dt_point_sub(dt_line_at(a->line, a->at), dt_line_at(a->line, a->at + scale));
    dt_point out = dt_point_sub(dt_line_at(b->line, b->at - scale), dt_line_at(b->line, b->at));
    in = turn_by(a->pose, in);
    out = turn_by(b->pose, out);
    return PI - atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

void dt_fillers_find(dt_fillers *f, const dt_gap_lines *gap, const bool *used, dt_filling *out) {
    target t = make_target(f, gap, f->room);
    out->count = out->first_count = 0;
    out->unknown = gap->angle > f->widest || t.onward < LEAST_LEG_MM || t.back < LEAST_LEG_MM;
    question q = {f, &t, used, out};
    if (!out->unknown) find_alone(&q);
    if (!out->unknown) find_first(&q);
}
