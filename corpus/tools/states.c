/* Draws the contiguous states of the USA as cut lines, from the TopoJSON files of the npm package us-atlas:
 *
 *     states states-10m.json MM_PER_UNIT up|down OUT.svg OUT.csv
 *
 * Each arc of the topology that bounds one of the 48 contiguous states or the District of Columbia becomes one path,
 * drawn once, so that a shared border is one line. OUT.csv lists a point inside each polygon of each state (mm, in the
 * drawing), to tell afterwards which piece belongs to which state. "up" turns y over (latitudes grow upwards).
 * TopoJSON: arcs are delta-encoded and scaled by the file's transform; an arc index i < 0 means arc ~i reversed. */
#include "base/array.h"
#include "draft.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct atlas {
    json_t *root;
    dt_point **arcs;
    size_t *counts, arc_count;
    bool *used;
} atlas;

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "states: %s\n", what);
    exit(2);
}

static double number(const json_t *array, size_t index) {
    return json_number_value(json_array_get(array, index));
}

/* Alaska, Hawaii and the territories, by FIPS code. */
static bool is_contiguous(const char *fips) {
    const char *const others[] = {"02", "15", "60", "66", "69", "72", "78"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(fips, others[i]) == 0) return false;
    return true;
}

static void decode_arcs(atlas *a, double mm, double y_sign) {
    json_t *transform = json_object_get(a->root, "transform"), *arcs = json_object_get(a->root, "arcs");
    json_t *scale = json_object_get(transform, "scale"), *shift = json_object_get(transform, "translate");
    a->arc_count = json_array_size(arcs);
    a->arcs = calloc(a->arc_count, sizeof *a->arcs);
    a->counts = calloc(a->arc_count, sizeof *a->counts);
    a->used = calloc(a->arc_count, sizeof *a->used);
    demand(a->arcs && a->counts && a->used, "no memory");
    for (size_t i = 0; i < a->arc_count; i++) {
        json_t *arc = json_array_get(arcs, i);
        size_t count = a->counts[i] = json_array_size(arc);
        demand((a->arcs[i] = calloc(count, sizeof(dt_point))) != NULL, "no memory");
        double x = 0, y = 0;
        for (size_t j = 0; j < count; j++) {
            x += number(json_array_get(arc, j), 0);
            y += number(json_array_get(arc, j), 1);
            a->arcs[i][j] = (dt_point){mm * (x * number(scale, 0) + number(shift, 0)),
                                       mm * y_sign * (y * number(scale, 1) + number(shift, 1))};
        }
    }
}

typedef DT_ARRAY(dt_point) ring_points;

static void append_arc(atlas *a, json_int_t index, ring_points *ring) {
    size_t arc = (size_t)(index < 0 ? ~index : index), count = a->counts[arc];
    a->used[arc] = true;
    for (size_t i = 0; i + 1 < count; i++) /* the last point is the next arc's first */
        demand(dt_array_push(ring, a->arcs[arc][index < 0 ? count - 1 - i : i]), "no memory");
}

/* The middle of the widest stretch inside the ring at a height near its middle. */
static dt_point point_inside(dt_path ring) {
    dt_box box = dt_box_of(ring);
    dt_point best = {NAN, NAN};
    double widest = 0;
    for (int row = 1; row < 40; row++) {
        double y = box.low.y + (box.high.y - box.low.y) * row / 40.0;
        for (int column = 0; column < 400; column++) {
            dt_point p = {box.low.x + (box.high.x - box.low.x) * column / 400.0, y};
            if (!dt_path_contains(ring, p)) continue;
            double room = dt_path_distance(ring, true, p);
            if (room > widest) widest = room, best = p;
        }
    }
    return best;
}

