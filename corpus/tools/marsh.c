/* Draws the demo puzzle of the marsh reserve's gift shop: marsh FOLDER writes heron-1.svg, heron-2.svg and heron-3.svg
 * there.
 *
 * The figures (outline, heron, boat, lighthouse, fish, dragonfly, lily leaf) are drawn by hand as lists of points,
 * smoothed by Catmull-Rom splines. What lies between them is divided by a Voronoi diagram of points spread evenly
 * (Lloyd's method, Least squares quantization in PCM, 1982), and each line of it gets a knob where there is room for
 * one. Draft 1 has the same fish twice and one line that stops short; draft 2 closes the line; draft 3 redraws the
 * second fish. Seeded, so the same call gives the same bytes. */
#include "base/array.h"
#include "draft.h"

#include <dovetell/drawing.h>
#include <dovetell/pieces.h>
#include <geos_c.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SEEDS = 50, ROUNDS = 25, TRIES = 40, STEPS = 3500 };
static const double ROOM = 2.6;          /* mm between a knob and whatever else: no neck below the limit for plywood */
static const double MARGIN = 6.0;        /* mm round the border */
static const double FINE = 0.002, COARSE = 0.1; /* mm, flatness: for where lines end, and for spreading points */
static const double GAP = 0.22;          /* mm by which draft 1 stops short */

typedef struct vertex {
    double x, y;
    bool corner;
} vertex;

typedef struct figure {
    const char *name;
    const vertex *points;
    size_t count;
    double x, y, scale, turn;
} figure;

static const vertex OUTLINE[] = {
    {4, 82, 0},      {0, 62, 0},      {4, 46, 0},     {12, 37, 0},    {16.5, 28, 0},   {16.5, 21, 0}, {14, 15, 0},
    {14, 4, 0},      {16.6, -4, 0},   {18.5, -10, 0}, {20.4, -4, 0},  {23, 4, 0},      {23, 15, 0},   {20.8, 21, 0},
    {21.6, 27, 0},   {27, 30, 0},     {33, 24, 0},    {34.2, 14, 0},  {34, 5, 0},      {31.5, -2, 0}, {31.5, -14, 0},
    {34.2, -22, 0},  {36, -28, 0},    {37.8, -22, 0}, {40.5, -14, 0}, {40.5, -2, 0},   {38.2, 5, 0},  {40, 14, 0},
    {47, 20, 0},     {60, 19, 0},     {80, 14, 0},    {102, 11, 0},   {126, 14, 0},    {148, 11, 0},  {162, 14, 0},
    {170.5, 17, 0},  {175, 12, 0},    {175.6, 4, 0},  {173.4, -2, 0}, {173.6, -12, 0}, {176, -18, 0}, {177.8, -23, 0},
    {179.6, -18, 0}, {182.4, -12, 0}, {182.4, -2, 0}, {180.2, 4, 0},  {181, 14, 0},    {187, 28, 0},  {191, 44, 0},
    {191, 60, 0},    {187, 80, 0},    {193, 102, 0},  {187, 122, 0},  {172, 134, 0},   {151, 138, 0}, {130, 147, 0},
    {106, 143, 0},   {80, 149, 0},    {55, 143, 0},   {32, 147, 0},   {14, 137, 0},    {3, 120, 0},   {7, 100, 0}};
static const vertex HERON[] = {
    {66, 15, 1},    {52, 10, 0},   {44, 5.5, 0},    {37, 5, 0},      {30, 8, 0},    {20, 13, 1},     {29.5, 13.5, 0},
    {31, 18, 0},    {34.5, 27, 0}, {35, 35, 0},     {28, 42, 0},     {17, 50, 0},   {6, 62, 0},      {-5, 76, 1},
    {7, 72.5, 0},   {17, 70.5, 0}, {20.5, 74, 0},   {21, 86, 0},     {19.5, 94, 0}, {12, 100, 1},    {28, 100, 1},
    {25, 94, 0},    {25.2, 84, 0}, {25.5, 74, 0},   {28.5, 70.5, 0}, {31, 74, 0},   {32.5, 86, 0},   {32, 95, 0},
    {31.5, 100, 1}, {44, 100, 1},  {37.5, 94.5, 0}, {36.8, 84, 0},   {35.8, 73, 0}, {38.5, 67.5, 0}, {45.5, 60, 0},
    {48, 50, 0},    {45.5, 42, 0}, {43.5, 35, 0},   {42.5, 27, 0},   {40, 20.5, 0}, {43, 17, 0},     {52, 17.5, 0}};
