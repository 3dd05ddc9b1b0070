/* map.h - from 64-bit keys to 32-bit values: open addressing, doubling, nothing is ever taken out. Key 0 is not allowed. */
#ifndef DOVETELL_ASSEMBLY_MAP_H
#define DOVETELL_ASSEMBLY_MAP_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

typedef struct dt_map {
    uint64_t *keys;
    uint32_t *values;
    size_t count, room; /* room: 0 or a power of two */
} dt_map;

static inline void dt_map_free(dt_map *map) {
    free(map->keys);
    free(map->values);
    *map = (dt_map){NULL, NULL, 0, 0};
}

/* Fibonacci hashing: Knuth, The Art of Computer Programming 3, section 6.4. */
static inline size_t dt_map_slot(const dt_map *map, uint64_t key) {
    size_t slot = (size_t)((key * 0x9E3779B97F4A7C15u) >> 20) & (map->room - 1);
    while (map->keys[slot] && map->keys[slot] != key) slot = (slot + 1) & (map->room - 1);
    return slot;
}

/* The value's address, or NULL where the key is not there; good until the next dt_map_put. */
static inline uint32_t *dt_map_get(const dt_map *map, uint64_t key) {
    if (!map->room) return NULL;
    size_t slot = dt_map_slot(map, key);
    return map->keys[slot] ? &map->values[slot] : NULL;
}

static inline bool dt_map_widen(dt_map *map) {
    size_t room = map->room ? map->room * 2 : 64;
    dt_map wider = {calloc(room, sizeof(uint64_t)), malloc(room * sizeof(uint32_t)), map->count, room};
    if (!wider.keys || !wider.values) {
        dt_map_free(&wider);
        return false;
    }
    for (size_t i = 0; i < map->room; i++) {
        if (!map->keys[i]) continue;
        size_t slot = dt_map_slot(&wider, map->keys[i]);
        wider.keys[slot] = map->keys[i];
        wider.values[slot] = map->values[i];
    }
    free(map->keys);
    free(map->values);
    *map = wider;
    return true;
}

/* false: no memory. */
static inline bool dt_map_put(dt_map *map, uint64_t key, uint32_t value) {
    if ((map->count + 1) * 2 > map->room && !dt_map_widen(map)) return false;
    size_t slot = dt_map_slot(map, key);
    if (!map->keys[slot]) map->count++;
    map->keys[slot] = key;
    map->values[slot] = value;
    return true;
}

/* Does something within `reach` of x lie in the cell d (-1, 0 or 1) beside that of x? */
static inline bool dt_cell_reaches(double x, double cell, double reach, int d) {
    return d == 0 || floor((x + d * reach) / cell) != floor(x / cell);
}

/* The key of the cell of a square grid that holds (x, y), or of one beside it. */
static inline uint64_t dt_cell_key(double x, double y, double cell, int dx, int dy) {
    uint64_t column = (uint32_t)((int64_t)floor(x / cell) + dx), row = (uint32_t)((int64_t)floor(y / cell) + dy);
    return (column << 32 | row) + 1;
}

#endif
