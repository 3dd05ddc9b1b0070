/* Outlines walked once round: see lap.h. */
#include "fit/lap.h"

#include <math.h>
#include <pthread.h>

static const double PI = 3.14159265358979323846;
static const double DOUBT = 0.1;  /* of what a start half a step beside costs: a parabola finds the best one to this */
enum { POINTS = 64, STARTS = 64, HALF = DT_LAP_TERMS / 2 };

typedef float four __attribute__((vector_size(16)));

/* By start, four side by side, and term: of the turn that a start elsewhere makes of the term against that of term 1. */
typedef struct turns {
    four c[STARTS / 4][DT_LAP_TERMS], s[STARTS / 4][DT_LAP_TERMS];
    double walk_c[POINTS], walk_s[POINTS];
} turns;

static turns table;
static pthread_once_t table_once = PTHREAD_ONCE_INIT;

static int order_of(int term) {
    return term < HALF ? term + 1 : HALF - 1 - term;
}

static void fill_table(void) {
    for (int term = 0; term < DT_LAP_TERMS; term++)
        for (int i = 0; i < STARTS; i++) {
            double w = 2.0 * PI * i * (order_of(term) - 1) / STARTS;
            table.c[i / 4][term][i % 4] = (float)cos(w);
            table.s[i / 4][term][i % 4] = (float)sin(w);
        }
    for (int i = 0; i < POINTS; i++) {
        table.walk_c[i] = cos(2.0 * PI * i / POINTS);
        table.walk_s[i] = sin(2.0 * PI * i / POINTS);
    }
}

/* Points in the middles of equal parts of the length. */
static void walk_round(dt_path path, dt_point points[POINTS]) {
    double part = dt_path_perimeter(path) / POINTS, walked = 0.0;
    size_t kept = 0;
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[i], q = path.points[i + 1 < path.count ? i + 1 : 0];
        double length = dt_point_distance(p, q);
        for (double due; kept < POINTS && (due = part * ((double)kept + 0.5)) < walked + length; kept++)
            points[kept] = dt_point_add(p, dt_point_scale(dt_point_sub(q, p), (due - walked) / length));
        walked += length;
    }
    for (; kept < POINTS; kept++) points[kept] = path.points[0]; /* rounding at the very end */
}

dt_lap dt_lap_of(dt_path closed) {
    dt_point points[POINTS];
    dt_lap lap = {.square = 0.0f};
    pthread_once(&table_once, fill_table);
    walk_round(closed, points);
    for (int i = 0; i < POINTS; i++) lap.centre = dt_point_add(lap.centre, dt_point_scale(points[i], 1.0 / POINTS));
    for (int term = 0; term < DT_LAP_TERMS; term++) {
        double re = 0.0, im = 0.0;
        for (int i = 0; i < POINTS; i++) {
            size_t at = (size_t)(order_of(term) * i + POINTS * HALF) % POINTS;
            re += points[i].x * table.walk_c[at] + points[i].y * table.walk_s[at];
            im += points[i].y * table.walk_c[at] - points[i].x * table.walk_s[at];
        }
        lap.re[term] = (float)(re / POINTS);
        lap.im[term] = (float)(im / POINTS);
        lap.square += (float)((re * re + im * im) / (POINTS * POINTS));
    }
    return lap;
}

void dt_lap_key(const dt_lap *lap, float key[DT_LAP_TERMS]) {
    for (int term = 0; term < DT_LAP_TERMS; term++) key[term] = hypotf(lap->re[term], lap->im[term]);
}

/* x -> -x makes -conj of each point, and the walk goes the other way: Z_k becomes -conj(Z_k). */
dt_lap dt_lap_flip(const dt_lap *lap) {
    dt_lap flipped = *lap;
    flipped.centre.x = -lap->centre.x;
    for (int term = 0; term < DT_LAP_TERMS; term++) flipped.re[term] = -lap->re[term];
    return flipped;
}

