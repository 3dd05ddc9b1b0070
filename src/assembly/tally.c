/* Fillings met: see tally.h. Lists are kept whole and compared whole, so equal hashes mislead nobody. */
#include "tally.h"

#include "assembly/vector.h"

enum { MOST_LISTED = 1 << 26 }; /* numbers in `lists`: 256 MB */
static const double CELL_MM = 1.0;

void dt_tally_start(const dt_board *board, uint32_t tile_count, dt_tally *tally) {
    *tally = (dt_tally){.board = board, .tile_count = tile_count};
}

void dt_tally_free(dt_tally *tally) {
    dt_array_free(&tally->classes);
    dt_array_free(&tally->class_of);
    dt_array_free(&tally->lists);
    dt_array_free(&tally->scratch);
    dt_map_free(&tally->by_centre);
    dt_map_free(&tally->by_hash);
}

/* ---- classes ---- */

static uint32_t find_class(const dt_tally *tally, uint32_t body, dt_pose pose, dt_point centre) {
    double same = 2.0 * tally->board->problem->seat;
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            uint32_t *head = dt_map_get(&tally->by_centre, dt_cell_key(centre.x, centre.y, CELL_MM, dx, dy));
            for (uint32_t i = head ? *head : DT_NONE; i != DT_NONE; i = tally->classes.items[i].chain) {
                const dt_ground *old = &tally->classes.items[i];
                if (old->body != body || dt_point_distance(old->centre, centre) > same) continue;
                if (dt_board_covers_same(tally->board, body, pose, old->pose, same)) return i;
            }
        }
    return DT_NONE;
}

static bool class_of(dt_tally *tally, uint32_t body, dt_pose pose, uint32_t *out) {
    dt_point centre = carry(pose, tally->board->problem->bodies[body].centre);
    *out = find_class(tally, body, pose, centre);
    if (*out != DT_NONE) return true;
    uint64_t key = dt_cell_key(centre.x, centre.y, CELL_MM, 0, 0);
    uint32_t *head = dt_map_get(&tally->by_centre, key);
    dt_ground ground = {body, head ? *head : DT_NONE, pose, centre};
    *out = (uint32_t)tally->classes.count;
    return dt_map_put(&tally->by_centre, key, *out) && dt_array_push(&tally->classes, ground);
}

/* ---- lists ---- */

void dt_tally_begin(dt_tally *tally) {
    tally->scratch.count = 0;
}

bool dt_tally_body(dt_tally *tally, uint32_t body, dt_pose pose) {
    uint32_t number;
    return class_of(tally, body, pose, &number) && dt_array_push(&tally->scratch, number);
}

bool dt_tally_placement(dt_tally *tally, uint32_t placement) {
    const dt_placement *p = &tally->board->placements.items[placement];
    while (tally->class_of.count <= placement)
        if (!dt_array_push(&tally->class_of, DT_NONE)) return false;
    uint32_t *number = &tally->class_of.items[placement];
    return (*number != DT_NONE || class_of(tally, p->body, p->pose, number)) && dt_array_push(&tally->scratch, *number);
}

static int compare_numbers(const void *a, const void *b) {
    const uint32_t *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

/* FNV-1a, Fowler, Noll and Vo. */
static uint64_t hash_of(const uint32_t *numbers, size_t count) {
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < count; i++) hash = (hash ^ numbers[i]) * 1099511628211u;
    return hash | 1;
}

static bool is_listed(const dt_tally *tally, uint32_t at) {
    for (; at != DT_NONE; at = tally->lists.items[at]) {
        uint32_t i = 0;
        while (i < tally->tile_count && tally->lists.items[at + 1 + i] == tally->scratch.items[i]) i++;
        if (i == tally->tile_count) return true;
    }
    return false;
}

bool dt_tally_note(dt_tally *tally, bool *is_new) {
    uint32_t *numbers = tally->scratch.items;
    qsort(numbers, tally->scratch.count, sizeof *numbers, compare_numbers);
    uint64_t hash = hash_of(numbers, tally->scratch.count);
    uint32_t *head = dt_map_get(&tally->by_hash, hash), first = head ? *head : DT_NONE;
    *is_new = !is_listed(tally, first);
    if (!*is_new) return true;
    tally->full = tally->lists.count + tally->tile_count >= MOST_LISTED;
    *is_new = !tally->full;
    if (tally->full) return true;
    if (!dt_map_put(&tally->by_hash, hash, (uint32_t)tally->lists.count)) return false;
    if (!dt_array_push(&tally->lists, first)) return false;
    for (uint32_t i = 0; i < tally->tile_count; i++)
        if (!dt_array_push(&tally->lists, tally->scratch.items[i])) return false;
    return true;
}
