/* Inset outlines. Some draw each piece as an outline of its own and every outline half a kerf inside, so that two lines
 * run along every seam, a kerf apart. Nothing is left between them; what is meant is one line half way. Samples of each
 * outline look for the nearest line of another outline beside them: if these distances are the same all over the draft,
 * every outline is grown (shrunk, where what it runs along lies inside: a hole) by half of that distance, with sharp
 * corners, which undoes the inset. Invariant: it is all or nothing for a draft, so a few lines that happen to run side
 * by side change nothing. */
#include "insets.h"

#include "geom/grid_index.h"
#include <geos_c.h>
#include <math.h>

/* So much of the length of all strokes is in closed outlines; */
#define CLOSED_SHARE 0.9
/* so many of the samples that find a line beside them find it at the same distance, to within twice the flatness of
 * curves; */
#define SAME_SHARE 0.9
/* so many of the outlines run along others for so much of their length (a piece at the end of a row has one side of
 * four). */
#define OUTLINES_SHARE 0.8
#define FACING_SHARE 0.1
/* Outlines farther apart than are moved, but no farther than this, are told. */
#define FARTHEST_MM 1.0
/* Beside: the lines are within 12 degrees of parallel, and so is the way across to square. */
#define GREATEST_SINE 0.2
enum { SAMPLES = 64, FEWEST_SAMPLES = 16, SAMPLES_IN_ALL = 200000, FEWEST_OUTLINES = 2 };
/* Long lines stand in many cells, so that a sample does not look at all of them. */
#define LARGEST_CELL_MM 10.0
/* An honest draft of 5,000 outlines needs 5 million. */
#define MOST_PAIRS 8000000u
/* Corners sharper than 23 degrees are cut off when outlines grow: 1 / sin(23 / 2). */
#define MITRE_LIMIT 5.0
enum { QUADRANT_CHORDS = 8 };

typedef struct beside {
    double distance; /* positive where the line lies outside the outline; 0 = none */
    uint32_t stroke; /* whose sample it is */
} beside;

typedef struct search {
    dt_strokes strokes;
    double limit_mm;
    dt_grid grid;
    DT_ARRAY(dt_ghost) cuts; /* of closed strokes */
    DT_ARRAY(beside) samples;
    double samples_each; /* of one outline */
    uint64_t pairs;
} search;

static size_t point_after(dt_path path, size_t i) {
    return i + 1 == path.count ? 0 : i + 1;
}

static bool mostly_outlines(dt_strokes strokes) {
    double all = 0.0, closed = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < strokes.count; i++) {
        double length = strokes.strokes[i].closed ? dt_path_perimeter(strokes.strokes[i].path)
                                                  : dt_path_length(strokes.strokes[i].path);
        all += length;
        if (!strokes.strokes[i].closed) continue;
        closed += length;
        count++;
    }
    return count >= FEWEST_OUTLINES && closed >= CLOSED_SHARE * all;
}

static bool index_cuts(search *s) {
    double length = 0.0;
    for (uint32_t i = 0; i < s->strokes.count; i++) {
        dt_path path = s->strokes.strokes[i].path;
        for (size_t k = 0; s->strokes.strokes[i].closed && k < path.count; k++) {
            dt_ghost cut = {path.points[k], path.points[point_after(path, k)], i};
            length += dt_point_distance(cut.a, cut.b);
            if (!dt_array_push(&s->cuts, cut)) return false;
        }
    }
    double mean = length / ((double)s->cuts.count + 1.0);
    dt_grid_init(&s->grid, fmax(4 * s->limit_mm, fmin(mean, LARGEST_CELL_MM)), s->limit_mm);
    for (uint32_t i = 0; i < s->cuts.count; i++)
        if (!dt_grid_add(&s->grid, s->cuts.items[i].a, s->cuts.items[i].b, i)) return false;
    return true;
}

/* The distance from p, on a line that goes along the unit vector `way`, to the nearest line of another outline, if that
 * runs beside it; positive to the left. */