/* Z_k conj(W_k), by term. */
typedef struct products {
    float re[DT_LAP_TERMS], im[DT_LAP_TERMS];
} products;

static products multiply(const dt_lap *a, const dt_lap *b) {
    products p;
    for (int term = 0; term < DT_LAP_TERMS; term++) {
        p.re[term] = a->re[term] * b->re[term] + a->im[term] * b->im[term];
        p.im[term] = a->im[term] * b->re[term] - a->re[term] * b->im[term];
    }
    return p;
}

/* Squares of the correlations at all starts of the grid. */
static void correlate(const products *p, four squares[STARTS / 4]) {
    four re[DT_LAP_TERMS], im[DT_LAP_TERMS];
    for (int term = 0; term < DT_LAP_TERMS; term++) {
        re[term] = (four){p->re[term], p->re[term], p->re[term], p->re[term]};
        im[term] = (four){p->im[term], p->im[term], p->im[term], p->im[term]};
    }
    for (int i = 0; i < STARTS / 4; i++) {
        four x = {0.0f, 0.0f, 0.0f, 0.0f}, y = x;
        for (int term = 0; term < DT_LAP_TERMS; term++) {
            x += table.c[i][term] * re[term] - table.s[i][term] * im[term];
            y += table.s[i][term] * re[term] + table.c[i][term] * im[term];
        }
        squares[i] = x * x + y * y;
    }
}

/* The correlation at any start, and the turn that goes with it. */
static double correlation_at(const products *p, double start, double *turn) {
    double x = 0.0, y = 0.0;
    for (int term = 0; term < DT_LAP_TERMS; term++) {
        double c = cos(order_of(term) * start), s = sin(order_of(term) * start);
        x += c * (double)p->re[term] - s * (double)p->im[term];
        y += s * (double)p->re[term] + c * (double)p->im[term];
    }
    *turn = -atan2(y, x);
    return sqrt(x * x + y * y);
}

/* How far the correlation can be above its value half a step of the grid away: it is level at its best start, and bends by no more than
 * this from there. */
static double most_beside(const products *p) {
    double bend = 0.0, step = PI / STARTS;
    for (int term = 0; term < DT_LAP_TERMS; term++) {
        double turn = order_of(term) - 1;
        bend += turn * turn * sqrt((double)(p->re[term] * p->re[term] + p->im[term] * p->im[term]));
    }
    return 0.5 * bend * step * step;
}

static double between(double before, double here, double after) {
    double bend = before + after - 2.0 * here;
    return bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
}

static dt_pose lay(const dt_lap *a, const dt_lap *b, double turn) {
    dt_pose pose = {cos(turn), sin(turn), {0.0, 0.0}, false};
    pose.shift = dt_point_sub(b->centre, dt_pose_apply(pose, a->centre));
    return pose;
}

size_t dt_laps_lay(const dt_lap *a, const dt_lap *b, double d, dt_pose poses[DT_MOST_LAID]) {
    four squares[STARTS / 4];
    float at[STARTS];
    products p = multiply(a, b);
    correlate(&p, squares);
    double wanted = 0.5 * ((double)a->square + (double)b->square - d * d), beside = most_beside(&p);
    double least = fmax(wanted - beside, 0.0);
    size_t count = 0;
    for (int i = 0; i < STARTS; i++) at[i] = squares[i / 4][i % 4];
    for (int i = 0; i < STARTS && count < DT_MOST_LAID; i++) {
        float before = at[(i + STARTS - 1) % STARTS], after = at[(i + 1) % STARTS];
        if ((double)at[i] < least * least || at[i] < before || at[i] < after) continue;
        double start = 2.0 * PI / STARTS * (i + between((double)before, (double)at[i], (double)after)), turn;
        if (correlation_at(&p, start, &turn) >= wanted - DOUBT * beside) poses[count++] = lay(a, b, turn);
    }
    return count;
}
