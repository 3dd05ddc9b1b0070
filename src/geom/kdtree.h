/* kdtree.h - points in a few dimensions and all of them within a distance of a query. Source: Bentley, Multidimensional binary
 * search trees used for associative searching, 1975. The tree is a permutation of the items: the middle of every range is its root. */
#ifndef DOVETELL_GEOM_KDTREE_H
#define DOVETELL_GEOM_KDTREE_H

#include "base/arena.h"
#include <dovetell/status.h>
#include <stdbool.h>
#include <stdint.h>

typedef struct dt_kdtree {
    const float *keys;   /* count x dims, in the tree's order */
    size_t count, dims;
    uint32_t *order;
    uint8_t *axis;       /* of the root of each range, by its place in order */
} dt_kdtree;

/* O(n log n). keys are copied. DT_BAD_ARGUMENT for more than 16 dimensions. */
dt_status dt_kdtree_new(const float *keys, size_t count, size_t dims, dt_arena *arena, dt_kdtree *out);

/* Calls found(context, item) for every item whose Euclidean distance to key is at most `within`, in an order that depends on
 * the keys alone; stops when it returns false. */
void dt_kdtree_find(const dt_kdtree *tree, const float *key, float within, bool (*found)(void *context, uint32_t item),
                    void *context);

/* The same for every item none of whose keys is below low's or above high's; both of dims numbers, also infinite ones. */
void dt_kdtree_find_in_box(const dt_kdtree *tree, const float *low, const float *high,
                           bool (*found)(void *context, uint32_t item), void *context);

typedef struct dt_neighbour {
    float square;        /* of the distance */
    uint32_t item;
} dt_neighbour;

/* The nearest items, at most `most` of them and none beyond `within`, nearest first (then by item), into found (room for
 * `most`); returns how many. Where fewer than `most` come back, no other item lies within. */
size_t dt_kdtree_nearest(const dt_kdtree *tree, const float *key, float within, size_t most, dt_neighbour *found);

#endif