static double look_beside(search *s, dt_point p, dt_point way, uint32_t stroke) {
    double least = s->limit_mm, found = 0.0;
    for (dt_nearby n = dt_grid_nearby(&s->grid, p, p, 0.0); dt_nearby_next(&n) && s->pairs <= MOST_PAIRS;) {
        const dt_ghost *cut = &s->cuts.items[n.item];
        s->pairs++;
        if (cut->stroke == stroke) continue;
        dt_point foot, along = dt_point_sub(cut->b, cut->a);
        double distance = dt_segment_distance(p, cut->a, cut->b, &foot);
        if (distance > least) continue;
        dt_point across = dt_point_sub(foot, p);
        bool parallel = fabs(dt_point_cross(way, along)) <= GREATEST_SINE * sqrt(dt_point_dot(along, along));
        bool square = fabs(dt_point_dot(way, across)) <= GREATEST_SINE * distance + DT_GRID_MM;
        least = distance;
        found = parallel && square ? copysign(distance, dt_point_cross(way, across)) : 0.0;
        if (parallel && least < DT_GRID_MM) break; /* drawn in the same place: nearer there is none */
    }
    return found;
}

/* Samples at even distances along the outline. Left of the way is inside where the area is positive. */
static bool sample_outline(search *s, uint32_t stroke) {
    dt_path path = s->strokes.strokes[stroke].path;
    double step = dt_path_perimeter(path) / s->samples_each, next = step / 2, arc = 0.0,
           inside = dt_path_area(path) > 0 ? 1.0 : -1.0;
    for (size_t k = 0; k < path.count; k++) {
        dt_point a = path.points[k], way = dt_point_sub(path.points[point_after(path, k)], a);
        double length = sqrt(dt_point_dot(way, way));
        for (; length > 0.0 && next < arc + length; next += step) {
            dt_point p = dt_point_add(a, dt_point_scale(way, (next - arc) / length));
            double left = look_beside(s, p, dt_point_scale(way, 1.0 / length), stroke);
            if (!dt_array_push(&s->samples, ((beside){-inside * left, stroke}))) return false;
        }
        arc += length;
    }
    return true;
}

