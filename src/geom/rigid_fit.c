/* Minimax rigid fit by sequential linear programming: see rigid_fit.h. The linear program has four variables (two shifts, a turn
 * scaled to mm, and the bound t) and is solved by the dual simplex method on a basis of four constraints; its basis is always
 * dual feasible, so the value only rises to the optimum (Chvatal, Linear Programming, 1983, chapter 10). */
#include "geom/rigid_fit.h"

#include "geom/plane.h"
#include <math.h>

enum { VARIABLES = 4, MOST_PIVOTS = 200, MOST_STEPS = 60, MOST_POOR = 3 };
static const double VIOLATION_MM = 1e-9;  /* a constraint broken by less is kept */
static const double LEAST_TRUST_MM = 2e-5; /* far below any distance that matters */
static const double CURVED_SHARE = 0.5;     /* error of a linear step over its length, at the roundest lines of pieces */
/* t is to fall; the tiny rest tilts the objective so that ties have one answer and no pivot is idle. */
static const double DOWN[VARIABLES] = {-1e-7, -0.7e-7, -0.4e-7, -1.0};
static const double LEAST_PIVOT = 1e-11;   /* rounding makes this of a weight that is 0 */

typedef struct constraint {
    double a[VARIABLES], b; /* a . x <= b */
} constraint;

typedef struct program {
    const dt_minimax_rows *rows;
    size_t count;
    double trust;
} program;

/* Constraints in one numbering: 2i and 2i + 1 = row i upwards and downwards; then the box (two for each shift and turn), then
 * t >= 0. */
static constraint constraint_at(const program *p, size_t index) {
    constraint c = {{0.0, 0.0, 0.0, 0.0}, 0.0};
    if (index < 2 * p->count) {
        const dt_minimax_rows *rows = &p->rows[index / 4];
        size_t lane = index / 2 % 2;
        double sign = index % 2 ? -1.0 : 1.0;
        for (int k = 0; k < 3; k++) c.a[k] = sign * rows->g[k][lane];
        c.a[3] = -1.0;
        c.b = -sign * rows->distance[lane];
        return c;
    }
    index -= 2 * p->count;
    if (index == 6) {
        c.a[3] = -1.0;
        return c;
    }
    c.a[index / 2] = index % 2 ? -1.0 : 1.0;
    c.b = p->trust;
    return c;
}

/* Four constraints held as equalities. columns[i] is column i of the inverse of the matrix whose rows are their a: x is the sum of
 * b_i columns[i], and the weights of any vector v over the rows are v . columns[i]. Kept up from pivot to pivot (the product form
 * of the inverse, Chvatal, chapter 7). */
typedef struct basis {
    double columns[VARIABLES][VARIABLES];
    double multipliers[VARIABLES]; /* weights of `down` */
    double x[VARIABLES];
} basis;

static double dot(const double a[VARIABLES], const double b[VARIABLES]) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];
}

/* The lower corner of the box with t = 0: -x_k <= trust, -t <= 0. */
static basis start(double trust) {
    basis at = {.x = {-trust, -trust, -trust, 0.0}};
    for (int i = 0; i < VARIABLES; i++) {
        at.columns[i][i] = -1.0;
        at.multipliers[i] = -DOWN[i];
    }
    return at;
}

/* The constraint that is broken most so far. */
typedef struct broken {
    size_t index;
    double by;
} broken;

static void look_at_rows(const program *p, size_t two, const double x[VARIABLES], broken *most) {
    const dt_minimax_rows *rows = &p->rows[two];
    dt_two values = rows->g[0] * x[0] + rows->g[1] * x[1] + rows->g[2] * x[2] + rows->distance;
    for (size_t lane = 0; lane < 2; lane++) {
        double by = fabs(values[lane]) - x[3];
        if (by > most->by) *most = (broken){2 * (2 * two + lane) + (values[lane] < 0.0), by};
    }
}

/* A row is broken by more than `most` when its value lies beyond x[3] and that; squares need no sign. */
static void look_through_rows(const program *p, const double x[VARIABLES], broken *most) {
    const dt_two x0 = {x[0], x[0]}, x1 = {x[1], x[1]}, x2 = {x[2], x[2]};
    double edge = dt_plane_larger(x[3] + most->by, 0.0);
    dt_two beyond = {edge * edge, edge * edge};
    for (size_t two = 0; 2 * two < p->count; two++) {
        const dt_minimax_rows *rows = &p->rows[two];
        dt_two values = rows->g[0] * x0 + rows->g[1] * x1 + rows->g[2] * x2 + rows->distance;
        dt_two squares = values * values;
        if (squares[0] <= beyond[0] && squares[1] <= beyond[1]) continue;
        look_at_rows(p, two, x, most);
        edge = dt_plane_larger(x[3] + most->by, 0.0);
        beyond = (dt_two){edge * edge, edge * edge};
    }
}

static size_t most_broken(const program *p, const double x[VARIABLES]) {
    broken most = {SIZE_MAX, VIOLATION_MM};
    look_through_rows(p, x, &most);
    for (size_t k = 0; k < 3; k++) {
        double by = fabs(x[k]) - p->trust;
        if (by > most.by) most = (broken){2 * p->count + 2 * k + (x[k] < 0.0), by};
    }
    return -x[3] > most.by ? 2 * p->count + 6 : most.index;
}

