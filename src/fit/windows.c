/* An index over the stretches of all outlines: see windows.h. */
#include "fit/windows.h"

#include "base/workers.h"
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;
static const double RUNG_RATIO = 1.5;      /* a side is looked up by at least 1/1.5 of its length */
static const float ROUNDING_MM = 0.02f;    /* more than floats make of the distance of two keys */
enum { GRIDS_IN_WINDOW = 2 * DT_WINDOW_POINTS, MOST_WINDOWS = 4000000 };

enum { HALF = DT_WINDOW_POINTS / 2 };

typedef struct cosines {
    double c[DT_WINDOW_TERMS][HALF];
} cosines;

/* Orthonormal cosine terms, scaled so that sums of squares are mean squares. The other half is the same, with its sign changed in every
 * second term. */
static cosines table;
static pthread_once_t table_once = PTHREAD_ONCE_INIT;

static void fill_table(void) {
    for (int k = 0; k < DT_WINDOW_TERMS; k++)
        for (int i = 0; i < HALF; i++)
            table.c[k][i] = sqrt(2.0) / DT_WINDOW_POINTS * cos(PI * (k + 1) * (i + 0.5) / DT_WINDOW_POINTS);
}

/* x and y side by side. */
typedef double xy __attribute__((vector_size(16)));

static void transform(const dt_point points[DT_WINDOW_POINTS], xy z[DT_WINDOW_TERMS]) {
    xy even[HALF], odd[HALF];
    for (int i = 0; i < HALF; i++) {
        dt_point p = points[i], q = points[DT_WINDOW_POINTS - 1 - i];
        xy a = {p.x, p.y}, b = {q.x, q.y};
        even[i] = a + b;
        odd[i] = a - b;
    }
    for (int k = 0; k < DT_WINDOW_TERMS; k++) {
        const xy *half = k % 2 ? even : odd;
        const double *c = table.c[k];
        z[k] = (half[0] * c[0] + half[1] * c[1]) + (half[2] * c[2] + half[3] * c[3]) + (half[4] * c[4] + half[5] * c[5]) +
               (half[6] * c[6] + half[7] * c[7]);
    }
}

void dt_window_key(const dt_point points[DT_WINDOW_POINTS], float key[DT_WINDOW_KEYS], double *steady) {
    xy z[DT_WINDOW_TERMS];
    double rest = 0.0;
    pthread_once(&table_once, fill_table);
    transform(points, z);
    double first = sqrt(z[0][0] * z[0][0] + z[0][1] * z[0][1]);
    double c = first > 0.0 ? z[0][0] / first : 1.0, s = first > 0.0 ? z[0][1] / first : 0.0;
    key[0] = (float)first;
    for (int k = 1; k < DT_WINDOW_TERMS; k++) {
        double x = z[k][0], y = z[k][1];
        rest += x * x + y * y;
        key[2 * k - 1] = (float)(c * x + s * y);
        key[2 * k] = (float)(c * y - s * x);
    }
    *steady = rest > 0.0 ? first / sqrt(rest) : INFINITY;
}

/* Window j starts at grid point j and has its points at the odd grid points after it. */
static size_t windows_on(const dt_loop *loop, double grid) {
    return grid * GRIDS_IN_WINDOW <= loop->length ? (size_t)ceil(loop->length / grid) : 0;
}

typedef struct filling {
    const dt_walker *walkers;
    dt_rung *rung;
    size_t *first;  /* by walker: its first window */
} filling;

static size_t kept_on(const dt_loop *loop, const dt_rung *rung) {
    return (windows_on(loop, rung->length / GRIDS_IN_WINDOW) + rung->every - 1) / rung->every;
}

static dt_status fill_walker(void *context, size_t worker, size_t item) {
    const filling *f = context;
    const dt_loop *loop = &f->walkers[item].loop;
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    double grid = f->rung->length / GRIDS_IN_WINDOW, steady;
    size_t starts = windows_on(loop, grid), at = f->first[item];
    dt_point *points = DT_TAKE(&scratch, starts + GRIDS_IN_WINDOW, dt_point), picked[DT_WINDOW_POINTS];
    if (!points) return DT_NO_MEMORY;
    if (starts) dt_loop_points(loop, 0.0, grid, starts + GRIDS_IN_WINDOW, points);
    for (size_t j = 0; j < starts; j += f->rung->every, at++) {
        for (size_t i = 0; i < DT_WINDOW_POINTS; i++) picked[i] = points[j + 2 * i + 1];
        dt_window_key(picked, f->rung->keys + at * DT_WINDOW_KEYS, &steady);
        f->rung->windows[at] = (dt_window){(uint32_t)item, (float)((double)j * grid)};
    }
    dt_arena_free(&scratch);
    (void)worker;
    return DT_OK;
}

