/* Neighbours from seams: every seam between two pieces is one record, sorted by (a, b, seam) so that the lengths of a
 * pair add up in the same order whatever the draft. */
#include "graph/neighbours.h"

#include <stdlib.h>

static int compare_ids(uint32_t a, uint32_t b) {
    return (a > b) - (a < b);
}

static int compare_pairs(const void *first, const void *second) {
    const dt_neighbours *x = first, *y = second;
    int order = compare_ids(x->a.v, y->a.v);
    return order ? order : compare_ids(x->b.v, y->b.v);
}

/* While they are sorted, `seams` holds the seam's own number. */
static int compare_seams(const void *first, const void *second) {
    const dt_neighbours *x = first, *y = second;
    int order = compare_pairs(x, y);
    return order ? order : compare_ids(x->seams, y->seams);
}

static bool list_seams(const dt_pieces *pieces, neighbours *n) {
    size_t count = dt_pieces_seam_count(pieces);
    n->pairs = malloc((count + 1) * sizeof *n->pairs);
    if (!n->pairs) return false;
    for (uint32_t i = 0; i < count; i++) {
        const dt_seam *seam = dt_pieces_seam(pieces, (dt_seam_id){i});
        if (DT_IS_PIECE(seam->b))
            n->pairs[n->pair_count++] =
                (dt_neighbours){.a = seam->a, .b = seam->b, .border_mm = seam->length, .seams = i};
    }
    return true;
}

static void merge_seams(neighbours *n) {
    qsort(n->pairs, n->pair_count, sizeof *n->pairs, compare_seams);
    size_t kept = 0;
    for (size_t i = 0; i < n->pair_count; i++) {
        if (kept && compare_pairs(&n->pairs[kept - 1], &n->pairs[i]) == 0) {
            n->pairs[kept - 1].border_mm += n->pairs[i].border_mm;
            n->pairs[kept - 1].seams++;
            continue;
        }
        n->pairs[kept] = n->pairs[i];
        n->pairs[kept++].seams = 1;
    }
    n->pair_count = kept;
}

/* Pairs are sorted by (a, b): walked once for the smaller neighbours of each piece and once for the larger ones, every
 * list comes out ascending. */
static bool make_lists(neighbours *n, size_t count) {
    n->start = calloc(count + 2, sizeof *n->start);
    n->around = malloc((2 * n->pair_count + 1) * sizeof *n->around);
    n->pair = malloc((2 * n->pair_count + 1) * sizeof *n->pair);
    if (!n->start || !n->around || !n->pair) return false;
    size_t *next = n->start + 1; /* next[p] runs from the start of p's list to its end */
    for (size_t i = 0; i < n->pair_count; i++) next[n->pairs[i].a.v + 1]++, next[n->pairs[i].b.v + 1]++;
    for (size_t p = 0; p < count; p++) next[p + 1] += next[p];
    for (size_t i = 0; i < n->pair_count; i++) {
        size_t at = next[n->pairs[i].b.v]++;
        n->around[at] = n->pairs[i].a, n->pair[at] = i;
    }
    for (size_t i = 0; i < n->pair_count; i++) {
        size_t at = next[n->pairs[i].a.v]++;
        n->around[at] = n->pairs[i].b, n->pair[at] = i;
    }
    return true;
}

dt_status neighbours_new(const dt_pieces *pieces, neighbours *out) {
    neighbours n = {0};
    if (!list_seams(pieces, &n)) return DT_NO_MEMORY;
    merge_seams(&n);
    if (!make_lists(&n, dt_pieces_count(pieces))) {
        neighbours_free(&n);
        return DT_NO_MEMORY;
    }
    *out = n;
    return DT_OK;
}

void neighbours_free(neighbours *n) {
    free(n->pairs);
    free(n->start);
    free(n->around);
    free(n->pair);
    *n = (neighbours){0};
}

size_t neighbours_find(const neighbours *n, dt_piece_id a, dt_piece_id b) {
    dt_neighbours key = {.a = a.v < b.v ? a : b, .b = a.v < b.v ? b : a};
    const dt_neighbours *found = bsearch(&key, n->pairs, n->pair_count, sizeof key, compare_pairs);
    return found ? (size_t)(found - n->pairs) : SIZE_MAX;
}