static const vertex FISH[] = {{0, 0, 1},  {5, -5, 0},  {12, -6.5, 0}, {19, -3, 0}, {26, -7.5, 1},
                              {24, 0, 0}, {26, 7.5, 1}, {19, 3, 0},   {12, 6.5, 0}, {5, 5, 0}};
/* Within the fish everywhere, so that nothing else comes too near; slimmer by a millimetre, with a deeper notch. */
static const vertex OTHER_FISH[] = {{0, 0, 1},     {5, -4, 0},  {12, -5.3, 0}, {19, -2.4, 0}, {25, -6.6, 1},
                                    {21.5, 0, 0}, {25, 6.6, 1}, {19, 2.4, 0},  {12, 5.3, 0},  {5, 4, 0}};
static const vertex BOAT[] = {{0, -4, 1},  {9, -4, 1},  {13, -33, 1}, {21, -20, 0}, {26, -4, 1},
                              {35, -5, 1}, {31, 2, 0}, {27, 6.5, 1}, {6, 6.5, 1},   {2.5, 2, 0}};
static const vertex LIGHTHOUSE[] = {{0, 0, 1},    {15, 0, 1},   {11.5, -27, 1}, {14, -27, 1}, {14, -31, 1},
                                    {11, -31, 1}, {11, -37, 1}, {7.5, -44, 1},  {4, -37, 1},  {4, -31, 1},
                                    {1, -31, 1},  {1, -27, 1},  {3.5, -27, 1}};
static const vertex DRAGONFLY[] = {{0, -5, 0},      {3, -3.5, 1},  {14, -10.5, 0}, {18.5, -7, 0},  {13, -2.5, 0},
                                   {4, 0.5, 1},     {14, 2.5, 0},  {16.5, 6.5, 0}, {11, 7.8, 0},   {3, 5, 1},
                                   {2.3, 19, 0},    {0, 23, 0},    {-2.3, 19, 0},  {-3, 5, 1},     {-11, 7.8, 0},
                                   {-16.5, 6.5, 0}, {-14, 2.5, 0}, {-4, 0.5, 1},   {-13, -2.5, 0}, {-18.5, -7, 0},
                                   {-14, -10.5, 0}, {-3, -3.5, 1}};
static const vertex LEAF[] = {{0, 0, 1},    {9, -3.4, 1}, {8, 5, 0},  {0, 8.5, 0}, {-9, 6, 0},
                              {-12, 0, 0}, {-9, -6, 0}, {0, -8.5, 0}, {6.5, -7, 1}};
/* The leaf as it is cut: its lower tip trimmed, where dovetell found a neck too thin beside it. */
static const vertex TRIMMED_LEAF[] = {{0, 0, 1},    {8.75, -3.1, 1}, {8, 5, 0},  {0, 8.5, 0}, {-9, 6, 0},
                                      {-12, 0, 0}, {-9, -6, 0},     {0, -8.5, 0}, {6.5, -7, 1}};
#define POINTS(table) table, sizeof table / sizeof *table

static const figure FIGURES[] = {
    {"heron", POINTS(HERON), 50, 25, 1.0, 0},          {"boat", POINTS(BOAT), 117, 100, 1.0, 0},
    {"lighthouse", POINTS(LIGHTHOUSE), 162, 97, 1.0, 0}, {"dragonfly", POINTS(DRAGONFLY), 31, 66, 0.95, 14},
    {"lily leaf", POINTS(LEAF), 109, 129, 1.0, 0},      {"fish", POINTS(FISH), 141, 122, 1.0, 8},
    {"fish again", POINTS(FISH), 18, 124, 1.0, -12},
};
enum { FIGURE_COUNT = sizeof FIGURES / sizeof *FIGURES };
static const dt_point SUN = {150, 38};
static const double SUN_RADIUS = 10;

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "marsh: %s\n", what);
    exit(2);
}

static void ignore_notice(const char *format, ...) {
    (void)format;
}

/* ---- figures as closed splines ---- */

static dt_point placed(const figure *f, size_t index) {
    vertex v = f->points[index % f->count];
    dt_pose pose = dt_pose_about(f->turn, false, (dt_point){0, 0}, (dt_point){f->x, f->y});
    return dt_pose_apply(pose, (dt_point){v.x * f->scale, v.y * f->scale});
}

/* Handle of a Catmull-Rom spline: a sixth of the chord between the point's neighbours; a corner has none. */
static dt_point handle(const figure *f, size_t index, double sign) {
    dt_point p = placed(f, index);
    if (f->points[index % f->count].corner) return p;
    dt_point before = placed(f, index + f->count - 1), after = placed(f, index + 1);
    return dt_point_add(p, dt_point_scale(dt_point_sub(after, before), sign / 6.0));
}

