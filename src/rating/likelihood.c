/* The log-normal model of solving times and its most likely constants (see learn.h, likelihood.h).
 * Methods: a solver's own factor u is integrated out by the trapezoidal rule around the peak of the integrand, whose
 * width is taken from its curvature (Naylor and Smith, Applications of a method for the efficient computation of
 * posterior distributions, 1982; the rule converges at once for such bells). The peak is found by Newton's method: the
 * integrand is log-concave. The constants are found by Newton's method too, with differences for derivatives and a
 * ridge where the surface is not yet a hill (Levenberg 1944, Marquardt 1963). Invariant: no step is taken that lowers
 * the objective. */
#include "rating/likelihood.h"

#include <math.h>
#include <string.h>

static const double LN_SQRT_2PI = 0.91893853320467274178;
static const double SQRT_HALF = 0.70710678118654752440;

/* Priors of the logarithms: centre 0 for the factors; spreads between and within people make the published 0.7 together
 * (0.6^2 + 0.36^2 = 0.7^2). How the 0.7 divides is a guess, and so is how far constants may stray: a factor of
 * about 1.6. */
static const double PRIOR_CENTRE[LN_COUNT] = {0.0, 0.0, 0.0, -0.51082562376599068, -1.0216512475319814};
static const double PRIOR_SD[LN_COUNT] = {INFINITY, 0.5, 0.5, 0.5, 0.5};

enum { HALF_NODES = 24, MOST_PEAK_STEPS = 50, MOST_STEPS = 100 };
static const double REACH = 7.0;       /* sd on each side of the peak: what lies beyond is below 1e-11 */
static const double DIFFERENCE = 1e-3; /* step for derivatives, in logarithms */
static const double CLOSE = 1e-7;      /* steps below this end the search */
static const double FAR = 30.0;        /* sd beyond which the normal tail is taken by its series */

/* ln of the upper tail of the normal law, and its hazard -d/dz of that. */
static double log_tail(double z, double *hazard) {
    if (z < FAR) {
        double tail = 0.5 * erfc(z * SQRT_HALF);
        *hazard = exp(-0.5 * z * z - LN_SQRT_2PI) / tail;
        return log(tail);
    }
    *hazard = z + 1.0 / z;
    return -0.5 * z * z - LN_SQRT_2PI - log(z);
}

/* One solver's solves: ln minutes over ln median, and the spreads. */
typedef struct person {
    const timed *solves;
    const double *residuals;
    size_t count;
    double between, within;
} person;

/* ln of (chance of the solves given u) x (density of u); its first derivative and minus its second. */
static double log_integrand(const person *p, double u, double *slope, double *curve) {
    double z = u / p->between, value = -0.5 * z * z - LN_SQRT_2PI - log(p->between);
    *slope = -z / p->between;
    *curve = 1.0 / (p->between * p->between);
    for (size_t i = 0; i < p->count; i++) {
        double r = (p->residuals[i] - u) / p->within, hazard = 0.0;
        if (p->solves[i].finished) {
            value += -0.5 * r * r - LN_SQRT_2PI - log(p->within);
            *slope += r / p->within;
            *curve += 1.0 / (p->within * p->within);
        } else {
            value += log_tail(r, &hazard);
            *slope += hazard / p->within;
            *curve += hazard * (hazard - r) / (p->within * p->within);
        }
    }
    return value;
}

/* Where the integrand is largest; *curve is its curvature there. */
static double find_peak(const person *p, double *curve) {
    double u = 0.0, slope, value = log_integrand(p, u, &slope, curve);
    for (int i = 0; i < MOST_PEAK_STEPS && fabs(slope / *curve) > 1e-9 * p->between; i++) {
        double step = slope / *curve, next_slope, next_curve, next;
        while ((next = log_integrand(p, u + step, &next_slope, &next_curve)) < value && fabs(step) > 1e-12) step /= 2.0;
        u += step;
        value = next;
        slope = next_slope;
        *curve = next_curve;
    }
    return u;
}

static double log_chance(const person *p) {
    double curve, slope, unused;
    double peak = find_peak(p, &curve), top = log_integrand(p, peak, &slope, &unused), sum = 0.0;
    double step = REACH / (sqrt(curve) * HALF_NODES);
    for (int i = -HALF_NODES; i <= HALF_NODES; i++)
        sum += exp(log_integrand(p, peak + i * step, &slope, &unused) - top);
    return top + log(sum * step);
}

static double residual(const timed *t, const double ln[LN_COUNT]) {
    double median = t->handling + exp(ln[LN_SCAN]) * t->scanning + exp(ln[LN_TRY]) * t->trying;
    return t->log_minutes - ln[LN_PERSON] - log(median);
}