double dt_rung_step(const dt_rung *rung) {
    return (double)rung->every * rung->length / GRIDS_IN_WINDOW;
}

static size_t windows_of(const dt_ladder_plan *plan, double length) {
    size_t count = 0;
    for (size_t i = 0; i < plan->walker_count; i++) count += windows_on(&plan->walkers[i].loop, length / GRIDS_IN_WINDOW);
    return count;
}

/* On sheets of many windows one from every second grid point will do: what is found is brought to its place by a fit. */
static size_t every_of(const dt_ladder_plan *plan, double length, bool coarse) {
    size_t every = (size_t)fmax(1.0, plan->least_step / (length / GRIDS_IN_WINDOW));
    return coarse && every < 2 ? 2 : every;
}

static dt_status fill_rung(const dt_ladder_plan *plan, bool coarse, dt_arena *arena, dt_rung *rung) {
    rung->every = every_of(plan, rung->length, coarse);
    if (windows_of(plan, rung->length) > MOST_WINDOWS) return DT_TOO_LARGE;
    filling f = {plan->walkers, rung, DT_TAKE(arena, plan->walker_count, size_t)};
    if (!f.first) return DT_NO_MEMORY;
    for (size_t i = 0; i < plan->walker_count; i++) {
        f.first[i] = rung->count;
        rung->count += kept_on(&plan->walkers[i].loop, rung);
    }
    rung->windows = DT_TAKE(arena, rung->count, dt_window);
    rung->keys = DT_TAKE(arena, rung->count * DT_WINDOW_KEYS, float);
    if (!rung->windows || !rung->keys) return DT_NO_MEMORY;
    return dt_workers_run(plan->workers, plan->walker_count, fill_walker, &f);
}

/* ---- looks ---- */

/* What is looked for. */
typedef struct wanted {
    dt_four key[DT_WINDOW_KEYS], square;
} wanted;

typedef struct looked {
    dt_four sum;     /* of both keys' squares */
    dt_four squares; /* four times the square of the turned keys' product */
} looked;

static inline looked look_at_four(const dt_window_four *four, const wanted *w) {
    dt_four dot = four->key[0] * w->key[0], cross = {0.0f, 0.0f, 0.0f, 0.0f};
#pragma GCC unroll 4
    for (int k = 1; k < DT_WINDOW_KEYS; k += 2) {
        dot += four->key[k] * w->key[k] + four->key[k + 1] * w->key[k + 1];
        cross += four->key[k] * w->key[k + 1] - four->key[k + 1] * w->key[k];
    }
    return (looked){four->square + w->square, 4.0f * (dot * dot + cross * cross)};
}

static wanted make_wanted(const float key[DT_WINDOW_KEYS]) {
    wanted w = {.square = {0.0f, 0.0f, 0.0f, 0.0f}};
    for (int k = 0; k < DT_WINDOW_KEYS; k++) {
        w.key[k] = (dt_four){key[k], key[k], key[k], key[k]};
        w.square += w.key[k] * w.key[k];
    }
    return w;
}

static void put_key(dt_window_four *four, size_t lane, const float key[DT_WINDOW_KEYS]) {
    for (int k = 0; k < DT_WINDOW_KEYS; k++) {
        four->key[k][lane] = key[k];
        four->square[lane] += key[k] * key[k];
    }
}

static float farthest_from(const dt_rung *rung, size_t from, const float middle[DT_WINDOW_KEYS]) {
    wanted w = make_wanted(middle);
    float most = 0.0f;
    for (size_t i = from; i < from + DT_WINDOWS_IN_BLOCK && i < rung->count; i++) {
        looked l = look_at_four(&rung->fours[i / 4], &w);
        float off = l.sum[i % 4] - sqrtf(l.squares[i % 4]);
        if (off > most) most = off;
    }
    return sqrtf(most) + ROUNDING_MM;
}