static void draw_figure(draft *d, const figure *f) {
    draft_name(d, f->name);
    draft_move(d, placed(f, 0));
    for (size_t i = 0; i < f->count; i++) draft_cubic(d, handle(f, i, 1), handle(f, i + 1, -1), placed(f, i + 1));
    draft_close(d);
}

/* ---- GEOS ---- */

static GEOSGeometry *ring_polygon(dt_path path) {
    GEOSCoordSequence *s = GEOSCoordSeq_create((unsigned)path.count + 1, 2);
    for (unsigned i = 0; i <= path.count; i++) {
        dt_point p = path.points[i % path.count];
        GEOSCoordSeq_setXY(s, i, p.x, p.y);
    }
    return GEOSGeom_createPolygon(GEOSGeom_createLinearRing(s), NULL, 0);
}

static GEOSGeometry *line_of(const dt_point *points, size_t count) {
    GEOSCoordSequence *s = GEOSCoordSeq_create((unsigned)count, 2);
    for (unsigned i = 0; i < count; i++) GEOSCoordSeq_setXY(s, i, points[i].x, points[i].y);
    return GEOSGeom_createLineString(s);
}

static GEOSGeometry *figure_polygon(const figure *f, double flatness) {
    draft *d = draft_new();
    draw_figure(d, f);
    GEOSGeometry *polygon = ring_polygon(draft_strokes(d, flatness).strokes[0].path);
    draft_free(d);
    return polygon;
}

static GEOSGeometry *minus(GEOSGeometry *a, GEOSGeometry *b) {
    GEOSGeometry *rest = GEOSDifference(a, b);
    GEOSGeom_destroy(a);
    GEOSGeom_destroy(b);
    return rest;
}

static GEOSGeometry *region_between(double flatness) {
    figure outline = {"outline", POINTS(OUTLINE), 0, 0, 1, 0};
    GEOSGeometry *region = figure_polygon(&outline, flatness);
    for (size_t i = 0; i < FIGURE_COUNT; i++) region = minus(region, figure_polygon(&FIGURES[i], flatness));
    draft *d = draft_new();
    draft_circle(d, SUN.x, SUN.y, SUN_RADIUS);
    region = minus(region, ring_polygon(draft_strokes(d, flatness).strokes[0].path));
    draft_free(d);
    return region;
}

/* ---- even division ---- */

static GEOSGeometry *sites_of(const dt_point *seeds) {
    GEOSGeometry *points[SEEDS];
    for (int i = 0; i < SEEDS; i++) points[i] = GEOSGeom_createPointFromXY(seeds[i].x, seeds[i].y);
    return GEOSGeom_createCollection(GEOS_MULTIPOINT, points, SEEDS);
}

static void spread_evenly(const GEOSGeometry *region, uint64_t *state, dt_point *seeds) {
    for (int i = 0; i < SEEDS;) {
        dt_point p = {200 * draft_random(state), 170 * draft_random(state) - 18};
        GEOSGeometry *point = GEOSGeom_createPointFromXY(p.x, p.y);
        if (GEOSContains(region, point) == 1) seeds[i++] = p;
        GEOSGeom_destroy(point);
    }
    for (int round = 0; round < ROUNDS; round++) {
        GEOSGeometry *sites = sites_of(seeds), *cells = GEOSVoronoiDiagram(sites, region, 0, 0);
        for (int i = 0; i < GEOSGetNumGeometries(cells) && i < SEEDS; i++) {
            GEOSGeometry *cell = GEOSIntersection(GEOSGetGeometryN(cells, i), region), *centre = GEOSGetCentroid(cell);
            GEOSGeomGetX(centre, &seeds[i].x);
            GEOSGeomGetY(centre, &seeds[i].y);
            GEOSGeom_destroy(centre);
            GEOSGeom_destroy(cell);
        }
        GEOSGeom_destroy(cells);
        GEOSGeom_destroy(sites);
    }
}

typedef struct division {
    dt_point seeds[SEEDS];
    double score;         /* better with a large smallest face, with no short line, with no line close to a figure */
} division;

static GEOSGeometry *voronoi_lines(const GEOSGeometry *region, const dt_point *seeds) {
    GEOSGeometry *sites = sites_of(seeds), *edges = GEOSVoronoiDiagram(sites, region, 0, 1);
    GEOSGeom_destroy(sites);
    return edges;
}

/* What is wrong with a straight line, 0 = nothing: too short to be drawn well, or not leaving the figures steeply
 * enough. */