/* Brings `entering` in for that constraint whose leaving keeps all multipliers at 0 or above; false = none may leave. */
static bool pivot(basis *at, const constraint *entering) {
    double share[VARIABLES], least = INFINITY;
    int out = -1;
    for (int i = 0; i < VARIABLES; i++) {
        share[i] = dot(entering->a, at->columns[i]);
        if (share[i] <= LEAST_PIVOT || at->multipliers[i] >= least * share[i]) continue;
        least = at->multipliers[i] / share[i];
        out = i;
    }
    if (out < 0) return false;
    double missing = entering->b - dot(entering->a, at->x), shrink = 1.0 / share[out], column[VARIABLES];
    for (int k = 0; k < VARIABLES; k++) column[k] = at->columns[out][k] * shrink;
    for (int i = 0; i < VARIABLES; i++) {
        at->x[i] += missing * column[i];
        at->multipliers[i] -= least * share[i];
        for (int k = 0; k < VARIABLES; k++) at->columns[i][k] -= share[i] * column[k];
    }
    for (int k = 0; k < VARIABLES; k++) at->columns[out][k] = column[k];
    at->multipliers[out] = least;
    return true;
}

void dt_minimax_put(dt_minimax_rows *rows, size_t index, const double g[3], double distance) {
    dt_minimax_rows *two = &rows[index / 2];
    for (size_t lane = index % 2; lane < 2; lane++) {
        for (int k = 0; k < 3; k++) two->g[k][lane] = g[k];
        two->distance[lane] = distance;
    }
}

double dt_minimax_step(const dt_minimax_rows *rows, size_t count, double trust, double x[3]) {
    program p = {rows, count, trust};
    basis at = start(trust);
    for (int step = 0; step < MOST_PIVOTS; step++) {
        size_t index = most_broken(&p, at.x);
        if (index == SIZE_MAX) break;
        constraint entering = constraint_at(&p, index);
        if (!pivot(&at, &entering)) break;
    }
    for (int k = 0; k < 3; k++) x[k] = dt_plane_smaller(dt_plane_larger(at.x[k], -trust), trust);
    return at.x[3];
}

static dt_pose moved(dt_pose pose, dt_point centre, const double x[3], double radius) {
    double w = x[2] / radius;
    dt_pose turn = {cos(w), sin(w), {0.0, 0.0}, false};
    dt_point kept = dt_pose_apply(turn, centre);
    turn.shift = (dt_point){centre.x - kept.x + x[0], centre.y - kept.y + x[1]};
    dt_pose next = dt_pose_compose(turn, pose);
    double norm = hypot(next.c, next.s);
    next.c /= norm;
    next.s /= norm;
    return next;
}

/* Those too small to become the largest within the trust region are left out: no point moves by more than about three times
 * trust, so a distance six times trust below the largest cannot catch up. */
static size_t rows_of(const dt_rigid_fit *fit, size_t count, double largest, double trust) {
    size_t kept = 0;
    double per_radius = 1.0 / fit->radius;
    for (size_t i = 0; i < count; i++) {
        const dt_pull *pull = &fit->pulls[i];
        if (pull->distance < largest - 6.0 * trust) continue;
        dt_point arm = dt_plane_sub(pull->at, fit->centre), u = pull->direction;
        const double g[3] = {u.x, u.y, (u.y * arm.x - u.x * arm.y) * per_radius};
        dt_minimax_put(fit->rows, kept++, g, pull->distance);
    }
    return kept;
}

/* The step ends inside the region, so the program knows no better motion, and even so its value is beyond reach. Curved lines
 * make it wrong by less than a share of the motion; corners, where the nearest line changes, by more: hence several in a row. */
static bool is_poor(double promised, double hopeless, double trust, const double x[3]) {
    double motion = dt_plane_larger(fabs(x[0]), dt_plane_larger(fabs(x[1]), fabs(x[2])));
    return motion < 0.999 * trust && promised - CURVED_SHARE * motion > hopeless;
}

/* In haste a promise is taken at its word: lines that bend away from a point are farther off than a step says, and few bend the other
 * way by as much as a point moves. */
static bool is_hopeless(const dt_rigid_fit *fit, double promised, double trust, const double x[3], int *poor) {
    if (fit->hasty) return promised > fit->hopeless_mm;
    *poor = is_poor(promised, fit->hopeless_mm, trust, x) ? *poor + 1 : 0;
    return *poor == MOST_POOR;
}

double dt_rigid_fit_run(const dt_rigid_fit *fit, dt_pose *pose) {
    size_t count;
    double value = fit->source(fit->context, *pose, fit->pulls, fit->room, &count), trust = value / 2.0, x[3];
    int poor = 0;
    if (fit->give_up_mm > 0.0 && value > fit->give_up_mm) return value;
    size_t kept = rows_of(fit, count, value, trust);
    for (int step = 0; step < MOST_STEPS && value > fit->enough_mm && trust > LEAST_TRUST_MM; step++) {
        double hoped = value - dt_minimax_step(fit->rows, kept, trust, x);
        if (hoped < fit->step_mm) break;
        if (is_hopeless(fit, value - hoped, trust, x, &poor)) break;
        dt_pose next = moved(*pose, fit->centre, x, fit->radius);
        double got = value - fit->source(fit->context, next, fit->pulls, fit->room, &count);
        if (got <= 0.1 * hoped) { /* the rows of the old pose still hold for the smaller region */
            trust /= 4.0;
            continue;
        }
        *pose = next;
        value -= got;
        if (got > 0.75 * hoped) trust *= 2.0;
        kept = rows_of(fit, count, value, trust);
    }
    return value;
}
