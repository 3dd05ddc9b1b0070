/* An index over ghosts: see ghosts.h. */
#include "ghosts.h"

#include <math.h>

bool dt_ghosts_index(dt_ghosts *ghosts) {
    double reach = ghosts->reach_mm + DT_SAME_MM;
    double total = 0.0;
    for (size_t i = 0; i < ghosts->count; i++) total += dt_point_distance(ghosts->items[i].a, ghosts->items[i].b);
    dt_grid_init(&ghosts->grid, fmax(8 * reach, total / ((double)ghosts->count + 1.0)), reach);
    for (uint32_t i = 0; i < ghosts->count; i++)
        if (!dt_grid_add(&ghosts->grid, ghosts->items[i].a, ghosts->items[i].b, i)) return false;
    return true;
}

void dt_ghosts_free(dt_ghosts *ghosts) {
    if (ghosts->grid.cell > 0.0) dt_grid_free(&ghosts->grid);
    dt_array_free(ghosts);
}

/* Lines within 30 degrees run along each other, as in doubles.c. */
static const double GREATEST_SINE = 0.5;

static bool explains(const dt_ghosts *ghosts, const dt_ghost *ghost, dt_point p, dt_point ahead) {
    double distance = dt_segment_distance(p, ghost->a, ghost->b, NULL);
    if (distance <= DT_SAME_MM) return true;
    dt_point way = dt_point_sub(ghost->b, ghost->a);
    bool along = fabs(dt_point_cross(way, ahead)) <= GREATEST_SINE * hypot(way.x, way.y);
    return along && distance <= ghosts->reach_mm + DT_SAME_MM;
}

bool dt_ghosts_explain(const dt_ghosts *ghosts, dt_point p, dt_point ahead) {
    if (ghosts->count == 0) return false;
    for (dt_nearby n = dt_grid_nearby(&ghosts->grid, p, p, 0.0); dt_nearby_next(&n);)
        if (explains(ghosts, &ghosts->items[n.item], p, ahead)) return true;
    return false;
}

/* The middle of the cut that holds this share of the chain's points. */
static dt_point sample(const dt_chains *chains, const dt_chain *chain, uint32_t quarter) {
    uint32_t i = (uint32_t)((uint64_t)(chain->count - 1) * quarter / 4);
    if (i + 1 == chain->count) i--;
    double t = chain->count == 2 ? quarter / 4.0 : 0.5;
    dt_point a = dt_gp_mm(dt_chain_point(chains, chain, i)), b = dt_gp_mm(dt_chain_point(chains, chain, i + 1));
    return dt_point_add(dt_point_scale(a, 1.0 - t), dt_point_scale(b, t));
}

typedef DT_ARRAY(uint32_t) numbers;

static bool has(const numbers *list, size_t first, uint32_t value) {
    for (size_t i = first; i < list->count; i++)
        if (list->items[i] == value) return true;
    return false;
}

/* Of a line drawn more often than this, some strokes stay unnamed. */
#define MOST_COPIES 64

/* The strokes of ghosts at p, each once. */
static bool strokes_at(const dt_ghosts *ghosts, dt_point p, numbers *out) {
    out->count = 0;
    for (dt_nearby n = dt_grid_nearby(&ghosts->grid, p, p, 0.0); dt_nearby_next(&n);) {
        const dt_ghost *ghost = &ghosts->items[n.item];
        if (dt_segment_distance(p, ghost->a, ghost->b, NULL) > ghosts->reach_mm + DT_SAME_MM / 2) continue;
        if (out->count == MOST_COPIES) return true;
        if (!has(out, 0, ghost->stroke) && !dt_array_push(out, ghost->stroke)) return false;
    }
    return true;
}

static bool adopt_ghosts(const dt_ghosts *ghosts, const dt_chains *chains, const dt_chain *chain, size_t first, numbers at[3],
                         numbers *out) {
    for (uint32_t k = 0; k < 3; k++)
        if (!strokes_at(ghosts, sample(chains, chain, k + 1), &at[k])) return false;
    for (uint32_t k = 0; k < 2; k++)
        for (size_t i = 0; i < at[k].count; i++) {
            uint32_t stroke = at[k].items[i];
            bool twice = (k == 0 && has(&at[1], 0, stroke)) || has(&at[2], 0, stroke);
            if (twice && !has(out, first, stroke) && !dt_array_push(out, stroke)) return false;
        }
    return true;
}

static int compare_numbers(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

static bool restroke(const dt_ghosts *ghosts, uint32_t most, dt_chains *chains, numbers at[3], numbers *out) {
    for (size_t c = 0; c < chains->chains.count; c++) {
        dt_chain *chain = &chains->chains.items[c];
        size_t first = out->count;
        for (uint32_t s = 0; s < chain->stroke_count; s++) {
            uint32_t stroke = chains->strokes.items[chain->stroke_first + s];
            if (stroke < most && !dt_array_push(out, stroke)) return false;
        }
        if (ghosts->count && !adopt_ghosts(ghosts, chains, chain, first, at, out)) return false;
        chain->stroke_first = (uint32_t)first;
        chain->stroke_count = (uint32_t)(out->count - first);
        if (chain->stroke_count > 1) qsort(out->items + first, chain->stroke_count, sizeof *out->items, compare_numbers);
    }
    return true;
}

dt_status dt_ghosts_adopt(const dt_ghosts *ghosts, uint32_t most, dt_chains *chains) {
    numbers at[3] = {{0}}, out = {0};
    bool done = restroke(ghosts, most, chains, at, &out);
    for (int k = 0; k < 3; k++) dt_array_free(&at[k]);
    dt_array_free(&chains->strokes);
    chains->strokes.items = out.items;
    chains->strokes.count = out.count;
    chains->strokes.room = out.room;
    return done ? DT_OK : DT_NO_MEMORY;
}