static double trouble(const GEOSGeometry *line, const GEOSGeometry *border) {
    const double along[] = {1.0, 2.5, 5.0};
    double length = 0, sum = 0;
    GEOSLength(line, &length);
    sum += fmax(0.0, 4.0 - length) / 4.0;
    for (int i = 0; i < 6; i++) {
        double at = i < 3 ? along[i] : length - along[i - 3], distance = 0;
        if (at < 0.1 * length || at > 0.9 * length) continue;
        GEOSGeometry *point = GEOSInterpolate(line, at);
        if (GEOSDistance(point, border, &distance)) sum += fmax(0.0, 0.6 - distance / fmin(at, length - at));
        GEOSGeom_destroy(point);
    }
    return sum;
}

/* Areas of the smallest and the largest face between the figures and the straight lines. */
static void face_areas(const GEOSGeometry *region, const GEOSGeometry *lines, double *smallest, double *largest) {
    GEOSGeometry *thick = GEOSBuffer(lines, 0.01, 4), *faces = GEOSDifference(region, thick);
    *smallest = INFINITY;
    *largest = 0;
    for (int i = 0; i < GEOSGetNumGeometries(faces); i++) {
        double area = 0;
        if (!GEOSArea(GEOSGetGeometryN(faces, i), &area)) continue;
        *smallest = fmin(*smallest, area);
        *largest = fmax(*largest, area);
    }
    GEOSGeom_destroy(faces);
    GEOSGeom_destroy(thick);
}

static double score_of(const GEOSGeometry *region, const GEOSGeometry *border, const dt_point *seeds) {
    GEOSGeometry *edges = voronoi_lines(region, seeds), *lines = GEOSIntersection(edges, region);
    double smallest = 0, largest = 0;
    face_areas(region, lines, &smallest, &largest);
    double score = 3 * fmin(smallest / 150.0, 1.0) - fmax(0.0, largest / 900.0 - 1.0);
    for (int i = 0; i < GEOSGetNumGeometries(lines); i++) score -= trouble(GEOSGetGeometryN(lines, i), border);
    GEOSGeom_destroy(lines);
    GEOSGeom_destroy(edges);
    return score;
}

/* Where no point is spread, so that each reed stays in one with the piece that it grows from. */
static const dt_point REEDS[] = {{-50, -50}, {250, -50}, {250, 19}, {44, 19}, {44, 47}, {-50, 47}};

static bool among_reeds(dt_point p) {
    return dt_path_contains((dt_path){REEDS, sizeof REEDS / sizeof *REEDS}, p);
}

static GEOSGeometry *without_reeds(const GEOSGeometry *region) {
    GEOSGeometry *reeds = ring_polygon((dt_path){REEDS, sizeof REEDS / sizeof *REEDS}),
                 *rest = GEOSDifference(region, reeds);
    GEOSGeom_destroy(reeds);
    return rest;
}

/* Moves one point at a time and keeps what is no worse. */
static void improve(const GEOSGeometry *region, const GEOSGeometry *border, uint64_t *state, division *d) {
    for (int i = 0; i < STEPS; i++) {
        dt_point *p = &d->seeds[(int)(draft_random(state) * SEEDS)], before = *p;
        double far = i < STEPS / 2 ? 7.0 : 3.0;
        p->x += far * (draft_random(state) - 0.5);
        p->y += far * (draft_random(state) - 0.5);
        double score = score_of(region, border, d->seeds);
        if (score >= d->score && !among_reeds(*p)) d->score = score;
        else *p = before;
    }
}

static GEOSGeometry *best_division(const GEOSGeometry *region) {
    GEOSGeometry *coarse = region_between(COARSE), *below = without_reeds(coarse), *around = GEOSBoundary(coarse);
    uint64_t state = 20;
    division best = {.score = -1000};
    for (int i = 0; i < TRIES; i++) {
        division d = {.score = 0};
        spread_evenly(below, &state, d.seeds);
        d.score = score_of(coarse, around, d.seeds);
        if (d.score > best.score) best = d;
    }
    improve(coarse, around, &state, &best);
    GEOSGeom_destroy(around);
    GEOSGeometry *edges = voronoi_lines(coarse, best.seeds), *lines = GEOSIntersection(edges, region);
    GEOSGeometry *merged = GEOSLineMerge(lines); /* stretches that the clipping split */
    GEOSGeom_destroy(edges);
    GEOSGeom_destroy(lines);
    GEOSGeom_destroy(below);
    GEOSGeom_destroy(coarse);
    fprintf(stderr, "marsh: score %.2f\n", best.score);
    return merged;
}

/* ---- knobs where there is room ---- */

