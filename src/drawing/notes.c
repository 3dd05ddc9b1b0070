/* What the reader has to tell the maker. */
#include "drawing/notes.h"

#include <dovetell/text.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { LONGEST_NOTE = 400, LONGEST_EXCERPT = 24 };

words notes_excerpt(const char *text) {
    words w;
    dt_text plain = DT_TEXT_EMPTY;
    dt_text_add_plain(&plain, text, LONGEST_EXCERPT);
    snprintf(w.text, sizeof w.text, "%s", plain.bytes && !plain.failed ? plain.bytes : "");
    dt_text_free(&plain);
    return w;
}

words notes_title(const element *e) {
    const char *id = element_value(e, WORD_ID), *kind = tag_kind_of((tag)e->tag) == TAG_IS_SHAPE ? "stroke" : "group";
    words w;
    if (id && *id)
        snprintf(w.text, sizeof w.text, "%s \"%.110s\"", kind, notes_excerpt(id).text);
    else
        snprintf(w.text, sizeof w.text, "%s", kind);
    return w;
}

static bool is_known(const notes *n, unsigned line, const char *text) {
    for (size_t i = 0; i < n->list.count; i++)
        if (n->list.items[i].line == line && strcmp(n->list.items[i].text, text) == 0) return true;
    return false;
}

static void keep(notes *n, unsigned line, const char *text, bool lost) {
    char *copy = dt_arena_copy(n->arena, text, strlen(text));
    if (!copy || !dt_array_push(&n->list, ((dt_note){line, copy, lost}))) n->more++;
}

static void add(notes *n, unsigned line, bool lost, const char *format, va_list arguments) {
    if (n->list.count >= NOTES_MOST) {
        n->more++;
        return;
    }
    char text[LONGEST_NOTE];
    vsnprintf(text, sizeof text, format, arguments);
    if (!is_known(n, line, text)) keep(n, line, text, lost);
}

void notes_add(notes *n, unsigned line, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    add(n, line, false, format, arguments);
    va_end(arguments);
}

void notes_add_lost(notes *n, unsigned line, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    add(n, line, true, format, arguments);
    va_end(arguments);
}

void notes_excuse(notes *n, size_t before) {
    for (size_t i = before; i < n->list.count; i++) n->list.items[i].lost = false;
}

void notes_append(notes *n, const notes *more) {
    for (size_t i = 0; i < more->list.count; i++) {
        const dt_note *note = &more->list.items[i];
        (note->lost ? notes_add_lost : notes_add)(n, note->line, "%s", note->text);
    }
    n->more += more->more;
}

void notes_finish(notes *n) {
    char text[LONGEST_NOTE];
    if (n->more == 0) return;
    snprintf(text, sizeof text, "%zu more notes of this kind are not listed", n->more);
    keep(n, 0, text, false);
}

void notes_free(notes *n) {
    dt_array_free(&n->list);
}
