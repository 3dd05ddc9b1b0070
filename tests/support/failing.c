/* Failing allocations: see failing.h. */
#include "failing.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#ifdef WRAPPED_ALLOCATIONS

/* Stages work on several threads. */
static struct {
    atomic_size_t seen;
    size_t nth;
    bool lasting;
    atomic_long left;
} state;

void failing_begin(size_t nth, bool lasting) {
    state.seen = 0;
    state.nth = nth;
    state.lasting = lasting;
    state.left = 0;
}

size_t failing_end(void) {
    state.nth = 0;
    return state.seen;
}

long failing_left_over(void) {
    return state.left;
}

static bool fails(void) {
    size_t seen = atomic_fetch_add(&state.seen, 1) + 1;
    return state.nth && (seen == state.nth || (state.lasting && seen > state.nth));
}

static void *counted(void *memory) {
    state.left += memory != NULL;
    return memory;
}

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
char *__real_strdup(const char *text);
void __real_free(void *memory);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);
char *__wrap_strdup(const char *text);
void __wrap_free(void *memory);

void *__wrap_malloc(size_t size) {
    return fails() ? NULL : counted(__real_malloc(size));
}

void *__wrap_calloc(size_t count, size_t size) {
    return fails() ? NULL : counted(__real_calloc(count, size));
}

void *__wrap_realloc(void *memory, size_t size) {
    if (fails()) return NULL;
    void *grown = __real_realloc(memory, size);
    state.left += grown && !memory;
    return grown;
}

char *__wrap_strdup(const char *text) {
    return fails() ? NULL : counted(__real_strdup(text));
}

void __wrap_free(void *memory) {
    state.left -= memory != NULL;
    __real_free(memory);
}

#endif
