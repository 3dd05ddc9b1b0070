/* stage.h - what the steps of the pieces stage share: the result under way, and scratch that dies with the stage.
 *
 * A SHAPE is a face of the net with its rings turned into points. Each ring starts at its junction with the least (y, x), or at
 * its point with the least (y, x) where no junction lies on it, and its first point is stored once more behind its last, so
 * that every stretch from junction to junction lies in one piece of memory: seam.path of its walking piece is seen there.
 */
#ifndef DOVETELL_PIECES_STAGE_H
#define DOVETELL_PIECES_STAGE_H

#include "base/arena.h"
#include "base/array.h"
#include <dovetell/pieces.h>

typedef enum face_kind { FACE_PIECE, FACE_VOID, FACE_TRAY } face_kind;

typedef struct shape_ring {
    dt_path path;           /* closed */
    uint32_t *halves;       /* of the net, from the one that begins at path.points[0] (or runs through it: closed seam) */
    size_t half_count;
    bool has_junction;
} shape_ring;

typedef struct face_shape {
    shape_ring *rings;      /* the outline first */
    size_t ring_count;
    dt_path *holes;         /* the paths of rings 1 .. */
    dt_box box;
    double area, perimeter;
    dt_point centroid;      /* of the outline */
    dt_point inside;
    double inradius;
    face_kind kind;
    uint32_t piece;         /* number once given, else DT_NO_INDEX */
} face_shape;

struct dt_pieces {
    dt_arena arena;
    dt_piece *pieces;
    size_t piece_count;
    DT_ARRAY(dt_seam) seams;
    dt_void *voids;
    size_t void_count;
    dt_fault *faults;
    size_t fault_count;
    size_t puzzle_count, whimsy_count;
    size_t tray_count;
    dt_box box;
    double net_area;        /* of all faces but the tray, as the net has them: for dt_pieces_check */
    double net_border, net_inner; /* length of arcs with a piece on one side, on both sides */
};

typedef struct stage {
    const dt_net *net;
    dt_strokes strokes;
    const dt_settings *settings;
    dt_error *error;
    dt_arena scratch;
    face_shape *shapes;          /* one for each face of the net */
    size_t shape_count;
    uint32_t *shape_of;     /* [piece] -> face */
    uint32_t *degree;       /* [node] arc ends */
    dt_fault *crossings;    /* of figures, from stage_names */
    size_t crossing_count;
    dt_pieces *result;
} stage;

static inline uint32_t half_face(const dt_net *net, uint32_t half) {
    const dt_arc *arc = dt_net_arc(net, half / 2);
    return half % 2 == 0 ? arc->left : arc->right;
}

static inline uint32_t half_start(const dt_net *net, uint32_t half) {
    const dt_arc *arc = dt_net_arc(net, half / 2);
    return half % 2 == 0 ? arc->from : arc->to;
}

static inline uint32_t half_end(const dt_net *net, uint32_t half) {
    return half_start(net, half ^ 1u);
}

/* Measures items 0 .. count - 1 on several threads, batch after batch. Within a batch each may do as much work as was left at its start,
 * so what is refused does not depend on the threads. *first is the first that failed. */
typedef dt_status measure_item(stage *s, size_t item, uint64_t *work);
dt_status stage_measure_all(stage *s, measure_item *measure, size_t count, size_t *first);

/* What lies on the face's side as a piece number, DT_OUTSIDE (beyond everything, or the tray) or DT_IN_VOID. */
dt_piece_id piece_of_face(const stage *s, uint32_t face);

/* The steps, in the order in which they run. All give DT_OK, DT_NO_MEMORY, or DT_TOO_LARGE with a sentence in error. */
dt_status stage_shapes(stage *s);   /* faces to rings of points, area, box, inside point */
dt_status stage_tray(stage *s);     /* marks the tray */
dt_status stage_voids(stage *s);    /* marks and lists the voids */
dt_status stage_number(stage *s);   /* pieces in reading order */
dt_status stage_seams(stage *s);    /* seams and sides */
dt_status stage_puzzles(stage *s);  /* connected groups, edge pieces */
dt_status stage_corners(stage *s);  /* corner pieces */
dt_status stage_names(stage *s);    /* names, whimsies */
dt_status stage_colours(stage *s);  /* fills */
dt_status stage_measures(stage *s); /* rectangle, neck, small part */
dt_status stage_faults(stage *s);   /* the net's, with pieces for faces, and thin necks */

#endif
