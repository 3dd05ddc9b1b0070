/* Grids of places with given likeness: see lattice.h. A piece looks right on a place when it has the same kind of side
 * wherever a neighbour lies; pieces are not turned. */
#include "lattice.h"

#include "draft.h"
#include <check.h>
#include <stdlib.h>

static uint32_t side_here(const lattice *l, uint32_t piece, int d, bool turned) {
    uint32_t kind = l->sides[piece][d];
    if (!turned || kind < 3 || kind >= 3 + 2 * l->flipped_pairs) return kind;
    return kind % 2 ? kind + 1 : kind - 1;
}

static bool looks_right(const lattice *l, uint32_t place, uint32_t piece, const uint32_t *turn, bool turned) {
    for (int d = 0; d < 4; d++) {
        bool shows = !turn || (l->sides[place][d] && turn[l->neighbours[place][d]] < turn[place]);
        if (shows && side_here(l, piece, d, turned) != l->sides[place][d]) return false;
    }
    return true;
}

static void lattice_rivals(const model *m, uint32_t place, const uint32_t *turn, model_rivals *out) {
    const lattice *l = m->context;
    if (l->even_classes > 0.0) {
        double loose = turn ? m->count - turn[place] : m->count;
        out->hidden =
            loose > l->even_classes ? (loose / l->even_classes - 1.0) * (m->count - 1.0) / (loose - 1.0) : 0.0;
        return;
    }
    for (uint32_t p = 0; p < m->count; p++) {
        if (p == place) continue;
        bool upright = looks_right(l, place, p, turn, false);
        if (upright || (l->flipped_pairs && looks_right(l, place, p, turn, true)))
            out->items[out->count++] = (model_rival){p, !upright};
    }
}

static uint32_t draw_kind(uint32_t kinds, uint64_t *state, uint32_t *next) {
    return kinds ? 1 + (uint32_t)(draft_random(state) * kinds) : (*next)++;
}

static void join(lattice *l, uint32_t a, uint32_t b, int d, uint32_t kind) {
    l->sides[a][d] = l->sides[b][d + 2] = kind;
    l->neighbours[a][d] = b;
    l->neighbours[b][d + 2] = a;
}

/* Right, down, left, up is the order in which the outline is walked. */
static void pack_neighbours(lattice *l, uint32_t p, uint32_t *packed) {
    uint32_t count = 0, after = 0;
    for (int d = 0; d < 4; d++) {
        if (l->sides[p][d] && !l->sides[p][(d + 3) % 4]) after = count;
        if (l->sides[p][d]) packed[count++] = l->neighbours[p][d];
    }
    l->places[p].neighbours = packed;
    l->places[p].neighbour_count = count;
    l->places[p].after_rim = after;
    l->places[p].start_rank = count == 2 ? 0 : count == 3 ? 1 : 2;
}

lattice *lattice_new(uint32_t rows, uint32_t columns, uint32_t kinds, uint64_t seed) {
    uint32_t n = rows * columns, next = 1;
    uint64_t state = seed;
    lattice *l = calloc(1, sizeof *l);
    ck_assert_ptr_nonnull(l);
    l->places = calloc(n, sizeof *l->places);
    l->neighbours = calloc(2 * (size_t)n, sizeof *l->neighbours); /* by direction, then packed */
    l->sides = calloc(n, sizeof *l->sides);
    ck_assert(l->places && l->neighbours && l->sides);
    for (uint32_t p = 0; p < n; p++) {
        if (p % columns + 1 < columns) join(l, p, p + 1, 0, draw_kind(kinds, &state, &next));
        if (p + columns < n) join(l, p, p + columns, 1, draw_kind(kinds, &state, &next));
    }
    for (uint32_t p = 0; p < n; p++) pack_neighbours(l, p, l->neighbours[n + p]);
    l->m = (model){.places = l->places, .count = n, .colours = 1, .rivals = lattice_rivals, .context = l};
    return l;
}

void lattice_free(lattice *l) {
    free(l->places);
    free(l->neighbours);
    free(l->sides);
    free(l);
}

void lattice_tell_tale(lattice *l) {
    for (uint32_t p = 0; p < l->m.count; p++) {
        uint8_t looks = l->places[p].start_rank == 0 ? 9 : l->places[p].start_rank == 1 ? 1 : 0;
        l->places[p].asks = looks;
        l->places[p].shows = looks | 2;
    }
}

effort_case lattice_case(const lattice *l, unsigned unknown_colours, dt_picture picture) {
    effort_case out = {.places = l->m.count, .unknown_colours = unknown_colours, .picture = picture};
    for (int w = 0; w < 2; w++) {
        dt_arena arena = DT_ARENA((size_t)1 << 28);
        model_run run;
        ck_assert_int_eq(model_play(&l->m, (model_view){.whimsies = w == 1}, false, &arena, &run), DT_OK);
        out.sums[w] = run.sums;
        dt_arena_free(&arena);
    }
    return out;
}

double lattice_seconds(const lattice *l, factor_set on) {
    effort_case c = lattice_case(l, 1, DT_PICTURE_NONE);
    dt_effort effort = dt_effort_default();
    return effort_of(&c, &effort, on).total_s;
}
