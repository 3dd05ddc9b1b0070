/* windows.h - an index over the stretches of all outlines: which of them look like a given side?
 *
 * Vocabulary: a WALKER is a loop of a class's leader, upright or (where sheets have no face) turned over. A RUNG is a length;
 * rungs form a ladder, and a side is looked up by its middle part, as long as the longest rung that it covers. A WINDOW is the
 * stretch of a walker of one rung's length from one start; starts stand 1/32 of the rung apart or a little more, anywhere on the outline.
 * The KEY of a stretch: 16 points evenly along it, their first five cosine terms, turned so that the first is real. Parseval: the
 * distance of two keys is at most the root mean square distance of the points after the best shift, but for the turn.
 */
#ifndef DOVETELL_FIT_WINDOWS_H
#define DOVETELL_FIT_WINDOWS_H

#include "base/array.h"
#include "fit/stretch.h"
#include "geom/kdtree.h"
#include <math.h>

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

/* Four windows side by side, so that a processor takes them in one. */
typedef float dt_four __attribute__((vector_size(16)));
typedef int dt_lanes __attribute__((vector_size(16)));
typedef struct dt_window_four {
    dt_four key[DT_WINDOW_KEYS], square; /* sum of the key's squares */
} dt_window_four;

/* Windows of four blocks, which follow each other: the middle window of each, and how far its others are from it, as `off` of dt_look has
 * it, but not squared. Turns aside, keys have a distance like points of a plane: what is farther than that from the middle and from
 * what is looked for besides is out of reach. */
enum { DT_WINDOWS_IN_BLOCK = 4 };
typedef struct dt_window_block_four {
    dt_window_four middle;
    dt_four radius;
} dt_window_block_four;

typedef struct dt_rung {
    double length;
    dt_window *windows;
    float *keys;
    dt_window_four *fours;  /* NULL where there is a tree */
    dt_window_block_four *blocks;
    size_t count;
    size_t every;           /* a window from each grid point, or from every so many-th */
    dt_kdtree tree;         /* count 0: none was wanted */
} dt_rung;

enum { DT_MOST_RUNGS = 24 };

typedef struct dt_ladder {
    dt_rung rungs[DT_MOST_RUNGS]; /* ascending by length */
    size_t count;
    size_t looks;                 /* windows that would be looked at if each side went over all of its rung */
    bool has_trees;
} dt_ladder;

/* What an index is made of. */
typedef struct dt_ladder_plan {
    const dt_walker *walkers;
    size_t walker_count;
    double *lengths;        /* of the sides that will be looked up; sorted in place */
    size_t length_count;
    double least_step;      /* mm: windows need not stand nearer than this */
    size_t workers;         /* how many build it */
    size_t most_looks;      /* with no more windows times sides than this a look goes over all windows, and no trees are built */
} dt_ladder_plan;

/* Builds the rungs that sides of these lengths need. */
dt_status dt_ladder_new(const dt_ladder_plan *plan, dt_arena *arena, dt_ladder *out);
/* mm from window to window. */
double dt_rung_step(const dt_rung *rung);
/* The longest rung no longer than length, or NULL. */
const dt_rung *dt_ladder_rung(const dt_ladder *ladder, double length);
/* A window that may hold a stretch like the one looked for. */
typedef struct dt_look {
    float off;              /* mean square distance after the best shift and turn, as far as keys tell: never more than the true one but
                               for rounding */
    uint32_t window;
} dt_look;
/* The windows of a rung whose `off` is no more than `most`, ascending, into found (room for all). Only on ladders without trees. */
size_t dt_rung_look(const dt_rung *rung, const float key[DT_WINDOW_KEYS], float most, dt_look *found);

/* Key of 16 points; *steady is |first term| over the rest: low = the turn of the key is shaky. */
void dt_window_key(const dt_point points[DT_WINDOW_POINTS], float key[DT_WINDOW_KEYS], double *steady);

#endif