typedef struct seam {
    dt_point a, b;
    bool has_knob;
    draft *drawn;
    GEOSGeometry *line;   /* as drawn; straight until a knob is chosen */
} seam;

typedef struct knob {
    double at, stem, radius, height, lean, wave;
    int sign;
} knob;

static dt_point local(const seam *s, double u, double v) {
    dt_point along = dt_point_sub(s->b, s->a);
    double length = dt_point_distance(s->a, s->b);
    along = dt_point_scale(along, 1 / length);
    return (dt_point){s->a.x + along.x * u - along.y * v, s->a.y + along.y * u + along.x * v};
}

static void curve(draft *d, const seam *s, const double c[6]) {
    draft_cubic(d, local(s, c[0], c[1]), local(s, c[2], c[3]), local(s, c[4], c[5]));
}

static draft *draw_wave(const seam *s, double bend) {
    double length = dt_point_distance(s->a, s->b);
    draft *d = draft_new();
    draft_move(d, s->a);
    curve(d, s, (const double[]){length * 0.33, bend * length, length * 0.67, -bend * length, length, 0});
    return d;
}

/* Lengths in mm: a stem of half width k.stem rises at k.at and carries a round head that leans to one side. */
static draft *draw_knob(const seam *s, const knob *k) {
    double length = dt_point_distance(s->a, s->b), v = k->sign, u = k->at, r = k->radius, h = v * k->height,
           l = k->lean, q = 0.55 * r;
    draft *d = draft_new();
    draft_move(d, s->a);
    curve(d, s, (const double[]){u * 0.4, v * k->wave, u - k->stem, -v * 1.6, u - k->stem, v * 0.5});
    curve(d, s, (const double[]){u - k->stem, v * 1.7, u + l - r, h - v * q, u + l - r, h});
    curve(d, s, (const double[]){u + l - r, h + v * q, u + l - q, h + v * r, u + l, h + v * r});
    curve(d, s, (const double[]){u + l + q, h + v * r, u + l + r, h + v * q, u + l + r, h});
    curve(d, s, (const double[]){u + l + r, h - v * q, u + k->stem, v * 1.7, u + k->stem, v * 0.5});
    curve(d, s, (const double[]){u + k->stem, -v * 1.6, u + (length - u) * 0.6, -v * k->wave, length, 0});
    return d;
}

static GEOSGeometry *drawn_line(draft *d) {
    dt_path path = draft_strokes(d, 0.05).strokes[0].path;
    return line_of(path.points, path.count);
}

/* How steeply a line leaves whatever it ends on, and how clear of everything it keeps: the smallest ratio of the
 * distance to the nearest other line or figure to the distance along the line's nearer end (the sine of the angle, near
 * the end). A distance of ROOM is enough anywhere. */
static double clearance(draft *d, const seam *seams, size_t count, size_t self, const GEOSGeometry *border) {
    dt_path path = draft_strokes(d, 0.05).strokes[0].path;
    double least = INFINITY;
    for (size_t i = 0; i < path.count; i++) {
        double distance = INFINITY, nearest = INFINITY;
        double end = fmin(dt_point_distance(path.points[i], path.points[0]),
                          dt_point_distance(path.points[i], path.points[path.count - 1]));
        if (end < 0.4) continue;
        GEOSGeometry *point = GEOSGeom_createPointFromXY(path.points[i].x, path.points[i].y);
        if (GEOSDistance(point, border, &distance)) nearest = distance;
        for (size_t j = 0; j < count; j++)
            if (j != self && GEOSDistance(point, seams[j].line, &distance)) nearest = fmin(nearest, distance);
        GEOSGeom_destroy(point);
        if (nearest < ROOM) least = fmin(least, nearest / end);
    }
    return least;
}

/* Ends steeper than about 30 degrees, and no crossing. */
static bool has_room(draft *d, const seam *seams, size_t count, size_t self, const GEOSGeometry *border) {
    GEOSGeometry *whole = drawn_line(d);
    bool roomy = GEOSisSimple(whole) == 1;
    for (size_t i = 0; i < count && roomy; i++)
        if (i != self) roomy = GEOSCrosses(whole, seams[i].line) != 1;
    GEOSGeom_destroy(whole);
    return roomy && clearance(d, seams, count, self, border) > 0.5;
}

