/* catalogue.h - every place that a piece can have in any assembly, where these are few and lie clearly apart.
 *
 * Vocabulary: a STATION is a body in a pose. Whatever fills the corner of a gap has a corner there and one of its lines
 * along the line of a piece (or of the outline) that has a corner there, too. So the stations are what this rule gives
 * from the corners of the outline, from those of the stations found, and so on until nothing new comes: then every
 * assembly is made of stations alone.
 *
 * The catalogue is SURE where all of that is clear: lines are straight, no two stations of a body nearly coincide, none
 * nearly sticks out. How clear: lines that meet may miss each other by a seat and stations that nearly coincide are
 * taken for one, so a piece of an assembly lies off its station by at most that much for each piece between it and the
 * outline, which are at most half of all on the nearer way. Two stations (or an edge and a point) closer than twice
 * that are not told apart, and the catalogue is not sure.
 */
#ifndef DOVETELL_ASSEMBLY_CATALOGUE_H
#define DOVETELL_ASSEMBLY_CATALOGUE_H

#include "assembly/figures.h"
#include "assembly/map.h"
#include "assembly/problem.h"
#include "base/array.h"

enum { DT_MOST_STATIONS = 4096 };

typedef struct dt_station {
    uint32_t body, chain;
    dt_pose pose;
    dt_point centre;
    dt_box box;
} dt_station;

typedef struct dt_catalogue {
    const dt_problem *problem;
    dt_arena arena;
    dt_figure *figures; /* per body, then the container */
    DT_ARRAY(dt_station) stations;
    dt_map by_centre, spots_by_point, rays;
    DT_ARRAY(dt_point) spots;
    DT_ARRAY(dt_point) directions;
    DT_ARRAY(uint32_t) spot_chain;
    uint32_t tried;     /* poses */
    double near, apart; /* mm: taken for one; told apart */
    bool sure;
} dt_catalogue;

/* false: no memory; the catalogue can be freed in any case. */
bool dt_catalogue_make(const dt_problem *problem, dt_catalogue *out);
void dt_catalogue_free(dt_catalogue *catalogue);

/* The station of a body at a pose, or DT_NONE. Where another lies too near to be told apart the catalogue is no longer
 * sure. */
uint32_t dt_catalogue_find(dt_catalogue *catalogue, uint32_t body, dt_pose pose);

/* mm: what lines that meet may overlap by at their stations; more is doubtful. */
double dt_catalogue_touch(const dt_catalogue *catalogue);

#endif
