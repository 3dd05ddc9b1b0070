/* keys.h - numbers 64-bit keys in the order of their first appearance. */
#ifndef DOVETELL_GEOM_KEYS_H
#define DOVETELL_GEOM_KEYS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define DT_NO_KEY UINT32_MAX

/* An open hash table, at most half full. Start with {0}. */
typedef struct dt_keys {
    uint64_t *keys;
    uint32_t *numbers;
    size_t room; /* a power of two, or 0 */
    uint32_t count;
} dt_keys;

void dt_keys_free(dt_keys *keys);

/* The number of key; a new key gets the old count. DT_NO_KEY: no memory. O(1) expected. */
uint32_t dt_keys_number(dt_keys *keys, uint64_t key);
/* The number of key, or DT_NO_KEY when it was never numbered. O(1) expected. */
uint32_t dt_keys_find(const dt_keys *keys, uint64_t key);
/* Room for `most` keys in one step, so that no later growth is needed up to there. */
bool dt_keys_reserve(dt_keys *keys, size_t most);

#endif
