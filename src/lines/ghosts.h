/* ghosts.h - stretches of strokes that were left out because another line runs there: see doubles.h. */
#ifndef DOVETELL_LINES_GHOSTS_H
#define DOVETELL_LINES_GHOSTS_H

#include "chains.h"
#include "geom/grid_index.h"

typedef struct dt_ghost {
    dt_point a, b;
    uint32_t stroke;
} dt_ghost;

typedef struct dt_ghosts {
    dt_ghost *items;
    size_t count, room;
    double reach_mm;  /* a ghost lies no farther than this from the line that took its place */
    dt_grid grid;     /* of items, once dt_ghosts_index was called */
} dt_ghosts;

/* False: no memory. */
bool dt_ghosts_index(dt_ghosts *ghosts);
void dt_ghosts_free(dt_ghosts *ghosts);
/* Does a line that ends at p going `ahead` (a unit vector) end there because of a ghost: on one, or beside one that it runs along? */
bool dt_ghosts_explain(const dt_ghosts *ghosts, dt_point p, dt_point ahead);

/* Gives each chain that ghosts run along (at two of three places or more) their strokes too, and drops every stroke from `most` up:
 * those of the cuts that closed gaps. DT_NO_MEMORY. */
dt_status dt_ghosts_adopt(const dt_ghosts *ghosts, uint32_t most, dt_chains *chains);

#endif