/* The bend that keeps clearest. */
static draft *draw_best_wave(const seam *seams, size_t count, size_t self, const GEOSGeometry *border) {
    const double bends[] = {0.12, -0.12, 0.06, -0.06, 0.2, -0.2, 0.0};
    draft *best = NULL;
    double most = -1;
    for (size_t i = 0; i < sizeof bends / sizeof *bends; i++) {
        draft *d = draw_wave(&seams[self], bends[i]);
        double clear = clearance(d, seams, count, self, border);
        draft *loser = clear > most ? best : d;
        if (clear > most) {
            most = clear;
            best = d;
        }
        draft_free(loser);
    }
    if (most < 0.35)
        fprintf(stderr, "marsh: a tight line at (%.1f, %.1f), %.2f\n", seams[self].a.x, seams[self].a.y, most);
    return best;
}

static knob random_knob(double length, double size, uint64_t *state) {
    knob k;
    k.at = length * (0.5 + 0.24 * (draft_random(state) - 0.5));
    k.stem = size * (1.45 + 0.35 * draft_random(state));
    k.radius = k.stem * (1.62 + 0.35 * draft_random(state));
    k.height = k.radius * (1.25 + 0.35 * draft_random(state));
    k.lean = k.radius * 0.5 * (draft_random(state) - 0.5);
    k.wave = 2.4 * (draft_random(state) - 0.5);
    k.sign = draft_random(state) < 0.5 ? -1 : 1;
    return k;
}

static void draw_wave_on(seam *seams, size_t count, size_t self, const GEOSGeometry *border) {
    seam *s = &seams[self];
    s->drawn = draw_best_wave(seams, count, self, border);
    GEOSGeom_destroy(s->line);
    s->line = drawn_line(s->drawn);
    s->has_knob = false;
}

static void choose_knob(seam *seams, size_t count, size_t self, const GEOSGeometry *border, uint64_t *state) {
    seam *s = &seams[self];
    double length = dt_point_distance(s->a, s->b);
    for (int attempt = 0; attempt < 400 && length > 5.5; attempt++) {
        knob k = random_knob(length, 1.12 - 0.0009 * attempt, state);
        draft *d = draw_knob(s, &k);
        if (has_room(d, seams, count, self, border)) {
            GEOSGeom_destroy(s->line);
            s->drawn = d;
            s->line = drawn_line(d);
            s->has_knob = true;
            return;
        }
        draft_free(d);
    }
    draw_wave_on(seams, count, self, border);
}

static double distance_to(const GEOSGeometry *geometry, dt_point p) {
    GEOSGeometry *point = GEOSGeom_createPointFromXY(p.x, p.y);
    double distance = INFINITY;
    GEOSDistance(point, geometry, &distance);
    GEOSGeom_destroy(point);
    return distance;
}

/* Lines that would only cut off a scrap: across a reed, or from a figure to itself. */
static bool cuts_off_a_scrap(const seam *s) {
    const figure outline = {"border", POINTS(OUTLINE), 0, 0, 1, 0};
    for (size_t i = 0; i <= FIGURE_COUNT; i++) {
        GEOSGeometry *polygon = figure_polygon(i < FIGURE_COUNT ? &FIGURES[i] : &outline, FINE),
                     *border = GEOSBoundary(polygon);
        bool both = distance_to(border, s->a) < 1e-3 && distance_to(border, s->b) < 1e-3;
        GEOSGeom_destroy(border);
        GEOSGeom_destroy(polygon);
        if (both) return true;
    }
    return false;
}

static size_t seams_of(const GEOSGeometry *lines, seam *seams, size_t most) {
    size_t count = 0;
    for (int i = 0; i < GEOSGetNumGeometries(lines); i++) {
        const GEOSCoordSequence *c = GEOSGeom_getCoordSeq(GEOSGetGeometryN(lines, i));
        unsigned last = 0;
        GEOSCoordSeq_getSize(c, &last);
        demand(count < most && last >= 2, "too many lines");
        seam *s = &seams[count++];
        GEOSCoordSeq_getXY(c, 0, &s->a.x, &s->a.y);
        GEOSCoordSeq_getXY(c, last - 1, &s->b.x, &s->b.y);
        if (cuts_off_a_scrap(s)) {
            count--;
            continue;
        }
        s->line = line_of((const dt_point[]){s->a, s->b}, 2);
        s->drawn = NULL;
        s->has_knob = false;
    }
    return count;
}

/* ---- the drawing ---- */

