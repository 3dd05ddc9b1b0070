/* Reading order. Pieces are taken by the top of their boxes into bands of half a typical piece: a band opens at the highest
 * top that is left and takes every top within it; within a band they go from left to right. Bands thus fall where rows
 * begin, not on a fixed ruling that a row might straddle. Tops and lefts that differ by less than the noise of a drawing count as equal. */
#include "stage.h"

#include <math.h>

#define SAME_PLACE_MM 0.01 /* ten steps of the net's grid: what redrawing moves a line by */
#define BAND_SLACK 1.001   /* a row drawn exactly half a piece lower must not fall either way by rounding */

typedef struct entry {
    double top, left;
    dt_point centroid;
    uint32_t face;
} entry;

static int compare_numbers(double a, double b) {
    return (a > b) - (a < b);
}

static int compare_tops(const void *left, const void *right) {
    const entry *a = left, *b = right;
    int order = compare_numbers(a->top, b->top);
    return order ? order : compare_numbers(a->face, b->face);
}

static int compare_lefts(const void *left, const void *right) {
    const entry *a = left, *b = right;
    int order = compare_numbers(a->left, b->left);
    if (!order) order = compare_numbers(a->top, b->top);
    return order ? order : compare_numbers(a->face, b->face);
}

/* Within a run of equal lefts: by top, then by the middle. */
static int compare_run(const void *left, const void *right) {
    const entry *a = left, *b = right;
    int order = fabs(a->top - b->top) > SAME_PLACE_MM ? compare_numbers(a->top, b->top) : 0;
    if (!order) order = compare_numbers(a->centroid.x, b->centroid.x);
    if (!order) order = compare_numbers(a->centroid.y, b->centroid.y);
    return order ? order : compare_numbers(a->face, b->face);
}

static void sort_band(entry *band, size_t count) {
    qsort(band, count, sizeof *band, compare_lefts);
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i + 1; end < count && band[end].left - band[end - 1].left <= SAME_PLACE_MM;) end++;
        qsort(band + i, end - i, sizeof *band, compare_run);
    }
}

static int compare_areas(const void *left, const void *right) {
    const double *a = left, *b = right;
    return compare_numbers(*a, *b);
}

static double typical_size(double *areas, size_t count) {
    qsort(areas, count, sizeof *areas, compare_areas);
    return sqrt(areas[count / 2]);
}

static void sort_entries(entry *entries, size_t count, double band_height) {
    qsort(entries, count, sizeof *entries, compare_tops);
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i + 1; end < count && entries[end].top - entries[i].top <= band_height * BAND_SLACK;) end++;
        sort_band(entries + i, end - i);
    }
}

static void give_numbers(stage *s, const entry *entries, size_t count) {
    s->result->box = DT_BOX_EMPTY;
    for (size_t i = 0; i < count; i++) {
        face_shape *shape = &s->shapes[entries[i].face];
        shape->piece = (uint32_t)i;
        s->shape_of[i] = entries[i].face;
        s->result->box = dt_box_join(s->result->box, shape->box);
        s->result->pieces[i] = (dt_piece){
            .outline = shape->rings[0].path, .holes = shape->holes, .hole_count = shape->ring_count - 1, .box = shape->box,
            .inside = shape->inside, .inradius_mm = shape->inradius, .area_mm2 = shape->area, .perimeter_mm = shape->perimeter,
            .colour = DT_NO_COLOUR, .name = ""};
    }
    s->result->piece_count = count;
}

dt_status stage_number(stage *s) {
    size_t count = 0;
    for (size_t f = 0; f < s->shape_count; f++) count += s->shapes[f].kind == FACE_PIECE;
    if (count == 0) return DT_OK;
    entry *entries = DT_TAKE(&s->scratch, count, entry);
    double *areas = DT_TAKE(&s->scratch, count, double);
    s->shape_of = DT_TAKE(&s->scratch, count, uint32_t);
    s->result->pieces = DT_TAKE(&s->result->arena, count, dt_piece);
    if (!entries || !areas || !s->shape_of || !s->result->pieces) return DT_NO_MEMORY;
    for (size_t f = 0, i = 0; f < s->shape_count; f++) {
        const face_shape *shape = &s->shapes[f];
        if (shape->kind != FACE_PIECE) continue;
        areas[i] = shape->area;
        entries[i++] = (entry){shape->box.low.y, shape->box.low.x, shape->centroid, (uint32_t)f};
    }
    sort_entries(entries, count, typical_size(areas, count) / 2);
    give_numbers(s, entries, count);
    return DT_OK;
}
