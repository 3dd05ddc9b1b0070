/* A counted text: see shared_text.h. */
#include "shared_text.h"

#include <stdatomic.h>
#include <stdlib.h>

struct shared_text {
    atomic_size_t holders;
    dt_text text;
};

shared_text *shared_text_new(dt_text *text) {
    shared_text *shared = text->failed || !text->bytes ? NULL : malloc(sizeof *shared);
    if (!shared) {
        dt_text_free(text);
        return NULL;
    }
    atomic_init(&shared->holders, 1);
    shared->text = *text;
    *text = (dt_text)DT_TEXT_EMPTY;
    return shared;
}

shared_text *shared_text_hold(shared_text *shared) {
    if (shared) atomic_fetch_add(&shared->holders, 1);
    return shared;
}

void shared_text_drop(shared_text *shared) {
    if (!shared || atomic_fetch_sub(&shared->holders, 1) != 1) return;
    dt_text_free(&shared->text);
    free(shared);
}

const char *shared_text_bytes(const shared_text *shared) {
    return shared->text.bytes;
}

size_t shared_text_length(const shared_text *shared) {
    return shared->text.length;
}
