/* Growing arrays: see array.h. Room doubles, so pushing is O(1) on average. */
#include "array.h"

#include <stdint.h>

void *dt_array_grow(void *items, size_t count, size_t extra, size_t *room, size_t size) {
    if (extra > SIZE_MAX / 4 - count) return NULL;
    size_t wanted = *room < 8 ? 8 : *room * 2;
    if (wanted < count + extra) wanted = count + extra;
    if (wanted > (SIZE_MAX / 2) / size) return NULL;
    void *grown = realloc(items, wanted * size);
    if (grown) *room = wanted;
    return grown;
}

bool dt_array_reserve_(void **items, size_t count, size_t extra, size_t *room, size_t size) {
    void *grown = dt_array_grow(*items, count, extra, room, size);
    if (!grown) return false;
    *items = grown;
    return true;
}