static void engraving(draft *d) {
    draft_layer(d, "engrave", DT_ROLE_ENGRAVE);
    draft_circle(d, 89.5, 34.5, 0.9);
    draft_circle(d, 145.5, 120.6, 0.7);
    draft_circle(d, 22.2, 122.2, 0.7);
    draft_segment(d, 167.4, 76, 172.2, 76);
    draft_segment(d, 164.4, 86, 174.8, 86);
    const double ripples[][3] = {{60, 131, 14}, {78, 137, 18},  {150, 132, 16}, {124, 112, 12},
                                 {40, 138, 12}, {170, 108, 11}, {14, 104, 10}};
    for (size_t i = 0; i < sizeof ripples / sizeof *ripples; i++) {
        const double *r = ripples[i], w = r[2];
        draft_move(d, (dt_point){r[0], r[1]});
        draft_cubic(d, (dt_point){r[0] + w / 6, r[1] - 2}, (dt_point){r[0] + w / 3, r[1] - 2},
                    (dt_point){r[0] + w / 2, r[1]});
        draft_cubic(d, (dt_point){r[0] + w * 2 / 3, r[1] + 2}, (dt_point){r[0] + w * 5 / 6, r[1] + 2},
                    (dt_point){r[0] + w, r[1]});
    }
    draft_move(d, (dt_point){64, 88});
    draft_cubic(d, (dt_point){74, 90}, (dt_point){86, 84}, (dt_point){93, 74});
    draft_move(d, (dt_point){68, 80});
    draft_cubic(d, (dt_point){76, 82}, (dt_point){84, 78}, (dt_point){89, 71});
}

static void draw_draft(const seam *seams, size_t count, int number, dt_text *svg) {
    draft *d = draft_new();
    draft_layer(d, "cut border", DT_ROLE_CUT);
    figure outline = {"border", POINTS(OUTLINE), 0, 0, 1, 0};
    draw_figure(d, &outline);
    draft_layer(d, "whimsy figures", DT_ROLE_WHIMSY);
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        figure f = FIGURES[i];
        if (number == 3 && strcmp(f.name, "fish again") == 0)
            f = (figure){"pike", POINTS(OTHER_FISH), f.x, f.y, f.scale, f.turn};
        if (strcmp(f.name, "lily leaf") == 0) f = (figure){f.name, POINTS(TRIMMED_LEAF), f.x, f.y, f.scale, f.turn};
        draw_figure(d, &f);
    }
    draft_layer(d, "void sun", DT_ROLE_VOID);
    draft_name(d, "sun");
    draft_circle(d, SUN.x, SUN.y, SUN_RADIUS);
    draft_layer(d, "cut seams", DT_ROLE_CUT);
    for (size_t i = 0; i < count; i++) draft_append(d, seams[i].drawn);
    engraving(d);
    draft_svg(d, MARGIN, svg);
    draft_free(d);
}

static void write_draft(const seam *seams, size_t count, int number, const char *path) {
    dt_text svg = DT_TEXT_EMPTY;
    dt_error error = {0};
    draw_draft(seams, count, number, &svg);
    demand(!svg.failed && dt_file_write(path, svg.bytes, svg.length, &error) == DT_OK, "cannot write");
    dt_text_free(&svg);
}

/* Draft 1: a line between two figures' neighbourhoods stops short of the border that it aims for. */
static void stop_short(seam *seams, size_t count, const GEOSGeometry *border) {
    for (size_t i = 0; i < count; i++) {
        GEOSGeometry *end = GEOSGeom_createPointFromXY(seams[i].b.x, seams[i].b.y);
        double distance = INFINITY, length = dt_point_distance(seams[i].a, seams[i].b);
        GEOSDistance(end, border, &distance);
        GEOSGeom_destroy(end);
        if (distance > 1e-6 || length < 12 || seams[i].b.x < 100) continue;
        seams[i].b = local(&seams[i], length - GAP, 0);
        draft_end_at(seams[i].drawn, seams[i].b);
        fprintf(stderr, "marsh: the line near (%.1f, %.1f) stops short\n", seams[i].b.x, seams[i].b.y);
        return;
    }
}

/* Where a line ends on the second fish, its end moves on to the pike that takes the fish's place. */
static void move_to_pike(draft *line, const GEOSGeometry *fish, dt_path pike) {
    for (int side = 0; side < 2; side++) {
        dt_path path = draft_strokes(line, 0.01).strokes[0].path;
        dt_point end = path.points[path.count - 1], best = end, at;
        double distance = distance_to(fish, end), nearest = INFINITY;
        for (size_t i = 0; distance < 1e-6 && i < pike.count; i++) {
            double d = dt_segment_distance(end, pike.points[i], pike.points[(i + 1) % pike.count], &at);
            if (d < nearest) nearest = d, best = at;
        }
        if (nearest < 5) draft_end_at(line, best);
        draft_reverse(line);
    }
}

