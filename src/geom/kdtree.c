/* A kd-tree as a permutation: see kdtree.h. The axis of a range is the one along which its keys (or a sample of them) are spread widest. */
#include "geom/kdtree.h"

#include <math.h>
#include <string.h>

enum { LEAF = 8, MOST_DIMS = 16, SAMPLED = 128 };

/* While the tree is built: by items, as they were given. */
static float key_at(const dt_kdtree *tree, uint32_t item, size_t axis) {
    return tree->keys[(size_t)item * tree->dims + axis];
}

/* By a sample of the range: the choice need not be the best one. */
static size_t widest_axis(const dt_kdtree *tree, size_t from, size_t to) {
    float low[MOST_DIMS], high[MOST_DIMS];
    size_t stride = 1 + (to - from) / SAMPLED, best = 0;
    for (size_t axis = 0; axis < tree->dims; axis++) {
        low[axis] = INFINITY;
        high[axis] = -INFINITY;
    }
    for (size_t i = from; i < to; i += stride) {
        const float *key = tree->keys + (size_t)tree->order[i] * tree->dims;
        for (size_t axis = 0; axis < tree->dims; axis++) {
            low[axis] = key[axis] < low[axis] ? key[axis] : low[axis];
            high[axis] = key[axis] > high[axis] ? key[axis] : high[axis];
        }
    }
    for (size_t axis = 1; axis < tree->dims; axis++)
        if (high[axis] - low[axis] > high[best] - low[best]) best = axis;
    return best;
}

static bool before(const dt_kdtree *tree, uint32_t a, uint32_t b, size_t axis) {
    float x = key_at(tree, a, axis), y = key_at(tree, b, axis);
    return x < y || (x == y && a < b);
}

/* Hoare's selection with the (lower) middle item as pivot, so that both parts are smaller: afterwards nothing left of `nth` comes after it. */
static void select_nth(dt_kdtree *tree, size_t from, size_t to, size_t nth, size_t axis) {
    while (to - from > 1) {
        uint32_t pivot = tree->order[from + (to - 1 - from) / 2];
        size_t i = from, j = to - 1;
        while (true) {
            while (before(tree, tree->order[i], pivot, axis)) i++;
            while (before(tree, pivot, tree->order[j], axis)) j--;
            if (i >= j) break;
            uint32_t keep = tree->order[i];
            tree->order[i++] = tree->order[j];
            tree->order[j--] = keep;
        }
        if (nth <= j) to = j + 1;
        else from = j + 1;
    }
}

static void build(dt_kdtree *tree, size_t from, size_t to) {
    while (to - from > LEAF) {
        size_t axis = widest_axis(tree, from, to), middle = from + (to - from) / 2;
        select_nth(tree, from, to, middle, axis);
        tree->axis[middle] = (uint8_t)axis;
        build(tree, from, middle);
        from = middle + 1;
    }
}

/* Keys that are near each other in the tree are so in memory. */
static void lay_in_order(dt_kdtree *tree, float *sorted) {
    for (size_t i = 0; i < tree->count; i++)
        memcpy(sorted + i * tree->dims, tree->keys + (size_t)tree->order[i] * tree->dims, tree->dims * sizeof *sorted);
    tree->keys = sorted;
}

static const float *key_of(const dt_kdtree *tree, size_t place) {
    return tree->keys + place * tree->dims;
}

/* The squared distance, or more than `most` where it is more. */
static inline float square_within(const float *key, const float *other, size_t dims, float most) {
    float sum = 0.0f;
    size_t k = 0;
    for (; k + 4 <= dims && sum <= most; k += 4) {
        float a = key[k] - other[k], b = key[k + 1] - other[k + 1], c = key[k + 2] - other[k + 2],
              d = key[k + 3] - other[k + 3];
        sum += (a * a + b * b) + (c * c + d * d);
    }
    for (; k < dims && sum <= most; k++) sum += (key[k] - other[k]) * (key[k] - other[k]);
    return sum;
}

dt_status dt_kdtree_new(const float *keys, size_t count, size_t dims, dt_arena *arena, dt_kdtree *out) {
    if (dims == 0 || dims > MOST_DIMS) return DT_BAD_ARGUMENT;
    dt_kdtree tree = {keys, count, dims, DT_TAKE(arena, count, uint32_t), DT_TAKE(arena, count, uint8_t)};
    float *sorted = DT_TAKE(arena, count * dims, float);
    if (!tree.order || !tree.axis || !sorted) return DT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) tree.order[i] = (uint32_t)i;
    build(&tree, 0, count);
    lay_in_order(&tree, sorted);
    *out = tree;
    return DT_OK;
}

typedef struct search {
    const dt_kdtree *tree;
    const float *key;
    float within;
    bool (*found)(void *context, uint32_t item);
    void *context;
} search;

static bool look_at(const search *s, size_t place) {
    float most = s->within * s->within;
    if (square_within(key_of(s->tree, place), s->key, s->tree->dims, most) > most) return true;
    return s->found(s->context, s->tree->order[place]);
}

