/* Wide gaps. A line that bounds no face and stops short of another line by a few millimetres is most likely a seam that did not
 * reach: the two pieces on its sides have become one face, or the outline has a mouth. Nothing is mended here; the fault
 * says where to look. */
#include "open.h"

#include "geom/grid_index.h"
#include "sweep.h"
#include <math.h>

/* Wider than this nobody means a line to meet another (half of the shortest seam that is commonly cut). */
#define WIDEST_MM 5.0
/* "Facing": one end within 60 degrees of straight on, and the other not turned away (at a corner it stands sideways). */
#define FACING_COSINE 0.5
#define AWAY_COSINE -0.3
/* "Much larger than its fellows": two pieces that ran together have about twice the area of one. */
#define LARGE 1.5
/* A draft with more loose ends than this is a scribble, in which nothing faces anything. */
#define MOST_ENDS 20000
/* Pairs of ends that are compared for a sentence. */
#define MOST_PAIRS 20000000u
/* A line that begins nowhere must be this many times as long as the gap to be taken for a seam. */
#define LONG 10.0
/* Up to so many join distances a gap is taken for one whatever the sizes of the faces. */
#define JOINS 3.0

typedef struct gap {
    double width;        /* INFINITY = none */
    dt_point at;
    uint32_t end;        /* the other open end, or DT_NO_INDEX when it is a line */
    uint32_t stroke;
} gap;

typedef struct finder {
    const dt_net *net;
    double narrow_mm;    /* gaps up to this need no further proof */
    const dt_open_ends *ends;
    dt_grid grid;        /* of the lines straight on from each end */
    gap *gaps;           /* best of each end */
    uint32_t *faces;     /* in which each end lies */
    bool *used;          /* of each end */
    uint32_t *facing;    /* of each fault: how many of its ends have a gap */
} finder;

static double cosine_towards(const dt_open_end *end, dt_point p) {
    dt_point way = dt_point_sub(p, end->at);
    double length = hypot(way.x, way.y);
    return length > 0.0 ? dt_point_dot(way, end->ahead) / length : 1.0;
}

static bool may_be_seam(const finder *f, const dt_open_end *end, double width) {
    return end->hung || end->length >= LONG * width || width <= f->narrow_mm;
}

static void offer_end(finder *f, uint32_t i, uint32_t j) {
    const dt_open_end *a = &f->ends->items[i], *b = &f->ends->items[j];
    double width = dt_point_distance(a->at, b->at);
    if (i == j || width > WIDEST_MM || (a->tail && b->tail) || (a->chain == b->chain && a->length < 2 * width)) return;
    if (!may_be_seam(f, a, width) || !may_be_seam(f, b, width)) return;
    double from_a = cosine_towards(a, b->at), from_b = cosine_towards(b, a->at);
    if (fmax(from_a, from_b) < FACING_COSINE || fmin(from_a, from_b) < AWAY_COSINE || width >= f->gaps[i].width) return;
    f->gaps[i] = (gap){width, b->at, j, b->stroke};
}

/* Where the line straight on from the end meets p - q. A tail has met its line already. */
static void offer_line(finder *f, uint32_t i, dt_point p, dt_point q, const dt_arc *arc) {
    const dt_open_end *end = &f->ends->items[i];
    dt_point along = dt_point_sub(q, p), to = dt_point_sub(p, end->at);
    double bottom = dt_point_cross(end->ahead, along);
    if (bottom == 0.0 || end->tail) return;
    double width = dt_point_cross(to, along) / bottom, on = dt_point_cross(to, end->ahead) / bottom;
    if (width <= 0.0 || width > WIDEST_MM || on < 0.0 || on > 1.0 || width >= f->gaps[i].width) return;
    if (!may_be_seam(f, end, width)) return;
    uint32_t stroke = arc->stroke_count ? arc->strokes[0] : DT_NO_INDEX;
    f->gaps[i] = (gap){width, dt_point_add(end->at, dt_point_scale(end->ahead, width)), DT_NO_INDEX, stroke};
}

static bool enter_ends(finder *f) {
    dt_grid_init(&f->grid, WIDEST_MM, 0.0);
    for (uint32_t i = 0; i < f->ends->count; i++) {
        const dt_open_end *end = &f->ends->items[i];
        dt_point beyond = dt_point_add(end->at, dt_point_scale(end->ahead, WIDEST_MM));
        f->gaps[i].width = INFINITY;
        if (!dt_grid_add(&f->grid, end->at, beyond, i)) return false;
    }
    return true;
}

