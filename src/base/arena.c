/* Scratch memory of a stage: see arena.h. */
#include "arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct dt_chunk {
    struct dt_chunk *next;
    size_t used, room;
    alignas(max_align_t) unsigned char bytes[];
};

enum { FIRST_CHUNK = 4096, LARGEST_CHUNK = 1 << 20 };

static struct dt_chunk *chunk_new(dt_arena *arena, size_t need) {
    size_t room = arena->chunks ? arena->chunks->room * 2 : FIRST_CHUNK;
    if (room > LARGEST_CHUNK) room = LARGEST_CHUNK;
    if (room < need) room = need;
    struct dt_chunk *chunk = calloc(1, sizeof *chunk + room);
    if (!chunk) return NULL;
    chunk->room = room;
    chunk->next = arena->chunks;
    arena->chunks = chunk;
    return chunk;
}

void *dt_arena_take(dt_arena *arena, size_t count, size_t size) {
    if (size != 0 && count > (SIZE_MAX / 2) / size) return NULL;
    size_t align = alignof(max_align_t);
    size_t need = (count * size + align - 1) / align * align;
    if (need > arena->limit - arena->used) return NULL;
    struct dt_chunk *chunk = arena->chunks;
    if (!chunk || chunk->room - chunk->used < need) chunk = chunk_new(arena, need);
    if (!chunk) return NULL;
    void *memory = chunk->bytes + chunk->used;
    chunk->used += need;
    arena->used += need;
    return memory;
}

char *dt_arena_copy(dt_arena *arena, const char *text, size_t length) {
    char *copy = dt_arena_take(arena, length + 1, 1);
    if (copy) memcpy(copy, text, length);
    return copy;
}

void dt_arena_free(dt_arena *arena) {
    for (struct dt_chunk *chunk = arena->chunks; chunk;) {
        struct dt_chunk *next = chunk->next;
        free(chunk);
        chunk = next;
    }
    arena->chunks = NULL;
    arena->used = 0;
}
