/* Lines that are meant to meet in one point meet in several, a few micrometres apart, once their ends have been rounded to the
 * grid: an end is off by up to 0.7 micrometres, so two lines at an angle of 15 degrees cross up to 6 micrometres away
 * from where they should. So corners joined by a very short chain become one. Invariant: no point moves farther
 * than WIDEST times that length, lest a dense hatch be drawn together into one point. */
#include "near.h"

#include <math.h>

/* Widest group of corners that may become one, as a multiple of the distance. */
#define WIDEST 5
/* A chain with more points than this is not so short. */
#define MOST_POINTS 100

typedef struct group {
    dt_gp low, high;
    int64_t x, y; /* sums over its corners */
    int64_t count;
} group;

static uint32_t leader(uint32_t *above, uint32_t p) {
    while (above[p] != p) p = above[p] = above[above[p]];
    return p;
}

static void join_chain(const dt_chains *chains, const dt_chain *chain, uint32_t *above) {
    const uint32_t *walk = chains->walk.items + chain->first;
    for (uint32_t i = 1; i < chain->count; i++) {
        uint32_t a = leader(above, walk[0]), b = leader(above, walk[i]);
        if (a < b) above[b] = a;
        else above[a] = b;
    }
}

/* Chains with a loose end are left: what is so short there falls away with the dangles. */
static bool join_tiny(const dt_chains *chains, double distance_mm, uint32_t *above) {
    bool any = false;
    for (size_t c = 0; c < chains->chains.count; c++) {
        const dt_chain *chain = &chains->chains.items[c];
        if (chains->corner_degree[chain->from] == 1 || chains->corner_degree[chain->to] == 1) continue;
        if (chain->count > MOST_POINTS || dt_chain_length(chains, chain) > distance_mm) continue;
        join_chain(chains, chain, above);
        any = true;
    }
    return any;
}

static void measure_groups(const dt_chains *chains, uint32_t *above, group *groups) {
    for (uint32_t p = 0; p < chains->point_count; p++) {
        group *g = &groups[leader(above, p)];
        dt_gp at = chains->points[p];
        if (g->count++ == 0) g->low = g->high = at;
        g->low = (dt_gp){at.x < g->low.x ? at.x : g->low.x, at.y < g->low.y ? at.y : g->low.y};
        g->high = (dt_gp){at.x > g->high.x ? at.x : g->high.x, at.y > g->high.y ? at.y : g->high.y};
        g->x += at.x;
        g->y += at.y;
    }
}

static dt_gp place(const group *g, double distance_mm, dt_gp at) {
    double widest = WIDEST * distance_mm / DT_GRID_MM;
    if (g->count < 2 || (double)g->high.x - g->low.x > widest || (double)g->high.y - g->low.y > widest) return at;
    return (dt_gp){(int32_t)lround((double)g->x / (double)g->count), (int32_t)lround((double)g->y / (double)g->count)};
}

dt_status dt_near_gather(const dt_chains *chains, double distance_mm, dt_cuts *cuts, bool *moved) {
    dt_status status = DT_NO_MEMORY;
    uint32_t count = chains->point_count;
    bool any = false;
    uint32_t *above = malloc(((size_t)count + 1) * sizeof *above);
    group *groups = NULL;
    dt_gp *places = NULL;
    if (!above) goto done;
    for (uint32_t p = 0; p < count; p++) above[p] = p;
    if (join_tiny(chains, distance_mm, above)) {
        groups = calloc((size_t)count + 1, sizeof *groups);
        places = malloc(((size_t)count + 1) * sizeof *places);
        if (!groups || !places) goto done;
        measure_groups(chains, above, groups);
        for (uint32_t p = 0; p < count; p++) {
            places[p] = place(&groups[leader(above, p)], distance_mm, chains->points[p]);
            any = any || !dt_gp_same(places[p], chains->points[p]);
        }
        cuts->count = any ? 0 : cuts->count;
        if (any && !dt_chains_cut(chains, NULL, places, cuts)) goto done;
    }
    *moved = any;
    status = DT_OK;
done:
    free(above);
    free(groups);
    free(places);
    return status;
}