static void meet_the_pike(seam *seams, size_t count) {
    const figure *old = &FIGURES[FIGURE_COUNT - 1];
    figure pike = {"pike", POINTS(OTHER_FISH), old->x, old->y, old->scale, old->turn};
    draft *d = draft_new();
    draw_figure(d, &pike);
    GEOSGeometry *fish = figure_polygon(old, FINE), *border = GEOSBoundary(fish);
    dt_path outline = draft_strokes(d, 0.002).strokes[0].path;
    for (size_t i = 0; i < count; i++) move_to_pike(seams[i].drawn, border, outline);
    GEOSGeom_destroy(border);
    GEOSGeom_destroy(fish);
    draft_free(d);
}

static void copy_seams(const seam *from, size_t count, seam *to) {
    for (size_t i = 0; i < count; i++) {
        to[i] = from[i];
        to[i].drawn = draft_new();
        draft_append(to[i].drawn, from[i].drawn);
    }
}

/* Where the sheet's left top lies in the figures' own coordinates: draft_svg puts the margin round the box of all
 * paths, which the border's control points span. */
static dt_point sheet_origin(void) {
    figure outline = {"border", POINTS(OUTLINE), 0, 0, 1, 0};
    draft *d = draft_new();
    draw_figure(d, &outline);
    dt_point low = draft_box(d).low;
    draft_free(d);
    return (dt_point){low.x - MARGIN, low.y - MARGIN};
}

/* ---- tidied with dovetell's own eyes ---- */

/* Takes the knob off the line that is nearest to a place. */
static void plain_line_at(seam *seams, size_t count, dt_point at, const GEOSGeometry *border) {
    GEOSGeometry *point = GEOSGeom_createPointFromXY(at.x, at.y);
    double nearest = INFINITY, distance;
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        if (seams[i].has_knob && GEOSDistance(point, seams[i].line, &distance) && distance < nearest)
            nearest = distance, found = i;
    GEOSGeom_destroy(point);
    if (nearest > 5) return;
    draft_free(seams[found].drawn);
    GEOSGeom_destroy(seams[found].line);
    seams[found].line = line_of((const dt_point[]){seams[found].a, seams[found].b}, 2);
    draw_wave_on(seams, count, found, border);
}

/* One look: every thin neck and strip costs the nearest knob. Gives the number of faults seen. */
static size_t tidy_once(seam *seams, size_t count, const GEOSGeometry *border) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *drawing = NULL;
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    dt_text svg = DT_TEXT_EMPTY;
    dt_error error = {0};
    draw_draft(seams, count, 2, &svg);
    demand(dt_drawing_read_memory("draft", svg.bytes, svg.length, &settings, &drawing, &error) == DT_OK, error.message);
    dt_strokes strokes = dt_drawing_strokes(drawing);
    demand(dt_net_new(strokes, &settings, &net, &error) == DT_OK, error.message);
    demand(dt_pieces_new(net, strokes, &settings, &pieces, &error) == DT_OK, error.message);
    dt_point shift = sheet_origin();
    size_t faults = dt_pieces_fault_count(pieces);
    for (size_t i = 0; i < faults; i++)
        plain_line_at(seams, count, dt_point_add(dt_pieces_fault(pieces, i)->at, shift), border);
    dt_pieces_free(pieces);
    dt_net_free(net);
    dt_drawing_free(drawing);
    dt_text_free(&svg);
    return faults;
}

static void write_drafts(seam *seams, size_t count, const GEOSGeometry *border, const char *folder) {
    static seam changed[400];
    for (int number = 1; number <= 3; number++) {
        char path[512];
        copy_seams(seams, count, changed);
        if (number == 1) stop_short(changed, count, border);
        if (number == 3) meet_the_pike(changed, count);
        snprintf(path, sizeof path, "%s/heron-%d.svg", folder, number);
        write_draft(changed, count, number, path);
        for (size_t i = 0; i < count; i++) draft_free(changed[i].drawn);
    }
}

int main(int argc, char **argv) {
    demand(argc == 2, "usage: marsh FOLDER");
    initGEOS(ignore_notice, ignore_notice);
    GEOSGeometry *region = region_between(FINE), *border = GEOSBoundary(region), *lines = best_division(region);
    static seam seams[400];
    size_t count = seams_of(lines, seams, 400);
    uint64_t state = 5;
    for (size_t i = 0; i < count; i++) choose_knob(seams, count, i, border, &state);
    for (int round = 0; round < 6 && tidy_once(seams, count, border) > 0; round++) continue;
    write_drafts(seams, count, border, argv[1]);
    for (size_t i = 0; i < count; i++) {
        draft_free(seams[i].drawn);
        GEOSGeom_destroy(seams[i].line);
    }
    GEOSGeom_destroy(lines);
    GEOSGeom_destroy(border);
    GEOSGeom_destroy(region);
    finishGEOS();
    return 0;
}
