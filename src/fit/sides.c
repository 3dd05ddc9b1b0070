/* Sides sorted into classes of equal shape, so that an ambiguous sheet is searched once for each shape and not once for each
 * side. Two sides are of one class when 32 points evenly along them lie within DT_SAME_MM after the best turn and shift. */
#include "fit/store.h"

#include <math.h>
#include <string.h>

static const uint32_t NO_CLASS = UINT32_MAX;
enum { KEYS = DT_WINDOW_KEYS + 1 };
static const double STEP_EYES = 0.5, LEAST_STEP_MM = 0.05;
static const double KEY_ROOM_MM = 0.02;  /* equal sides have keys this close: the same shape flattened elsewhere */

typedef struct sorter {
    dt_fit *fit;
    float *keys;             /* by open side, KEYS each */
    uint32_t *side_of;       /* by open side: entry */
    dt_point *even;          /* by open side, DT_COURSE_POINTS each, about their centre */
    dt_point *centre;
    size_t count;
    uint32_t leader;         /* open side */
} sorter;

double dt_fit_step(const dt_fit *fit) {
    return fmax(STEP_EYES * fit->eye, LEAST_STEP_MM);
}

dt_status dt_fit_side_path(const dt_fit *fit, uint32_t piece, uint32_t index, dt_arena *arena, dt_path *out) {
    const dt_side *side = &dt_pieces_get(fit->pieces, (dt_piece_id){piece})->sides[index];
    dt_path seam = dt_pieces_seam(fit->pieces, side->seam)->path;
    if (!side->reversed) {
        *out = seam;
        return DT_OK;
    }
    dt_point *points = DT_TAKE(arena, seam.count, dt_point);
    if (!points) return DT_NO_MEMORY;
    for (size_t i = 0; i < seam.count; i++) points[i] = seam.points[seam.count - 1 - i];
    *out = (dt_path){points, seam.count};
    return DT_OK;
}

static bool is_open(const dt_fit *fit, const dt_side_entry *entry) {
    dt_piece_id id = {entry->piece};
    const dt_side *side = &dt_pieces_get(fit->pieces, id)->sides[entry->index];
    const dt_seam *seam = dt_pieces_seam(fit->pieces, side->seam);
    return DT_IS_PIECE(dt_pieces_across(fit->pieces, id, side)) && !seam->closed && seam->length > 0.0;
}

static dt_status list_sides(dt_fit *fit) {
    fit->side_start = DT_TAKE(&fit->arena, fit->count + 1, uint32_t);
    if (!fit->side_start) return DT_NO_MEMORY;
    for (size_t i = 0; i < fit->count; i++)
        fit->side_start[i + 1] = fit->side_start[i] + (uint32_t)dt_pieces_get(fit->pieces, (dt_piece_id){(uint32_t)i})->side_count;
    fit->side_count = fit->side_start[fit->count];
    fit->sides = DT_TAKE(&fit->arena, fit->side_count, dt_side_entry);
    if (!fit->sides) return DT_NO_MEMORY;
    for (uint32_t i = 0; i < fit->count; i++)
        for (uint32_t s = fit->side_start[i]; s < fit->side_start[i + 1]; s++)
            fit->sides[s] = (dt_side_entry){.piece = i, .index = s - fit->side_start[i], .class_id = NO_CLASS,
                                            .to_class = DT_POSE_IDENTITY};
    return DT_OK;
}

static dt_status measure_side(void *context, size_t worker, size_t item) {
    sorter *w = context;
    uint32_t side = w->side_of[item];
    (void)worker;
    dt_arena scratch = DT_ARENA((size_t)16 << 20);
    dt_path path;
    dt_course course;
    dt_status status = dt_fit_side_path(w->fit, w->fit->sides[side].piece, w->fit->sides[side].index, &scratch, &path);
    if (status == DT_OK) status = dt_course_measure(path, &course);
    if (status != DT_OK) goto done;
    dt_point picked[DT_WINDOW_POINTS];
    double steady;
    for (int i = 0; i < DT_WINDOW_POINTS; i++) picked[i] = course.even[2 * i];
    dt_window_key(picked, w->keys + item * KEYS, &steady);
    w->keys[item * KEYS + DT_WINDOW_KEYS] = (float)course.length;
    memcpy(w->even + item * DT_COURSE_POINTS, course.even, sizeof course.even);
    w->centre[item] = course.centre;
done:
    dt_arena_free(&scratch);
    return status;
}

