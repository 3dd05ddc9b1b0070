/* What the reader has to tell the maker. */
#include "drawing/notes.h"

#include <dovetell/text.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { LONGEST_NOTE = 400 };

static bool is_known(const notes *n, unsigned line, const char *text) {
    for (size_t i = 0; i < n->list.count; i++)
        if (n->list.items[i].line == line && strcmp(n->list.items[i].text, text) == 0) return true;
    return false;
}

static void keep(notes *n, unsigned line, const char *text) {
    char *copy = dt_arena_copy(n->arena, text, strlen(text));
    if (!copy || !dt_array_push(&n->list, (dt_note){line, copy})) n->more++;
}

void notes_add(notes *n, unsigned line, const char *format, ...) {
    if (n->list.count >= NOTES_MOST) {
        n->more++;
        return;
    }
    char text[LONGEST_NOTE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (!is_known(n, line, text)) keep(n, line, text);
}

void notes_finish(notes *n) {
    char text[LONGEST_NOTE];
    if (n->more == 0) return;
    snprintf(text, sizeof text, "%zu more notes of this kind are not listed", n->more);
    keep(n, 0, text);
}

void notes_free(notes *n) {
    dt_array_free(&n->list);
}
