/* pieces.h - the pieces of a puzzle, their seams and their measures.
 *
 * Vocabulary (see also lines.h): a PIECE is a bounded face that is neither a void nor a tray. A SEAM is a connected
 * stretch of cut line with the same two pieces (or one piece and the outside, or one piece and a void) on its sides,
 * ending at junctions; a SIDE is a seam seen from one of its pieces. Indices count from 0 in reading order; the number
 * a maker sees is index + 1.
 *
 *      piece 0 |           seam.path runs so that piece `a` has it in its own walking direction (a's outline has
 * positive
 *     ----->---+---->      area: clockwise as seen, see geom.h); b's outline walks it reversed.
 *      seam    | piece 1
 *
 * Invariants (dt_pieces_check tests them all):
 *  1. the sides of a piece, in order, make up its outline and its holes exactly, each closed;
 *  2. every seam is a side of a exactly once and of b exactly once; a < b; a seam has a = b never;
 *  3. areas of pieces, voids and slivers add up to the area inside the outside rings;
 *  4. perimeters add up to the border plus twice the inner seams;
 *  5. inside lies inside the piece and in no hole.
 */
#ifndef DOVETELL_PIECES_H
#define DOVETELL_PIECES_H

#include <dovetell/lines.h>

typedef struct dt_piece_id { uint32_t v; } dt_piece_id;
typedef struct dt_seam_id { uint32_t v; } dt_seam_id;

#define DT_OUTSIDE ((dt_piece_id){UINT32_MAX})        /* as seam.b: beyond the border of the puzzle (or the tray) */
#define DT_IN_VOID ((dt_piece_id){UINT32_MAX - 1})    /* as seam.b: a void */
#define DT_IS_PIECE(id) ((id).v < UINT32_MAX - 1)

typedef struct dt_seam {
    dt_piece_id a, b;       /* a < b in value; b may be DT_OUTSIDE or DT_IN_VOID */
    dt_path path;           /* from junction to junction; a closed seam does not repeat its first point */
    bool closed;            /* the seam is a whole ring without junction (an island in a hole) */
    double length;          /* mm */
    uint32_t from, to;      /* junctions, as node indices of the net; equal for a closed seam */
} dt_seam;

typedef struct dt_side {
    dt_seam_id seam;
    bool reversed;          /* the piece walks the seam backwards */
    size_t start,
        count; /* points [start, start + count) of its ring, cyclic, count includes both ends of an open side */
    uint32_t ring;          /* 0 = outline, h = hole h - 1 */
} dt_side;

typedef struct dt_neck {
    double width_mm;        /* INFINITY when nothing splits the piece in two (a disc, a square) */
    dt_point at;            /* middle of the narrowest place */
} dt_neck;

typedef struct dt_piece {
    dt_path outline;        /* closed, positive area */
    const dt_path *holes;   /* closed, negative area */
    size_t hole_count;
    const dt_side *sides;   /* outline first, then the holes, each in walking order */
    size_t side_count;
    dt_box box;
    dt_point inside;        /* centre of the largest inscribed circle */
    double inradius_mm;
    double area_mm2, perimeter_mm;   /* perimeter with the holes' borders */
    double length_mm, width_mm;      /* smallest enclosing rectangle */
    dt_neck neck;
    bool edge, corner, whimsy;       /* corner: only where the border turns outwards */
    bool small_part;        /* fits the small-parts cylinder of 16 CFR 1501.4 / EN 71-1 in some pose */
    uint32_t colour;        /* 0xRRGGBB from the drawing's fills, or DT_NO_COLOUR */
    uint32_t puzzle;        /* connected group of pieces, from 0 in reading order */
    const char *name;       /* id of the closed stroke that bounds it alone, or "" */
} dt_piece;

typedef struct dt_void {
    dt_point inside;
    double area_mm2;
    dt_path outline;        /* closed, positive area */
} dt_void;

typedef struct dt_pieces dt_pieces;

/* Finds the pieces of a net. Uses thickness_mm, material and kerf_mm. strokes are those that made the net (for layers,
 * names, closed figures, fills); may be empty (then no voids, whimsies or colours). DT_NO_PIECES when only voids are
 * there; DT_TOO_LARGE with a sentence for a piece with more than 20,000 points along its outline. */