/* Carries side b's points onto side a's; the largest distance that remains. */
static double lay_even(const sorter *w, uint32_t a, uint32_t b, dt_pose *pose) {
    const dt_point *to = w->even + (size_t)a * DT_COURSE_POINTS, *from = w->even + (size_t)b * DT_COURSE_POINTS;
    double dot = 0.0, cross = 0.0, most = 0.0;
    for (int i = 0; i < DT_COURSE_POINTS; i++) {
        dot += dt_point_dot(from[i], to[i]);
        cross += dt_point_cross(from[i], to[i]);
    }
    double norm = hypot(dot, cross);
    *pose = norm > 0.0 ? (dt_pose){dot / norm, cross / norm, {0.0, 0.0}, false} : DT_POSE_IDENTITY;
    for (int i = 0; i < DT_COURSE_POINTS; i++) most = fmax(most, dt_point_distance(dt_pose_apply(*pose, from[i]), to[i]));
    pose->shift = dt_point_sub(w->centre[a], dt_pose_apply(*pose, w->centre[b]));
    return most;
}

static bool join_side(void *context, uint32_t item) {
    sorter *w = context;
    dt_side_entry *entry = &w->fit->sides[w->side_of[item]];
    if (entry->class_id != NO_CLASS) return true;
    dt_pose pose;
    if (lay_even(w, w->leader, item, &pose) > DT_SAME_MM) return true;
    entry->class_id = (uint32_t)w->fit->side_classes.count - 1;
    entry->to_class = item == w->leader ? DT_POSE_IDENTITY : pose;
    return true;
}

static dt_status group_sides(sorter *w, dt_arena *scratch) {
    dt_kdtree tree;
    dt_status status = dt_kdtree_new(w->keys, w->count, KEYS, scratch, &tree);
    for (w->leader = 0; w->leader < w->count && status == DT_OK; w->leader++) {
        if (w->fit->sides[w->side_of[w->leader]].class_id != NO_CLASS) continue;
        if (!dt_array_push(&w->fit->side_classes, (dt_side_class){.leader = w->side_of[w->leader]})) return DT_NO_MEMORY;
        dt_kdtree_find(&tree, w->keys + (size_t)w->leader * KEYS, (float)KEY_ROOM_MM, join_side, w);
    }
    return status;
}

dt_status dt_fit_sort_sides(dt_fit *fit) {
    dt_arena scratch = DT_ARENA((size_t)512 << 20);
    dt_status status = list_sides(fit);
    if (status != DT_OK) return status;
    sorter w = {.fit = fit, .keys = DT_TAKE(&scratch, fit->side_count * KEYS, float),
                .side_of = DT_TAKE(&scratch, fit->side_count, uint32_t),
                .even = DT_TAKE(&scratch, fit->side_count * DT_COURSE_POINTS, dt_point),
                .centre = DT_TAKE(&scratch, fit->side_count, dt_point)};
    if (!w.keys || !w.side_of || !w.even || !w.centre) status = DT_NO_MEMORY;
    for (uint32_t side = 0; side < fit->side_count && status == DT_OK; side++)
        if (is_open(fit, &fit->sides[side])) w.side_of[w.count++] = side;
    if (status == DT_OK) status = dt_workers_run(dt_fit_workers(fit, w.count), w.count, measure_side, &w);
    if (status == DT_OK) status = group_sides(&w, &scratch);
    dt_arena_free(&scratch);
    return status;
}
