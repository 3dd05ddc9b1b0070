/* A hash table from 64-bit keys to running numbers. The mixing step is the finaliser of splitmix64 (Steele, Lea and Flood,
 * Fast splittable pseudorandom number generators, 2014). */
#include "keys.h"

#include <stdlib.h>

void dt_keys_free(dt_keys *keys) {
    free(keys->keys);
    free(keys->numbers);
    *keys = (dt_keys){0};
}

static size_t mix(uint64_t key) {
    key = (key ^ (key >> 30)) * 0xbf58476d1ce4e5b9u;
    key = (key ^ (key >> 27)) * 0x94d049bb133111ebu;
    return (size_t)(key ^ (key >> 31));
}

/* Where key is, or the free place where it belongs. */
static size_t place_of(const dt_keys *keys, uint64_t key) {
    size_t at = mix(key) & (keys->room - 1);
    while (keys->numbers[at] != DT_NO_KEY && keys->keys[at] != key) at = (at + 1) & (keys->room - 1);
    return at;
}

static bool rebuild(dt_keys *keys, size_t room) {
    dt_keys grown = {malloc(room * sizeof(uint64_t)), malloc(room * sizeof(uint32_t)), room, keys->count};
    if (!grown.keys || !grown.numbers) {
        dt_keys_free(&grown);
        return false;
    }
    for (size_t i = 0; i < room; i++) grown.numbers[i] = DT_NO_KEY;
    for (size_t i = 0; i < keys->room; i++) {
        if (keys->numbers[i] == DT_NO_KEY) continue;
        size_t at = place_of(&grown, keys->keys[i]);
        grown.keys[at] = keys->keys[i];
        grown.numbers[at] = keys->numbers[i];
    }
    dt_keys_free(keys);
    *keys = grown;
    return true;
}

bool dt_keys_reserve(dt_keys *keys, size_t most) {
    if (most > SIZE_MAX / 64) return false;
    size_t room = keys->room ? keys->room : 64;
    while (room < 2 * most) room *= 2;
    return room == keys->room || rebuild(keys, room);
}

uint32_t dt_keys_number(dt_keys *keys, uint64_t key) {
    if (2 * (size_t)keys->count >= keys->room && !dt_keys_reserve(keys, (size_t)keys->count + 1)) return DT_NO_KEY;
    size_t at = place_of(keys, key);
    if (keys->numbers[at] == DT_NO_KEY) {
        keys->keys[at] = key;
        keys->numbers[at] = keys->count++;
    }
    return keys->numbers[at];
}

uint32_t dt_keys_find(const dt_keys *keys, uint64_t key) {
    return keys->room ? keys->numbers[place_of(keys, key)] : DT_NO_KEY;
}