dt_status dt_pieces_new(const dt_net *net, dt_strokes strokes, const dt_settings *settings, dt_pieces **out,
                        dt_error *error);
void dt_pieces_free(dt_pieces *pieces);

size_t dt_pieces_count(const dt_pieces *pieces);
const dt_piece *dt_pieces_get(const dt_pieces *pieces, dt_piece_id id);
size_t dt_pieces_seam_count(const dt_pieces *pieces);
const dt_seam *dt_pieces_seam(const dt_pieces *pieces, dt_seam_id id);
size_t dt_pieces_void_count(const dt_pieces *pieces);
const dt_void *dt_pieces_void(const dt_pieces *pieces, size_t index);
size_t dt_pieces_puzzle_count(const dt_pieces *pieces);
size_t dt_pieces_whimsy_count(const dt_pieces *pieces); /* figures: a group of pieces in one figure counts once */
size_t dt_pieces_tray_count(const dt_pieces *pieces);
dt_box dt_pieces_box(const dt_pieces *pieces);           /* of the finished puzzle(s) */
/* The other piece of a side (or DT_OUTSIDE, DT_IN_VOID). */
dt_piece_id dt_pieces_across(const dt_pieces *pieces, dt_piece_id id, const dt_side *side);

/* Faults of the net and of the pieces (thin necks, close cuts ...), worst first; pieces[] hold piece indices. */
size_t dt_pieces_fault_count(const dt_pieces *pieces);
const dt_fault *dt_pieces_fault(const dt_pieces *pieces, size_t index);

/* Width below which a neck deserves a warning: 2 mm in plywood, 2.5 mm in acrylic (common practice; below 1 mm it
 * breaks, and a neck narrower than the sheet is thick deserves care). */
double dt_neck_limit_mm(dt_material material);

typedef struct dt_safe_width {
    size_t thin;          /* pieces whose neck is below the limit at the present width */
    double narrowest_mm;  /* of all necks; INFINITY when there is none */
    double width_mm; /* least --width that keeps every neck at or above the limit: 0 when there is no neck, INFINITY
                      * when a neck has no width at all */
} dt_safe_width;

/* How large must the whole be drawn so that all necks hold? width_mm = what the cut lines span now. Necks grow with the
 * drawing, so the answer may also be less than width_mm. O(pieces). */
dt_safe_width dt_pieces_safe_width(const dt_pieces *pieces, double width_mm, double limit_mm);

typedef struct dt_delicate_necks {
    size_t count;         /* pieces whose neck keeps the limit but is narrower than the sheet is thick */
    dt_piece_id narrowest; /* of those; the first of equal ones; DT_OUTSIDE when there is none */
} dt_delicate_necks;

/* Necks that are no fault but deserve care: a note, not a warning (common practice). O(pieces). */
dt_delicate_necks dt_pieces_delicate_necks(const dt_pieces *pieces, double thickness_mm, double limit_mm);

/* Tests the invariants above; a sentence for the first one broken, or NULL. */
const char *dt_pieces_check(const dt_pieces *pieces);

/* ---- measures that stand alone ---- */

/* Does a flat piece of this outline (closed) and thickness fit the small-parts cylinder in any pose? Source: 16 CFR
 * 1501.4; body and method in src/pieces. */
bool dt_small_part_fits(dt_path outline, double thickness_mm);
/* Narrowest width that separates two parts, each larger than a circle of that width: it holds a larger circle, or one
 * as large (to 0.05 mm) beyond the neck, as an even tab or bar does that is longer than wide. The bridge between a hole
 * and the outline, or between two holes, counts like any other (cutting it opens a ring). A part that holds no circle
 * of 0.5 mm is a crumb and no part. Fills width_mm and at. Exact on the polygon; near linear in its points. Errors:
 * DT_NO_MEMORY; DT_TOO_LARGE for an outline too ragged to be searched. Method in src/pieces/neck.c. */
dt_status dt_piece_neck(const dt_piece *piece, dt_neck *out);

#endif
