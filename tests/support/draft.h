/* draft.h - drafts made in memory for tests, benchmarks and the corpus: paths of lines and cubics in millimetres, as
 * strokes (flattened) or as SVG. All randomness is seeded: the same calls give the same bytes. */
#ifndef DOVETELL_TESTS_DRAFT_H
#define DOVETELL_TESTS_DRAFT_H

#include <dovetell/pieces.h>
#include <dovetell/text.h>

typedef struct draft draft;

draft *draft_new(void);
void draft_free(draft *d);

/* A new path begins; layer may be NULL. Names are borrowed. */
void draft_move(draft *d, dt_point p);
void draft_line(draft *d, dt_point p);
void draft_cubic(draft *d, dt_point c1, dt_point c2, dt_point p);
void draft_close(draft *d);
void draft_layer(draft *d, const char *layer, dt_role role); /* for the paths that follow */
void draft_name(draft *d, const char *name);                 /* for the next path */

/* Whole figures. */
void draft_segment(draft *d, double x1, double y1, double x2, double y2);
void draft_polyline(draft *d, const dt_point *points, size_t count, bool closed);
void draft_rectangle(draft *d, double x, double y, double width, double height);
void draft_circle(draft *d, double cx, double cy, double r);
/* A knobbed line from a to b: the knob bulges to the positive side (left of a -> b in axes with y down is negative)
 * when sign > 0. shape[6] in 0..1: place, stem, width, height, two wavinesses; 0.5 everywhere is the plain knob. */
void draft_knob(draft *d, dt_point a, dt_point b, int sign, const double shape[6]);

/* A rows x columns sheet of knobbed pieces, `size` mm each, straight outside border. Distinct: every seam gets its own
 * shape and jittered corners. Alike: all knobs are the plain knob, all pointing the same way (knobs right and down), no
 * jitter. */
void draft_knobbed_sheet(draft *d, unsigned rows, unsigned columns, double size, unsigned seed, bool alike);
/* Straight grid. */
void draft_straight_sheet(draft *d, unsigned rows, unsigned columns, double width, double height);

/* Adds the paths of another draft. */
void draft_append(draft *d, const draft *other);
/* Moves the end of the last line or curve to p (the curve's second handle follows). */
void draft_end_at(draft *d, dt_point p);

/* The same lines, drawn otherwise: paths in another order; each path backwards; each path cut into one path for each of
 * its lines and curves. Names, layers and closed figures survive the first two; only cut paths are split. */
void draft_shuffle(draft *d, unsigned seed);
void draft_reverse(draft *d);
void draft_split(draft *d);
/* A draft of polylines from strokes that were read. Names and layers are borrowed. */
draft *draft_of(dt_strokes strokes);

/* Applies a pose and a scale (first) to all that was drawn so far. */
void draft_transform(draft *d, dt_pose pose, double scale);

/* The draft as strokes; they belong to the draft and change with the next call. flatness in mm. */
dt_strokes draft_strokes(draft *d, double flatness_mm);
/* The box of all points, handles of curves included. */
dt_box draft_box(const draft *d);
/* The draft as an SVG file in mm whose viewport is the box of all paths with `margin` around. */
void draft_svg(draft *d, double margin, dt_text *out);
/* Net and pieces in one step; the test fails when it cannot be done. *net must outlive the pieces. */
dt_pieces *draft_pieces(draft *d, const dt_settings *settings, dt_net **net);

/* Uniform in [0, 1): a 64-bit linear congruential generator (Knuth, MMIX constants), upper bits. */
double draft_random(uint64_t *state);

#endif
