/* array.h - growing arrays of any type.
 *
 *     DT_ARRAY(dt_point) points = {0};
 *     if (!dt_array_push(&points, ((dt_point){1, 2}))) goto done;   // false: no memory
 *     ... points.items[i], points.count ...
 *     dt_array_free(&points);
 */
#ifndef DOVETELL_BASE_ARRAY_H
#define DOVETELL_BASE_ARRAY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

#define DT_ARRAY(type)      \
    struct {                \
        type *items;        \
        size_t count, room; \
    }

/* Makes room for `extra` more items of `size` bytes: the items' new address, or NULL when memory has run out or the
 * size would overflow. *room is updated. */
void *dt_array_grow(void *items, size_t count, size_t extra, size_t *room, size_t size);

#define dt_array_reserve(array, extra)                                                                           \
    ((array)->room - (array)->count >= (size_t)(extra) ||                                                        \
     dt_array_reserve_((void **)&(array)->items, (array)->count, (extra), &(array)->room, sizeof *(array)->items))
#define dt_array_push(array, ...) \
    (dt_array_reserve((array), 1) ? ((array)->items[(array)->count++] = __VA_ARGS__, true) : false)
#define dt_array_free(array) (free((array)->items), (array)->items = NULL, (array)->count = (array)->room = 0)

bool dt_array_reserve_(void **items, size_t count, size_t extra, size_t *room, size_t size);

#endif
