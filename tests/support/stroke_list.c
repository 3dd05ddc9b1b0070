/* Strokes that own their points: see stroke_list.h. */
#include "stroke_list.h"

#include "draft.h"
#include <stdio.h>
#include <string.h>

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "stroke list: %s\n", what);
    abort();
}

static dt_point *points_of(dt_stroke *stroke) {
    union {
        const dt_point *seen;
        dt_point *owned;
    } points = {stroke->path.points};
    return points.owned;
}

void stroke_list_add(stroke_list *list, const dt_point *points, size_t count, bool closed) {
    dt_point *copy = malloc((count + 1) * sizeof *copy);
    demand(copy != NULL, "no memory");
    memcpy(copy, points, count * sizeof *copy);
    dt_stroke stroke = {.path = {copy, count}, .closed = closed, .lone = true, .name = "", .layer = "",
                        .line = (unsigned)list->strokes.count + 1};
    demand(dt_array_push(&list->strokes, stroke), "no memory");
}

void stroke_list_segment(stroke_list *list, dt_point a, dt_point b) {
    const dt_point ends[] = {a, b};
    stroke_list_add(list, ends, 2, false);
}

void stroke_list_copy(stroke_list *list, dt_strokes strokes) {
    for (size_t i = 0; i < strokes.count; i++) {
        const dt_stroke *from = &strokes.strokes[i];
        stroke_list_add(list, from->path.points, from->path.count, from->closed);
        dt_path path = list->strokes.items[list->strokes.count - 1].path;
        list->strokes.items[list->strokes.count - 1] = *from;
        list->strokes.items[list->strokes.count - 1].path = path;
    }
}

void stroke_list_free(stroke_list *list) {
    for (size_t i = 0; i < list->strokes.count; i++) free(points_of(&list->strokes.items[i]));
    dt_array_free(&list->strokes);
}

dt_strokes stroke_list_view(const stroke_list *list) {
    return (dt_strokes){list->strokes.items, list->strokes.count, NULL, 0};
}

static void add_ring(stroke_list *list, const dt_net *net, dt_ring ring) {
    DT_ARRAY(dt_point) points = {0};
    for (size_t i = 0; i < ring.count; i++) {
        dt_path path = dt_net_arc(net, ring.halves[i] / 2)->path;
        for (size_t k = 0; k + 1 < path.count; k++)
            demand(dt_array_push(&points, path.points[ring.halves[i] & 1 ? path.count - 1 - k : k]), "no memory");
    }
    stroke_list_add(list, points.items, points.count, true);
    dt_array_free(&points);
}

void stroke_list_outlines(stroke_list *list, const dt_net *net) {
    for (size_t f = 0; f < dt_net_face_count(net); f++) {
        const dt_face *face = dt_net_face(net, f);
        add_ring(list, net, face->outer);
        for (size_t h = 0; h < face->hole_count; h++) add_ring(list, net, face->holes[h]);
    }
}

void stroke_list_arcs(stroke_list *list, const dt_net *net) {
    for (size_t a = 0; a < dt_net_arc_count(net); a++) {
        dt_path path = dt_net_arc(net, a)->path;
        stroke_list_add(list, path.points, path.count, false);
    }
}

void stroke_list_shuffle(stroke_list *list, uint64_t *state) {
    for (size_t i = list->strokes.count; i > 1; i--) {
        size_t j = (size_t)(draft_random(state) * (double)i);
        dt_stroke other = list->strokes.items[j];
        list->strokes.items[j] = list->strokes.items[i - 1];
        list->strokes.items[i - 1] = other;
    }
}

void stroke_list_reverse(stroke_list *list, uint64_t *state) {
    for (size_t s = 0; s < list->strokes.count; s++) {
        dt_point *points = points_of(&list->strokes.items[s]);
        size_t count = list->strokes.items[s].path.count;
        if (draft_random(state) < 0.5) continue;
        for (size_t i = 0; i < count / 2; i++) {
            dt_point other = points[i];
            points[i] = points[count - 1 - i];
            points[count - 1 - i] = other;
        }
    }
}

static void open_stroke(dt_stroke *stroke) {
    dt_point *points = points_of(stroke);
    points[stroke->path.count] = points[0]; /* stroke_list_add left room */
    stroke->path.count++;
    stroke->closed = false;
}

void stroke_list_split(stroke_list *list, uint64_t *state) {
    size_t count = list->strokes.count;
    for (size_t s = 0; s < count; s++) {
        if (list->strokes.items[s].closed) open_stroke(&list->strokes.items[s]);
        dt_path path = list->strokes.items[s].path;
        size_t at = 1 + (size_t)(draft_random(state) * (double)(path.count - 1));
        if (at + 1 >= path.count) continue;
        stroke_list_add(list, path.points + at, path.count - at, false);
        list->strokes.items[s].path.count = at + 1;
    }
}

void stroke_list_move(stroke_list *list, dt_pose pose) {
    for (size_t s = 0; s < list->strokes.count; s++) {
        dt_point *points = points_of(&list->strokes.items[s]);
        for (size_t i = 0; i < list->strokes.items[s].path.count; i++) points[i] = dt_pose_apply(pose, points[i]);
    }
}

dt_net *checked_net(dt_strokes strokes, const dt_settings *settings) {
    dt_net *net = NULL;
    dt_error error = {0};
    if (dt_net_new(strokes, settings, &net, &error) != DT_OK) demand(false, error.message);
    const char *broken = dt_net_check(net);
    demand(broken == NULL, broken);
    return net;
}

dt_net *stroke_list_net(const stroke_list *list, const dt_settings *settings) {
    return checked_net(stroke_list_view(list), settings);
}
