/* A hash table from 64-bit keys to running numbers. The mixing step is the finaliser of splitmix64 (Steele, Lea and Flood,
 * Fast splittable pseudorandom number generators, 2014). */
#include "keys.h"

#include <stdlib.h>

#define NOTHING UINT32_MAX

bool dt_keys_init(dt_keys *keys, size_t most) {
    *keys = (dt_keys){.room = 16};
    while (keys->room < 2 * most) keys->room *= 2;
    keys->keys = malloc(keys->room * sizeof *keys->keys);
    keys->numbers = malloc(keys->room * sizeof *keys->numbers);
    if (!keys->keys || !keys->numbers) return false;
    for (size_t i = 0; i < keys->room; i++) keys->numbers[i] = NOTHING;
    return true;
}

void dt_keys_free(dt_keys *keys) {
    free(keys->keys);
    free(keys->numbers);
    *keys = (dt_keys){0};
}

static uint64_t mix(uint64_t key) {
    key = (key ^ (key >> 30)) * 0xbf58476d1ce4e5b9u;
    key = (key ^ (key >> 27)) * 0x94d049bb133111ebu;
    return key ^ (key >> 31);
}

uint32_t dt_keys_number(dt_keys *keys, uint64_t key, bool *fresh) {
    size_t at = mix(key) & (keys->room - 1);
    while (keys->numbers[at] != NOTHING && keys->keys[at] != key) at = (at + 1) & (keys->room - 1);
    bool is_new = keys->numbers[at] == NOTHING;
    if (is_new) {
        keys->keys[at] = key;
        keys->numbers[at] = keys->count++;
    }
    if (fresh) *fresh = is_new;
    return keys->numbers[at];
}
