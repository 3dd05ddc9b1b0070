/* keys.h - numbers 64-bit keys in the order of their first appearance (open addressing, at most half full). */
#ifndef DOVETELL_GEOM_KEYS_H
#define DOVETELL_GEOM_KEYS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct dt_keys {
    uint64_t *keys;
    uint32_t *numbers;
    size_t room; /* a power of two */
    uint32_t count;
} dt_keys;

/* Room for `most` different keys. False: no memory. Free with dt_keys_free, also after a failure. */
bool dt_keys_init(dt_keys *keys, size_t most);
void dt_keys_free(dt_keys *keys);

/* The number of key: a new one (the old count) when it was not there; *fresh says so (may be NULL). O(1) expected. */
uint32_t dt_keys_number(dt_keys *keys, uint64_t key, bool *fresh);

#endif
