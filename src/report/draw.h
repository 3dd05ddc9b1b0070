/* draw.h - pieces as SVG, the one drawing language of picture, page and tag.
 *
 * Everything is in the draft's own millimetres; whoever draws sets viewBox or transform around it. Shapes carry
 * classes, no colours: draw_style writes the colours for a file that stands alone, the page has its own sheet for light
 * and dark.
 *
 *   class  what                                  class  what
 *   t0-t5  a piece in one of six tints           v      a void
 *   n      number of a piece                     w      border of a whimsy
 *   f      ring round a fault                    fn     its number
 *   o      lines that bound no piece
 *   tw     border of a twin                      tl     its letter
 *   m0-m5  a piece that lies elsewhere in another  still  round pieces that lie as drawn beside those
 *          assembly, in one of six colours that colour-blind people can tell apart (Okabe and Ito, Color Universal
 * Design, 2008; a little lighter, for dark numbers on them)
 *   over-1 stripes over such a piece, over-2 dots: where there are more pieces than colours. Marks turn with the piece
 */
#ifndef DOVETELL_REPORT_DRAW_H
#define DOVETELL_REPORT_DRAW_H

#include <dovetell/graph.h>
#include <dovetell/text.h>

enum {
    DRAW_TINTS = 6,
    DRAW_MOVED_COLOURS = 6,
    DRAW_MOVED_MARKS = 3, /* none, stripes, dots */
    DRAW_EXACT_PIECES = 400 /* up to here the drawing follows the outlines to 0.01 mm */
};

typedef struct draw_plan draw_plan;

/* Prepares pieces for drawing: simplifies each seam once (so that neighbours still share their border exactly) to
 * within a hundredth of a millimetre for a few hundred pieces, coarser for thousands; and gives neighbours different
 * tints (greedy colouring in smallest-last order: Matula and Beck, J. ACM 30, 1983; six tints are enough for a planar
 * graph). The pieces must outlive the plan. NULL when memory runs out. Near linear in the points. */
draw_plan *draw_plan_new(const dt_pieces *pieces, const dt_graph *graph);
/* The same with borders simplified to within tolerance_mm, for a small picture. */
draw_plan *draw_plan_new_coarse(const dt_pieces *pieces, const dt_graph *graph, double tolerance_mm);
void draw_plan_free(draw_plan *plan);

unsigned draw_tint(const draw_plan *plan, dt_piece_id id); /* 0..DRAW_TINTS-1 */
/* Height of the piece's number in mm, so that it fits well inside; 0 where it would be too small to read. */
double draw_number_height(const dt_piece *piece, dt_piece_id id);

/* Path data (the value of `d`): rounded to 0.01 mm, relative, closed. */
void draw_piece_data(const draw_plan *plan, dt_piece_id id, dt_text *out);
void draw_seam_data(const draw_plan *plan, dt_seam_id id, dt_text *out);
void draw_ring_data(dt_path path, bool closed, dt_text *out);
void draw_pose(dt_pose pose, dt_text *out); /* the value of `transform` */

/* Elements. All pieces in order of their numbers, so that the index of the element is that of the piece; then the
 * voids. */
void draw_pieces(const draw_plan *plan, dt_text *out);
void draw_numbers(const draw_plan *plan, dt_text *out);
void draw_loose(const dt_net *net,
                dt_text *out); /* strays, tails and seams that stop short; nothing where there are none */
void draw_marker(dt_point at, double radius, size_t number, dt_text *out); /* a ring and its number */

/* The stripes and dots that over-1 and over-2 are filled with, one to each spacing_mm. */
void draw_moved_marks(double spacing_mm, dt_text *out);
/* <style> with the colours of a file that stands alone. */
void draw_style(dt_text *out);

#endif
