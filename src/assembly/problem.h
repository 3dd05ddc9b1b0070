/* problem.h - what is to be filled with what: the search's own view of a puzzle, free of drawings and files.
 *
 * Vocabulary: a TILE is a piece in its drawn place. A KIND is a class of alike tiles. A kind has one body, or two where pieces may
 * lie turned over and the mirror image is another shape. The CONTAINER is the body of all that lies outside the finished outline.
 * A REGION is one connected part of what is to be filled. A SYMMETRY maps the regions onto each other.
 *
 * Invariants: 1. bodies 0 .. body_count - 1 belong to kinds in order, the plain one before the mirrored; 2. home[i] carries the
 * plain body of tile i's kind to tile i's drawn place (flipped only where the tile is alike when turned over); 3. symmetry 0 is
 * the identity; the symmetries form a group unless symmetries_cut.
 */
#ifndef DOVETELL_ASSEMBLY_PROBLEM_H
#define DOVETELL_ASSEMBLY_PROBLEM_H

#include "assembly/settle.h"
#include <dovetell/settings.h>

#define DT_NONE UINT32_MAX

typedef struct dt_tile {
    dt_path outline;        /* closed, positive area */
    const dt_path *holes;   /* closed, negative area */
    size_t hole_count;
} dt_tile;

typedef struct dt_region {
    const dt_path *rings;   /* closed: the outline of positive area, then the voids of negative area */
    size_t ring_count;
} dt_region;

typedef struct dt_task {
    const dt_tile *tiles;
    size_t tile_count;
    const dt_region *regions;
    size_t region_count;
    bool held;              /* what surrounds the regions does not turn with them: only the identity is a symmetry */
    double play_mm;         /* how far a line may miss the line it meets */
    bool whole_play;        /* lines may miss each other by all of it and by what least squares add to it; else by half */
    bool two_sided;
    const uint32_t (*alike)[2]; /* pairs of tiles that may be alike; NULL = compare all */
    size_t alike_count;
} dt_task;

typedef struct dt_turns {
    dt_pose *poses;         /* proper motions; the identity first */
    size_t count;
    bool any;               /* a disc: any turn about its centre */
} dt_turns;

typedef struct dt_kind {
    uint32_t plain, mirrored; /* bodies; mirrored may be DT_NONE */
    uint32_t count;           /* tiles of this kind */
    dt_pose fold;             /* where mirrored is DT_NONE in a two-sided problem: carries the plain body onto its own image under x -> -x */
} dt_kind;

typedef struct dt_symmetry {
    dt_pose *poses;         /* per region: carries it onto region to[r] */
    uint32_t *to;
} dt_symmetry;

typedef struct dt_problem {
    dt_arena arena;
    dt_body *bodies;
    uint32_t *kind_of_body;
    dt_turns *turns;        /* per body: how it covers itself */
    uint32_t body_count, kind_count, tile_count, region_count;
    dt_kind *kinds;
    uint32_t *kind_of_tile;
    dt_pose *home;
    dt_body container;
    dt_body *regions;       /* the outside of each region alone */
    dt_symmetry *symmetries;
    uint32_t symmetry_count;
    bool symmetries_cut;    /* there are more than could be listed */
    bool held;              /* as in the task */
    bool round;             /* one region, a disc without voids: it has every turn */
    bool two_sided;
    double play, seat, loose; /* mm: of the maker; a border that fits; an overlap that is none yet */
    double alike;             /* mm: bodies nearer than this are one kind */
    double narrowest;         /* corner of any piece, radians */
    double area;              /* of all regions, mm^2 */
} dt_problem;

/* mm that lines which fit may miss each other by, for a play. */
double dt_seat_of(double play_mm);

/* DT_NO_MEMORY, DT_BAD_ARGUMENT (no tiles). The task may go once the problem is made. */
dt_status dt_problem_new(const dt_task *task, dt_problem **out);
void dt_problem_free(dt_problem *problem);

/* All proper motions that carry a onto b within `tolerance`, at most `most` (cut says whether there were more). any: b is a disc. */
bool dt_congruences(const dt_body *a, const dt_body *b, double tolerance, dt_arena *arena, dt_turns *out);

/* The tile's pose as a body in its place: *body is the plain or mirrored body. */
dt_pose dt_problem_home(const dt_problem *problem, uint32_t tile, uint32_t *body);

#endif