static void offer_all_ends(finder *f) {
    for (uint32_t j = 0; j < f->ends->count; j++) {
        dt_point at = f->ends->items[j].at;
        for (dt_nearby n = dt_grid_nearby(&f->grid, at, at, WIDEST_MM); dt_nearby_next(&n);) offer_end(f, n.item, j);
    }
}

static void offer_all_lines(finder *f) {
    for (size_t a = 0; a < f->net->arc_count; a++) {
        const dt_arc *arc = &f->net->arcs[a];
        for (size_t k = 1; k < arc->path.count; k++) {
            dt_point p = arc->path.points[k - 1], q = arc->path.points[k];
            for (dt_nearby n = dt_grid_nearby(&f->grid, p, q, 0.0); dt_nearby_next(&n);) offer_line(f, n.item, p, q, arc);
        }
    }
}

/* In which face each end lies, by the edge beside it. */
static dt_status locate_ends(finder *f) {
    dt_cuts edges = {0};
    dt_status status = DT_NO_MEMORY;
    size_t count = f->ends->count;
    dt_gp *points = malloc((count + 1) * sizeof *points);
    if (!points) goto done;
    for (size_t i = 0; i < count; i++) points[i] = dt_gp_of(f->ends->items[i].at);
    for (size_t a = 0; a < f->net->arc_count; a++) {
        const dt_arc *arc = &f->net->arcs[a];
        for (size_t k = 1; k < arc->path.count; k++) {
            dt_gp p = dt_gp_of(arc->path.points[k - 1]), q = dt_gp_of(arc->path.points[k]);
            if (!dt_array_push(&edges, ((dt_cut){p, q, q.y > p.y ? arc->right : arc->left}))) goto done;
        }
    }
    status = dt_sweep_beside(edges.items, edges.count, points, count, f->faces);
    for (size_t i = 0; status == DT_OK && i < count; i++)
        f->faces[i] = f->faces[i] == DT_NO_INDEX ? DT_OUTSIDE_FACE : edges.items[f->faces[i]].stroke;
done:
    free(points);
    dt_array_free(&edges);
    return status;
}

