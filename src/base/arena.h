/* arena.h - scratch memory of a stage, released at once.
 *
 * An arena hands out zeroed memory, aligned for any type, in chunks that double in size up to 1 MiB. Nothing is freed
 * before dt_arena_free. A limit bounds what a hostile draft can make it take. Invariant: used <= limit.
 */
#ifndef DOVETELL_BASE_ARENA_H
#define DOVETELL_BASE_ARENA_H

#include <stddef.h>

typedef struct dt_arena {
    struct dt_chunk *chunks;
    size_t used, limit;
} dt_arena;

#define DT_ARENA(limit_bytes) {NULL, 0, (limit_bytes)}

/* count objects of size bytes, zeroed; NULL when memory or the limit is exhausted, or count * size overflows. A count
 * of 0 gives a valid address. */
void *dt_arena_take(dt_arena *arena, size_t count, size_t size);
/* A copy of length bytes of text, zero-terminated. */
char *dt_arena_copy(dt_arena *arena, const char *text, size_t length);
void dt_arena_free(dt_arena *arena);

#define DT_TAKE(arena, count, type) ((type *)dt_arena_take((arena), (count), sizeof(type)))

#endif