double evidence_log_likelihood(const evidence *e, const double ln[LN_COUNT]) {
    double sum = 0.0;
    for (size_t i = 0; i < e->start[e->solvers]; i++) e->scratch[i] = residual(&e->solves[i], ln);
    for (size_t s = 0; s < e->solvers; s++) {
        size_t first = e->start[s], count = e->start[s + 1] - first;
        person p = {e->solves + first, e->scratch + first, count, exp(ln[LN_BETWEEN]), exp(ln[LN_WITHIN])};
        sum += log_chance(&p);
    }
    return sum;
}

static double objective(const evidence *e, int free, const double ln[LN_COUNT]) {
    double value = evidence_log_likelihood(e, ln);
    for (int i = 0; i < free; i++) {
        double z = (ln[i] - PRIOR_CENTRE[i]) / PRIOR_SD[i];
        value -= 0.5 * z * z;
    }
    return value;
}

/* ---- the search ---- */

typedef double square[LN_COUNT][LN_COUNT];

static double at(const evidence *e, int free, const double ln[LN_COUNT], int i, double di, int j, double dj) {
    double moved[LN_COUNT];
    memcpy(moved, ln, sizeof moved);
    moved[i] += di;
    moved[j] += dj;
    return objective(e, free, moved);
}

/* Gradient, and minus the matrix of second derivatives. */
static void derivatives(const evidence *e, int n, const double ln[LN_COUNT], double gradient[LN_COUNT], square minus) {
    const double h = DIFFERENCE;
    double here = objective(e, n, ln);
    for (int i = 0; i < n; i++) {
        double up = at(e, n, ln, i, h, i, 0), down = at(e, n, ln, i, -h, i, 0);
        gradient[i] = (up - down) / (2 * h);
        minus[i][i] = -(up - 2 * here + down) / (h * h);
        for (int j = 0; j < i; j++) {
            double cross = at(e, n, ln, i, h, j, h) - at(e, n, ln, i, h, j, -h) - at(e, n, ln, i, -h, j, h) +
                           at(e, n, ln, i, -h, j, -h);
            minus[i][j] = minus[j][i] = -cross / (4 * h * h);
        }
    }
}

/* Cholesky factor of m + ridge; false where that is not positive definite. */
static bool factorise(int n, square m, double ridge, square l) {
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            double sum = m[i][j] + (i == j ? ridge : 0.0);
            for (int k = 0; k < j; k++) sum -= l[i][k] * l[j][k];
            if (i == j && !(sum > 0.0)) return false;
            l[i][j] = i == j ? sqrt(sum) : sum / l[j][j];
        }
    return true;
}

static void solve(int n, square l, const double right[LN_COUNT], double x[LN_COUNT]) {
    for (int i = 0; i < n; i++) {
        x[i] = right[i];
        for (int k = 0; k < i; k++) x[i] -= l[i][k] * x[k];
        x[i] /= l[i][i];
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++) x[i] -= l[k][i] * x[k];
        x[i] /= l[i][i];
    }
}

/* One step uphill; false when none is left to take. The largest step is kept below 1 (a factor of e). */
static bool climb(const evidence *e, int n, double ln[LN_COUNT], double *ridge) {
    double gradient[LN_COUNT], step[LN_COUNT], largest = 0.0, here = objective(e, n, ln);
    square minus, l;
    derivatives(e, n, ln, gradient, minus);
    for (; *ridge < 1e12; *ridge = fmax(4.0 * *ridge, 1e-3)) {
        double moved[LN_COUNT];
        if (!factorise(n, minus, *ridge, l)) continue;
        solve(n, l, gradient, step);
        memcpy(moved, ln, sizeof moved);
        largest = 0.0;
        for (int i = 0; i < n; i++) {
            moved[i] += step[i];
            largest = fmax(largest, fabs(step[i]));
        }
        if (largest > 1.0 || !(objective(e, n, moved) >= here)) continue;
        memcpy(ln, moved, sizeof moved);
        *ridge = *ridge < 1e-6 ? 0.0 : *ridge / 10.0;
        return largest > CLOSE;
    }
    return false;
}

static void standard_errors(const evidence *e, int n, const double ln[LN_COUNT], double sd[LN_COUNT]) {
    double gradient[LN_COUNT], unit[LN_COUNT], column[LN_COUNT], ridge = 0.0;
    square minus, l;
    derivatives(e, n, ln, gradient, minus);
    while (!factorise(n, minus, ridge, l)) ridge = fmax(4.0 * ridge, 1e-6);
    for (int i = 0; i < n; i++) {
        for (int j = 0; j < n; j++) unit[j] = i == j;
        solve(n, l, unit, column);
        sd[i] = sqrt(column[i]);
    }
}

void evidence_fit(const evidence *e, int free, double ln[LN_COUNT], double sd[LN_COUNT]) {
    double ridge = 0.0;
    memcpy(ln, PRIOR_CENTRE, sizeof PRIOR_CENTRE);
    memset(sd, 0, LN_COUNT * sizeof *sd);
    for (int i = 0; i < MOST_STEPS && climb(e, free, ln, &ridge); i++) continue;
    standard_errors(e, free, ln, sd);
}
