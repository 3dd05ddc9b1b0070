/* notes.h - what the reader has to tell the maker besides the strokes. */
#ifndef DOVETELL_DRAWING_NOTES_H
#define DOVETELL_DRAWING_NOTES_H

#include "base/arena.h"
#include "base/array.h"
#include "drawing/xml.h"
#include <dovetell/drawing.h>

enum { NOTES_MOST = 200 }; /* kept; the rest is counted */

typedef struct notes {
    dt_arena *arena; /* holds the texts */
    DT_ARRAY(dt_note) list;
    size_t more; /* that were not kept */
} notes;

/* A few words of the draft, cut short and fit to be read. */
typedef struct words {
    char text[128];
} words;
words notes_excerpt(const char *text);
/* How an element is called in a note: stroke "wing-3", group "wings", or just stroke. */
words notes_title(const element *e);

/* line 0: the drawing as a whole. The same note is kept once. Without memory the note is only counted. */
void notes_add(notes *n, unsigned line, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* The same of a stroke that was not read as drawn. */
void notes_add_lost(notes *n, unsigned line, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* What was noted since there were `before` notes is of no line that is cut: nothing was lost. */
void notes_excuse(notes *n, size_t before);
/* Appends the notes of another list, whose arena lives as long. */
void notes_append(notes *n, const notes *more);
/* Says at the end how many notes were not kept, if any. */
void notes_finish(notes *n);
void notes_free(notes *n);

#endif