static int compare_distances(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The middle one of all distances found; 0 when there are none or they differ. */
static dt_status common_distance(const search *s, double *out) {
    size_t count = 0, same = 0;
    double *distances = malloc((s->samples.count + 1) * sizeof *distances);
    if (!distances) return DT_NO_MEMORY;
    for (size_t i = 0; i < s->samples.count; i++)
        if (s->samples.items[i].distance != 0.0) distances[count++] = fabs(s->samples.items[i].distance);
    if (count) qsort(distances, count, sizeof *distances, compare_distances);
    double middle = count ? distances[count / 2] : 0.0;
    for (size_t i = 0; i < count; i++) same += fabs(distances[i] - middle) <= DT_SAME_MM;
    free(distances);
    *out = count && (double)same >= SAME_SHARE * (double)count ? middle : 0.0;
    return DT_OK;
}

/* For each stroke: 1 where its fellows run along it outside, -1 inside, 0 where too little does. False when too few
 * have fellows. */
static bool find_sides(const search *s, double apart, signed char *side) {
    size_t outlines = 0, facing = 0;
    for (size_t first = 0, end; first < s->samples.count; first = end) {
        uint32_t stroke = s->samples.items[first].stroke;
        size_t out = 0, in = 0;
        for (end = first; end < s->samples.count && s->samples.items[end].stroke == stroke; end++) {
            double distance = s->samples.items[end].distance;
            out += fabs(distance - apart) <= DT_SAME_MM;
            in += fabs(-distance - apart) <= DT_SAME_MM;
        }
        outlines++;
        if ((double)(out + in) < FACING_SHARE * (double)(end - first)) continue;
        facing++;
        side[stroke] = out >= in ? 1 : -1;
    }
    return outlines >= FEWEST_OUTLINES && (double)facing >= OUTLINES_SHARE * (double)outlines;
}

static dt_status measure(search *s, signed char *side, double *apart) {
    bool done = index_cuts(s);
    for (uint32_t i = 0; done && i < s->strokes.count; i++)
        if (s->strokes.strokes[i].closed) done = sample_outline(s, i);
    if (!done) return DT_NO_MEMORY;
    *apart = 0.0;
    if (s->pairs > MOST_PAIRS) return DT_OK;
    dt_status status = common_distance(s, apart);
    if (status == DT_OK && (*apart <= DT_SAME_MM || !find_sides(s, *apart, side))) *apart = 0.0;
    return status;
}

/* ---- moving the outlines ---- */

static void be_silent(const char *message, void *context) {
    (void)message;
    (void)context;
}

static GEOSGeometry *polygon_of(GEOSContextHandle_t geos, dt_path path) {
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(geos, (unsigned)path.count + 1, 2);
    for (unsigned i = 0; points && i <= path.count; i++)
        GEOSCoordSeq_setXY_r(geos, points, i, path.points[i % path.count].x, path.points[i % path.count].y);
    GEOSGeometry *ring = points ? GEOSGeom_createLinearRing_r(geos, points) : NULL;
    return ring ? GEOSGeom_createPolygon_r(geos, ring, NULL, 0) : NULL;
}

/* A stroke that falls apart when it is moved, or opens a hole, stays as it is: *out is untouched. */
static dt_status take_outline(GEOSContextHandle_t geos, const GEOSGeometry *moved, dt_arena *arena, dt_path *out) {
    if (GEOSGeomTypeId_r(geos, moved) != GEOS_POLYGON || GEOSGetNumInteriorRings_r(geos, moved) != 0) return DT_OK;
    const GEOSGeometry *ring = GEOSGetExteriorRing_r(geos, moved);
    const GEOSCoordSequence *from = ring ? GEOSGeom_getCoordSeq_r(geos, ring) : NULL;
    unsigned count = 0;
    if (!from || !GEOSCoordSeq_getSize_r(geos, from, &count) || count < 4) return DT_OK;
    dt_point *points = DT_TAKE(arena, count, dt_point);
    if (!points) return DT_NO_MEMORY;
    for (unsigned i = 0; i < count; i++) GEOSCoordSeq_getXY_r(geos, from, i, &points[i].x, &points[i].y);
    *out = (dt_path){points, count - 1};
    return DT_OK;
}

static dt_status move_outline(GEOSContextHandle_t geos, double by, dt_arena *arena, dt_path *path) {
    if (path->count < 3) return DT_OK;
    GEOSGeometry *polygon = polygon_of(geos, *path), *moved = NULL;
    if (!polygon) return DT_LIBRARY;
    moved =
        GEOSBufferWithStyle_r(geos, polygon, by, QUADRANT_CHORDS, GEOSBUF_CAP_ROUND, GEOSBUF_JOIN_MITRE, MITRE_LIMIT);
    GEOSGeom_destroy_r(geos, polygon);
    if (!moved) return DT_LIBRARY;
    dt_status status = take_outline(geos, moved, arena, path);
    GEOSGeom_destroy_r(geos, moved);
    return status;
}

static dt_status move_outlines(dt_strokes strokes, const signed char *side, double by, dt_arena *arena,
                               dt_strokes *out) {
    dt_stroke *moved = DT_TAKE(arena, strokes.count, dt_stroke);
    GEOSContextHandle_t geos = moved ? GEOS_init_r() : NULL;
    if (!geos) return DT_NO_MEMORY;
    GEOSContext_setErrorMessageHandler_r(geos, be_silent, NULL);
    GEOSContext_setNoticeMessageHandler_r(geos, be_silent, NULL);
    dt_status status = DT_OK;
    for (size_t i = 0; status == DT_OK && i < strokes.count; i++) {
        moved[i] = strokes.strokes[i];
        if (side[i]) status = move_outline(geos, side[i] * by, arena, &moved[i].path);
    }
    GEOS_finish_r(geos);
    if (status != DT_OK) return status;
    *out = strokes;
    out->strokes = moved;
    return DT_OK;
}

static bool are_drawn_inside(const signed char *side, size_t count) {
    long sum = 0;
    for (size_t i = 0; i < count; i++) sum += side[i];
    return sum > 0;
}

dt_status dt_insets_undo(dt_strokes strokes, const dt_settings *settings, dt_arena *arena, dt_strokes *out,
                         dt_insets *insets) {
    *out = strokes;
    *insets = (dt_insets){0};
    if (!mostly_outlines(strokes)) return DT_OK;
    double most = fmax(settings->kerf_mm, settings->join_mm), apart = 0.0;
    search s = {.strokes = strokes, .limit_mm = fmax(most, FARTHEST_MM)};
    s.samples_each = fmax(FEWEST_SAMPLES, fmin(SAMPLES, SAMPLES_IN_ALL / (double)strokes.count));
    signed char *side = DT_TAKE(arena, strokes.count, signed char);
    dt_status status = side ? measure(&s, side, &apart) : DT_NO_MEMORY;
    if (status == DT_OK) *insets = (dt_insets){.apart_mm = apart, .undone = apart > 0.0 && apart <= most};
    if (insets->undone && are_drawn_inside(side, strokes.count)) insets->looser_mm = apart;
    if (status == DT_OK && insets->undone) status = move_outlines(strokes, side, apart / 2, arena, out);
    dt_grid_free(&s.grid);
    dt_array_free(&s.cuts);
    dt_array_free(&s.samples);
    return status;
}