static bool look_in(const search *s, size_t from, size_t to) {
    while (to - from > LEAF) {
        size_t middle = from + (to - from) / 2, axis = s->tree->axis[middle];
        float offset = s->key[axis] - key_of(s->tree, middle)[axis];
        if (offset <= s->within && !look_in(s, from, middle)) return false;
        if (fabsf(offset) <= s->within && !look_at(s, middle)) return false;
        if (offset < -s->within) return true;
        from = middle + 1;
    }
    for (size_t i = from; i < to; i++)
        if (!look_at(s, i)) return false;
    return true;
}

void dt_kdtree_find(const dt_kdtree *tree, const float *key, float within, bool (*found)(void *context, uint32_t item),
                    void *context) {
    search s = {tree, key, within, found, context};
    look_in(&s, 0, tree->count);
}

typedef struct box_search {
    const dt_kdtree *tree;
    const float *low, *high;
    bool (*found)(void *context, uint32_t item);
    void *context;
} box_search;

static bool take_if_inside(const box_search *s, size_t place) {
    const float *key = key_of(s->tree, place);
    for (size_t k = 0; k < s->tree->dims; k++)
        if (key[k] < s->low[k] || key[k] > s->high[k]) return true;
    return s->found(s->context, s->tree->order[place]);
}

static bool look_in_box(const box_search *s, size_t from, size_t to) {
    while (to - from > LEAF) {
        size_t middle = from + (to - from) / 2, axis = s->tree->axis[middle];
        float value = key_of(s->tree, middle)[axis];
        if (s->low[axis] <= value && !look_in_box(s, from, middle)) return false;
        if (s->high[axis] < value) return true;
        if (s->low[axis] <= value && !take_if_inside(s, middle)) return false;
        from = middle + 1;
    }
    for (size_t i = from; i < to; i++)
        if (!take_if_inside(s, i)) return false;
    return true;
}

void dt_kdtree_find_in_box(const dt_kdtree *tree, const float *low, const float *high,
                           bool (*found)(void *context, uint32_t item), void *context) {
    box_search s = {tree, low, high, found, context};
    look_in_box(&s, 0, tree->count);
}

/* The best so far, as a heap with the worst on top. */
typedef struct best {
    const dt_kdtree *tree;
    const float *key;
    float square;        /* nothing farther is wanted */
    dt_neighbour *heap;
    size_t count, most;
} best;

static bool is_worse(dt_neighbour a, dt_neighbour b) {
    return a.square > b.square || (a.square == b.square && a.item > b.item);
}

static void sink(best *b, dt_neighbour item) {
    size_t at = 0;
    for (size_t child; (child = 2 * at + 1) < b->count; at = child) {
        if (child + 1 < b->count && is_worse(b->heap[child + 1], b->heap[child])) child++;
        if (!is_worse(b->heap[child], item)) break;
        b->heap[at] = b->heap[child];
    }
    b->heap[at] = item;
}

static void rise(best *b, dt_neighbour item) {
    size_t at = b->count++;
    for (; at > 0 && is_worse(item, b->heap[(at - 1) / 2]); at = (at - 1) / 2) b->heap[at] = b->heap[(at - 1) / 2];
    b->heap[at] = item;
}

static void offer(best *b, size_t place) {
    float square = square_within(key_of(b->tree, place), b->key, b->tree->dims, b->square);
    if (square > b->square) return;
    dt_neighbour found = {square, b->tree->order[place]};
    if (b->count < b->most) rise(b, found);
    else if (is_worse(b->heap[0], found)) sink(b, found);
    if (b->count == b->most) b->square = fminf(b->square, b->heap[0].square);
}

static void nearest_in(best *b, size_t from, size_t to) {
    if (to - from <= LEAF) {
        for (size_t i = from; i < to; i++) offer(b, i);
        return;
    }
    size_t middle = from + (to - from) / 2, axis = b->tree->axis[middle];
    float offset = b->key[axis] - key_of(b->tree, middle)[axis];
    nearest_in(b, offset <= 0.0f ? from : middle + 1, offset <= 0.0f ? middle : to);
    if (offset * offset > b->square) return;
    offer(b, middle);
    nearest_in(b, offset <= 0.0f ? middle + 1 : from, offset <= 0.0f ? to : middle);
}

/* The heap's worst goes to its end, again and again (Williams, Heapsort, 1964). */
static void sort_heap(best *b) {
    size_t count = b->count;
    while (b->count > 1) {
        dt_neighbour last = b->heap[--b->count];
        b->heap[b->count] = b->heap[0];
        sink(b, last);
    }
    b->count = count;
}

size_t dt_kdtree_nearest(const dt_kdtree *tree, const float *key, float within, size_t most, dt_neighbour *found) {
    best b = {tree, key, within * within, found, 0, most};
    if (most == 0) return 0;
    nearest_in(&b, 0, tree->count);
    sort_heap(&b);
    return b.count;
}