static int compare_numbers(const void *left, const void *right) {
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static double median_area(const dt_net *net) {
    double median = 0.0, *areas = malloc((net->face_count + 1) * sizeof *areas);
    if (!areas) return 0.0;
    for (size_t i = 0; i < net->face_count; i++) areas[i] = net->faces[i].area;
    qsort(areas, net->face_count, sizeof *areas, compare_numbers);
    if (net->face_count) median = areas[net->face_count / 2];
    free(areas);
    return median;
}

/* Would the line be a seam if the gap closed? One that begins nowhere needs a gap at its other end too, or it stays a stray. */
static bool would_bound(const finder *f, uint32_t i) {
    const dt_open_end *end = &f->ends->items[i];
    return end->hung || f->facing[end->fault] > 1;
}

static bool is_likely(const finder *f, uint32_t i, double median) {
    if (!would_bound(f, i) || (f->gaps[i].end != DT_NO_INDEX && !would_bound(f, f->gaps[i].end))) return false;
    uint32_t face = f->faces[i];
    if (face == DT_OUTSIDE_FACE || f->net->face_count < 3 || f->gaps[i].width <= f->narrow_mm) return true;
    return f->net->faces[face].area >= LARGE * median;
}

static bool report_gap(finder *f, uint32_t i, bool *dropped, dt_faults *faults) {
    const dt_open_end *end = &f->ends->items[i];
    const gap *g = &f->gaps[i];
    uint32_t face = f->faces[i];
    dt_fault fault = {.kind = face == DT_OUTSIDE_FACE ? DT_FAULT_OPEN_OUTLINE : DT_FAULT_GAP, .at = end->at, .other = g->at,
                      .size_mm = g->width, .stroke = end->stroke, .other_stroke = g->stroke, .pieces = {face, DT_NO_INDEX},
                      .times = 1};
    if (face == DT_OUTSIDE_FACE) fault.pieces[0] = DT_NO_INDEX;
    f->used[i] = true;
    dropped[end->fault] = true;
    if (g->end != DT_NO_INDEX) {
        f->used[g->end] = true;
        dropped[f->ends->items[g->end].fault] = true;
    }
    return dt_array_push(faults, fault);
}

/* A line that crosses the outline ends outside of all faces: it matters where it leaves. */
static void note_outside(const finder *f, uint32_t i, dt_faults *faults) {
    const dt_open_end *end = &f->ends->items[i];
    dt_fault *fault = &faults->items[end->fault];
    if (!end->hung || f->faces[i] != DT_OUTSIDE_FACE || fault->outside) return;
    fault->outside = true;
    fault->at = end->root;
    fault->other = end->at;
}

static dt_status report_all(finder *f, dt_faults *faults) {
    size_t before = faults->count, kept = 0;
    bool *dropped = calloc(before + 1, sizeof *dropped), done = dropped != NULL;
    double median = median_area(f->net);
    f->facing = calloc(before + 1, sizeof *f->facing);
    done = done && f->facing;
    for (uint32_t i = 0; done && i < f->ends->count; i++) f->facing[f->ends->items[i].fault] += f->gaps[i].width <= WIDEST_MM;
    for (uint32_t i = 0; done && i < f->ends->count; i++) {
        const gap *g = &f->gaps[i];
        if (f->used[i] || !(g->width <= WIDEST_MM) || (g->end != DT_NO_INDEX && f->used[g->end])) continue;
        if (is_likely(f, i, median)) done = report_gap(f, i, dropped, faults);
    }
    for (uint32_t i = 0; done && i < f->ends->count; i++)
        if (!dropped[f->ends->items[i].fault]) note_outside(f, i, faults);
    for (size_t i = 0; done && i < faults->count; i++)
        if (i >= before || !dropped[i]) faults->items[kept++] = faults->items[i];
    if (done) faults->count = kept;
    free(dropped);
    return done ? DT_OK : DT_NO_MEMORY;
}

dt_status dt_open_report(const dt_net *net, const dt_open_ends *ends, double join_mm, dt_faults *faults) {
    if (ends->count == 0 || ends->count > MOST_ENDS) return DT_OK;
    finder f = {.net = net, .ends = ends, .narrow_mm = JOINS * join_mm};
    dt_status status = DT_NO_MEMORY;
    f.gaps = calloc(ends->count, sizeof *f.gaps);
    f.faces = calloc(ends->count, sizeof *f.faces);
    f.used = calloc(ends->count, sizeof *f.used);
    if (f.gaps && f.faces && f.used && enter_ends(&f)) status = locate_ends(&f);
    if (status == DT_OK) {
        offer_all_ends(&f);
        offer_all_lines(&f);
        status = report_all(&f, faults);
    }
    free(f.gaps);
    free(f.faces);
    free(f.used);
    free(f.facing);
    if (f.grid.cell > 0.0) dt_grid_free(&f.grid);
    return status;
}

static bool nearest_within(const dt_open_ends *ends, double cell, uint64_t *left, dt_point pair[2]) {
    double best = INFINITY;
    dt_grid grid;
    dt_grid_init(&grid, cell, 0.0);
    for (uint32_t i = 0; i < ends->count && *left; i++) {
        const dt_open_end *p = &ends->items[i];
        for (dt_nearby n = dt_grid_nearby(&grid, p->at, p->at, cell); *left && dt_nearby_next(&n); --*left) {
            const dt_open_end *q = &ends->items[n.item];
            double width = dt_point_distance(p->at, q->at);
            if (width >= best || width > cell || (p->chain == q->chain && p->length < 1.5 * width)) continue;
            best = width;
            pair[0] = q->at;
            pair[1] = p->at;
        }
        if (!dt_grid_add(&grid, p->at, p->at, i)) break;
    }
    dt_grid_free(&grid);
    return best < INFINITY;
}

/* Looks within growing distances; whatever lies nearer than half a millimetre is near enough to be shown first. */
bool dt_open_nearest(const dt_open_ends *ends, dt_point *a, dt_point *b) {
    uint64_t left = MOST_PAIRS;
    dt_point pair[2];
    for (double cell = 0.5; cell < 4 * DT_REACH_MM && ends->count > 1 && left; cell *= 2) {
        if (!nearest_within(ends, cell, &left, pair)) continue;
        *a = pair[0];
        *b = pair[1];
        return true;
    }
    return false;
}