static dt_status lay_fours(dt_rung *rung, dt_arena *arena) {
    size_t blocks = (rung->count + DT_WINDOWS_IN_BLOCK - 1) / DT_WINDOWS_IN_BLOCK;
    rung->fours = DT_TAKE(arena, rung->count / 4 + 1, dt_window_four);
    rung->blocks = DT_TAKE(arena, blocks / 4 + 1, dt_window_block_four);
    if (!rung->fours || !rung->blocks) return DT_NO_MEMORY;
    for (size_t i = 0; i < rung->count; i++) put_key(&rung->fours[i / 4], i % 4, rung->keys + i * DT_WINDOW_KEYS);
    for (size_t i = 0; i < blocks; i++) {
        size_t from = i * DT_WINDOWS_IN_BLOCK, at = from + DT_WINDOWS_IN_BLOCK / 2;
        const float *middle = rung->keys + (at < rung->count ? at : from) * DT_WINDOW_KEYS;
        put_key(&rung->blocks[i / 4].middle, i % 4, middle);
        rung->blocks[i / 4].radius[i % 4] = farthest_from(rung, from, middle);
    }
    return DT_OK;
}

/* Two at a time. */
static inline bool is_any(dt_lanes lanes) {
    typedef long long halves __attribute__((vector_size(16)));
    halves both = (halves)lanes;
    return (both[0] | both[1]) != 0;
}

/* Roots are drawn only where they decide: first it is asked whether what is beyond `most` could be taken away. */
static inline dt_lanes is_within(looked l, dt_four most) {
    const dt_four zero = {0.0f, 0.0f, 0.0f, 0.0f};
    dt_four rest = l.sum - most;
    return (rest <= zero) | (rest * rest <= l.squares);
}

static size_t look_in_block(const dt_rung *rung, size_t block, const wanted *w, float most, dt_look *found) {
    size_t count = 0, from = block * DT_WINDOWS_IN_BLOCK;
    for (size_t at = from; at < from + DT_WINDOWS_IN_BLOCK && at < rung->count; at += 4) {
        looked l = look_at_four(&rung->fours[at / 4], w);
        dt_lanes near = is_within(l, (dt_four){most, most, most, most});
        for (uint32_t lane = 0; is_any(near) && lane < 4 && at + lane < rung->count; lane++)
            if (near[lane]) found[count++] = (dt_look){l.sum[lane] - sqrtf(l.squares[lane]), (uint32_t)at + lane};
    }
    return count;
}

size_t dt_rung_look(const dt_rung *rung, const float key[DT_WINDOW_KEYS], float most, dt_look *found) {
    wanted w = make_wanted(key);
    float root = sqrtf(most);
    size_t count = 0;
    for (size_t block = 0; block * DT_WINDOWS_IN_BLOCK < rung->count; block += 4) {
        const dt_window_block_four *four = &rung->blocks[block / 4];
        dt_four reach = four->radius + root;
        dt_lanes near = is_within(look_at_four(&four->middle, &w), reach * reach);
        for (size_t lane = 0; is_any(near) && lane < 4; lane++)
            if (near[lane]) count += look_in_block(rung, block + lane, &w, most, found + count);
    }
    return count;
}

static int by_length(const void *a, const void *b) {
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

const dt_rung *dt_ladder_rung(const dt_ladder *ladder, double length) {
    const dt_rung *best = NULL;
    for (size_t i = 0; i < ladder->count; i++)
        if (ladder->rungs[i].length <= length * (1.0 + 1e-12)) best = &ladder->rungs[i];
    return best;
}

/* Rungs by length, and how many windows they would hold. */
static void choose_rungs(const dt_ladder_plan *plan, dt_ladder *ladder) {
    if (plan->length_count) qsort(plan->lengths, plan->length_count, sizeof *plan->lengths, by_length);
    for (size_t i = 0, windows = 0; i < plan->length_count; i++) {
        bool longer = ladder->count == 0 || plan->lengths[i] >= RUNG_RATIO * ladder->rungs[ladder->count - 1].length;
        if (longer && ladder->count < DT_MOST_RUNGS) {
            windows = windows_of(plan, plan->lengths[i]) / every_of(plan, plan->lengths[i], false);
            ladder->rungs[ladder->count++].length = plan->lengths[i];
        }
        ladder->looks += windows;
    }
}

dt_status dt_ladder_new(const dt_ladder_plan *plan, dt_arena *arena, dt_ladder *out) {
    dt_ladder ladder = {.count = 0};
    dt_status status = DT_OK;
    choose_rungs(plan, &ladder);
    ladder.has_trees = ladder.looks > plan->most_looks;
    for (size_t i = 0; i < ladder.count && status == DT_OK; i++) {
        dt_rung *rung = &ladder.rungs[i];
        status = fill_rung(plan, ladder.has_trees, arena, rung);
        if (status != DT_OK) break;
        status = ladder.has_trees ? dt_kdtree_new(rung->keys, rung->count, DT_WINDOW_KEYS, arena, &rung->tree) : lay_fours(rung, arena);
    }
    if (status == DT_OK) *out = ladder;
    return status;
}
