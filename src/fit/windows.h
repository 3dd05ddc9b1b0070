/* windows.h - an index over the stretches of all outlines: which of them look like a given side?
 *
 * Vocabulary: a WALKER is a loop of a class's leader, upright or (where sheets have no face) turned over. A RUNG is a length;
 * rungs form a ladder, and a side is looked up by its middle part, as long as the longest rung that it covers. A WINDOW is the
 * stretch of a walker of one rung's length from one start; starts stand 1/32 of the rung apart, anywhere on the outline.
 * The KEY of a stretch: 16 points evenly along it, their first five cosine terms, turned so that the first is real. Parseval: the
 * distance of two keys is at most the root mean square distance of the points after the best shift, but for the turn.
 */
#ifndef DOVETELL_FIT_WINDOWS_H
#define DOVETELL_FIT_WINDOWS_H

#include "base/array.h"
#include "fit/stretch.h"
#include "geom/kdtree.h"

enum { DT_WINDOW_POINTS = 16, DT_WINDOW_TERMS = 5, DT_WINDOW_KEYS = 2 * DT_WINDOW_TERMS - 1 };

typedef struct dt_walker {
    uint32_t leader, ring;  /* ring 0 = outline */
    bool over;
    dt_loop loop;
} dt_walker;

typedef struct dt_window {
    uint32_t walker;
    float start;            /* mm along the walker's loop */
} dt_window;

typedef struct dt_rung {
    double length;
    dt_window *windows;
    float *keys;
    size_t count;
    size_t every;           /* 1 = a window from each grid point, 2 = from every other (very many walkers) */
    dt_kdtree tree;
} dt_rung;

enum { DT_MOST_RUNGS = 24 };

typedef struct dt_ladder {
    dt_rung rungs[DT_MOST_RUNGS]; /* ascending by length */
    size_t count;
} dt_ladder;

/* Builds the rungs that sides of these lengths need; lengths are sorted in place. */
dt_status dt_ladder_new(const dt_walker *walkers, size_t walker_count, double *lengths, size_t length_count, dt_arena *arena,
                        dt_ladder *out);
/* The longest rung no longer than length, or NULL. */
const dt_rung *dt_ladder_rung(const dt_ladder *ladder, double length);
/* Key of 16 points; *steady is |first term| over the rest: low = the turn of the key is shaky. */
void dt_window_key(const dt_point points[DT_WINDOW_POINTS], float key[DT_WINDOW_KEYS], double *steady);

#endif
