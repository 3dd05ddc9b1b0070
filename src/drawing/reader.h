/* reader.h - the state that the steps of reading share, and the figures that they hand on.
 *
 * A FIGURE is one drawn element (once for each time that it is used), with its curves in user units of the drawing and
 * what is known of it. Steps: bytes (source) -> elements (xml) -> figures (walk) -> strokes and fills in millimetres
 * (collect).
 */
#ifndef DOVETELL_DRAWING_READER_H
#define DOVETELL_DRAWING_READER_H

#include "drawing/notes.h"
#include "drawing/outline.h"
#include "drawing/style.h"
#include <dovetell/drawing.h>

typedef struct figure {
    range part; /* of the reader's outline */
    const char *name, *layer;
    uint32_t stroke, fill;
    unsigned line;
    dt_role role;
    bool stroked, filled, nonzero, dashed;
    bool only, skip; /* named by --only, --skip, but for its colour */
} figure;

/* Things that are drawn but cannot be cut. */
typedef struct uncut {
    size_t texts, images, others, clipped;
} uncut;

typedef struct reader {
    const char *name; /* of the draft, for messages */
    const dt_settings *settings;
    dt_arena scratch; /* the element tree and all that hangs on it */
    document doc;
    sheet *sheet;
    outline outline;
    DT_ARRAY(figure) figures;
    notes notes;
    notes sheet_notes; /* of style rules: the least of it, so they come last */
    uncut uncut;
    double width, height; /* of the viewport, user units of 1/96 inch; 0 = not given: the box of the lines says */
    bool physical;        /* the size was given in a physical unit */
    size_t visits, work;  /* elements walked, uses resolved; bytes of their values */
    dt_status status;     /* first failure; the error record has its sentence */
    dt_error *error;
    dt_arena kept; /* strings that the drawing keeps */
} reader;

/* Records the first failure. */
void reader_fail(reader *r, dt_status status, const char *format, ...) __attribute__((format(printf, 3, 4)));

/* Walks the tree and fills figures, notes and counts. */
void reader_walk(reader *r);

#endif