static void polygon(atlas *a, const json_t *rings, const char *name, dt_text *csv) {
    ring_points ring = {0};
    const json_t *outer = json_array_get(rings, 0);
    for (size_t i = 0; i < json_array_size(outer); i++)
        append_arc(a, json_integer_value(json_array_get(outer, i)), &ring);
    dt_point p = point_inside((dt_path){ring.items, ring.count});
    if (!isnan(p.x)) dt_text_addf(csv, "%s,%.4f,%.4f\n", name, p.x, p.y); /* Delaware has a speck without area */
    dt_array_free(&ring);
    for (size_t h = 1; h < json_array_size(rings); h++) {
        ring_points hole = {0};
        const json_t *arcs = json_array_get(rings, h);
        for (size_t i = 0; i < json_array_size(arcs); i++)
            append_arc(a, json_integer_value(json_array_get(arcs, i)), &hole);
        dt_array_free(&hole);
    }
}

static void states(atlas *a, dt_text *csv) {
    json_t *list = json_object_get(json_object_get(json_object_get(a->root, "objects"), "states"), "geometries");
    for (size_t i = 0; i < json_array_size(list); i++) {
        json_t *state = json_array_get(list, i), *arcs = json_object_get(state, "arcs");
        if (!is_contiguous(json_string_value(json_object_get(state, "id")))) continue;
        const char *name = json_string_value(json_object_get(json_object_get(state, "properties"), "name"));
        bool is_multi = strcmp(json_string_value(json_object_get(state, "type")), "MultiPolygon") == 0;
        if (!is_multi) polygon(a, arcs, name, csv);
        for (size_t j = 0; is_multi && j < json_array_size(arcs); j++) polygon(a, json_array_get(arcs, j), name, csv);
    }
}

static dt_box used_box(const atlas *a) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < a->arc_count; i++)
        if (a->used[i]) box = dt_box_join(box, dt_box_of((dt_path){a->arcs[i], a->counts[i]}));
    return box;
}

/* So that the drawing begins near (0, 0) and the points of the list are positions in it. */
static void move_arcs(atlas *a, dt_point by) {
    for (size_t i = 0; i < a->arc_count; i++)
        for (size_t j = 0; j < a->counts[i]; j++) a->arcs[i][j] = dt_point_add(a->arcs[i][j], by);
}

static void draw(atlas *a, dt_text *svg) {
    draft *d = draft_new();
    for (size_t i = 0; i < a->arc_count; i++)
        if (a->used[i]) draft_polyline(d, a->arcs[i], a->counts[i], false);
    draft_svg(d, 10.0, svg);
    draft_free(d);
}

static void write_out(const char *path, dt_text *text) {
    dt_error error = {0};
    demand(!text->failed && dt_file_write(path, text->bytes, text->length, &error) == DT_OK, "cannot write");
    dt_text_free(text);
}

int main(int argc, char **argv) {
    demand(argc == 6, "usage: states TOPOJSON MM_PER_UNIT up|down OUT.svg OUT.csv");
    atlas a = {.root = json_load_file(argv[1], 0, NULL)};
    demand(a.root != NULL, "cannot read the TopoJSON file");
    decode_arcs(&a, atof(argv[2]), strcmp(argv[3], "up") == 0 ? -1.0 : 1.0);
    dt_text unused = DT_TEXT_EMPTY, csv = DT_TEXT_EMPTY, svg = DT_TEXT_EMPTY;
    states(&a, &unused); /* first, to learn which arcs are used */
    dt_box box = used_box(&a);
    move_arcs(&a, (dt_point){10.0 - box.low.x, 10.0 - box.low.y});
    dt_text_add(&csv, "state,x,y\n");
    states(&a, &csv);
    draw(&a, &svg);
    write_out(argv[4], &svg);
    write_out(argv[5], &csv);
    dt_text_free(&unused);
    for (size_t i = 0; i < a.arc_count; i++) free(a.arcs[i]);
    free(a.arcs);
    free(a.counts);
    free(a.used);
    json_decref(a.root);
    return 0;
}
