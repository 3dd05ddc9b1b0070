/* stroke_list.h - strokes that own their points: drafts taken apart, put together otherwise, and damaged on purpose. */
#ifndef DOVETELL_TESTS_STROKE_LIST_H
#define DOVETELL_TESTS_STROKE_LIST_H

#include "base/array.h"
#include <dovetell/lines.h>

typedef struct stroke_list {
    DT_ARRAY(dt_stroke) strokes;
} stroke_list;

/* A copy of the points as a new stroke at the end. */
void stroke_list_add(stroke_list *list, const dt_point *points, size_t count, bool closed);
void stroke_list_segment(stroke_list *list, dt_point a, dt_point b);
void stroke_list_copy(stroke_list *list, dt_strokes strokes);
void stroke_list_free(stroke_list *list);
dt_strokes stroke_list_view(const stroke_list *list);

/* The same lines in other forms: each face as closed outlines of its own (every seam twice), or each arc as a stroke.
 */
void stroke_list_outlines(stroke_list *list, const dt_net *net);
void stroke_list_arcs(stroke_list *list, const dt_net *net);

/* Laws: order, direction, place, and where a stroke is cut up must not matter. */
void stroke_list_shuffle(stroke_list *list, uint64_t *state);
void stroke_list_reverse(stroke_list *list, uint64_t *state); /* about half of them */
void stroke_list_split(stroke_list *list,
                       uint64_t *state); /* open ones, at one of their points; closed ones are opened */
void stroke_list_move(stroke_list *list, dt_pose pose);

/* The net of the strokes, checked; the test fails with the sentence when there is none. */
dt_net *stroke_list_net(const stroke_list *list, const dt_settings *settings);
dt_net *checked_net(dt_strokes strokes, const dt_settings *settings);

#endif
