/* Dissections with a planted assembly: see planted.h. Each edge of a core is drawn on beyond its end until it meets the
 * sheet's border, so the rest of the sheet falls into convex parts that are cut once more at random. */
#include "planted.h"

#include <math.h>
#include <string.h>

enum { MOST_CORNERS = 16 };
static const double PI = 3.14159265358979323846;

const char *const planting_names[PLANTINGS] = {"half turn", "turned over", "exchanged", "not planted"};

typedef struct polygon {
    dt_point at[MOST_CORNERS];
    unsigned count;
} polygon;

static double between(uint64_t *state, double low, double high) {
    return low + (high - low) * draft_random(state);
}

static dt_point along(dt_point a, dt_point b, double t) {
    return (dt_point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
}

static double cross_of(dt_point a, dt_point b) {
    return a.x * b.y - a.y * b.x;
}

/* ---- cores ---- */

/* Corners on an ellipse: convex whatever their angles. */
static polygon core_shape(planting kind, uint64_t *state) {
    polygon core = {.count = kind == HALF_TURN ? 4 + 2 * (draft_random(state) < 0.5) : 4 + (draft_random(state) < 0.5)};
    unsigned half = core.count / 2;
    double long_axis = between(state, 19, 23), short_axis = between(state, 14, 18), angles[MOST_CORNERS];
    for (unsigned i = 0; i < core.count; i++) angles[i] = 2.0 * PI * (i + between(state, -0.28, 0.28)) / core.count;
    for (unsigned i = 0; kind == HALF_TURN && i < half; i++) angles[i + half] = angles[i] + PI;
    for (unsigned i = 0; kind == TURNED_OVER && i < half; i++) angles[core.count - 1 - i] = 2.0 * PI - angles[i];
    if (kind == TURNED_OVER && core.count % 2) angles[half] = PI;
    if (kind == TURNED_OVER)
        for (unsigned i = 0; i < half; i++) {
            angles[i] = PI * (i + 0.5 + between(state, -0.25, 0.25)) / (half + (core.count % 2) * 0.5);
            angles[core.count - 1 - i] = 2.0 * PI - angles[i];
        }
    for (unsigned i = 0; i < core.count; i++)
        core.at[i] = (dt_point){long_axis * cos(angles[i]), short_axis * sin(angles[i])};
    return core;
}

/* Handles of the edges as shares of their chords, along and across. */
typedef struct bows {
    double across[MOST_CORNERS][2];
} bows;

static bows core_bows(const polygon *core, planting kind, bool curved, uint64_t *state) {
    bows b = {{{0.0, 0.0}}};
    unsigned n = core->count;
    for (unsigned i = 0; curved && i < n; i++)
        for (int k = 0; k < 2; k++) b.across[i][k] = between(state, -0.18, 0.18);
    for (unsigned i = 0; kind == HALF_TURN && i < n / 2; i++)
        memcpy(b.across[i + n / 2], b.across[i], sizeof b.across[i]);
    for (unsigned i = 0; kind == TURNED_OVER && i < n;
         i++) { /* edge i runs from corner i; its mirror image from corner n - 2 - i */
        unsigned mirror = (2 * n - 2 - i) % n;
        if (mirror < i) continue;
        b.across[mirror][0] = b.across[i][1];
        b.across[mirror][1] = b.across[i][0];
        if (mirror == i) b.across[i][1] = b.across[i][0];
    }
    return b;
}

static void edge_handles(const polygon *core, const bows *b, unsigned i, dt_point handles[4]) {
    dt_point p = core->at[i], q = core->at[(i + 1) % core->count], d = dt_point_sub(q, p);
    dt_point normal = {-d.y, d.x};
    handles[0] = p;
    handles[3] = q;
    for (int k = 0; k < 2; k++)
        handles[k + 1] = dt_point_add(along(p, q, (k + 1) / 3.0), dt_point_scale(normal, b->across[i][k]));
}

static dt_point on_edge(const polygon *core, const bows *b, unsigned i, double t) {
    dt_point h[4];
    edge_handles(core, b, i, h);
    double u = 1.0 - t, w[4] = {u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t};
    dt_point p = {0.0, 0.0};
    for (int k = 0; k < 4; k++) p = dt_point_add(p, dt_point_scale(h[k], w[k]));
    return p;
}

static void draw_cut(draft *d, dt_point p, dt_point q, bool curved, uint64_t *state) {
    dt_point by = dt_point_sub(q, p), normal = {-by.y, by.x};
    double first = between(state, -0.12, 0.12), second = between(state, -0.12, 0.12);
    draft_move(d, p);
    if (!curved) draft_line(d, q);
    else draft_cubic(d, dt_point_add(along(p, q, 0.33), dt_point_scale(normal, first)),
                     dt_point_add(along(p, q, 0.67), dt_point_scale(normal, second)), q);
}

/* ---- what lies around ---- */

static dt_point hit(const polygon *sheet, dt_point from, dt_point way, unsigned *edge) {
    double best = INFINITY;
    for (unsigned i = 0; i < sheet->count; i++) {
        dt_point a = sheet->at[i], ab = dt_point_sub(sheet->at[(i + 1) % sheet->count], a), off = dt_point_sub(a, from);
        double sine = cross_of(way, ab);
        if (fabs(sine) < 1e-9) continue;
        double t = cross_of(off, ab) / sine, u = cross_of(off, way) / sine;
        if (t <= 0.0 || u < 0.0 || u > 1.0 || t >= best) continue;
        best = t;
        *edge = i;
    }
    return dt_point_add(from, dt_point_scale(way, best));
}

static void cut_polygon(draft *d, const polygon *p, uint64_t *state) {
    unsigned i = (unsigned)(draft_random(state) * p->count),
             j = (i + 1 + (unsigned)(draft_random(state) * (p->count - 1))) % p->count;
    dt_point a = along(p->at[i], p->at[(i + 1) % p->count], between(state, 0.3, 0.7));
    dt_point b = along(p->at[j], p->at[(j + 1) % p->count], between(state, 0.3, 0.7));
    if (dt_point_distance(a, b) > 6.0) draft_segment(d, a.x, a.y, b.x, b.y);
}

/* The part of the sheet between the drawn-on edges i and i + 1 of a core whose corners run as the sheet's do. */
static void cut_part(draft *d, const polygon *sheet, const polygon *core, const dt_point *ends, const unsigned *edges,
                     uint64_t *state) {
    for (unsigned i = 0; i < core->count; i++) {
        unsigned after = (i + 1) % core->count;
        polygon part = {.count = 0};
        part.at[part.count++] = core->at[after];
        part.at[part.count++] = ends[i];
        for (unsigned e = edges[i]; e != edges[after] && part.count < MOST_CORNERS - 2; e = (e + 1) % sheet->count)
            part.at[part.count++] = sheet->at[(e + 1) % sheet->count];
        part.at[part.count++] = ends[after];
        if (draft_random(state) < 0.7) cut_polygon(d, &part, state);
    }
}

static void draw_core(draft *d, const polygon *sheet, const polygon *core, const bows *b, bool curved,
                      uint64_t *state) {
    dt_point ends[MOST_CORNERS];
    unsigned edges[MOST_CORNERS] = {0}, n = core->count;
    for (unsigned i = 0; i < n; i++) {
        dt_point h[4];
        edge_handles(core, b, i, h);
        ends[i] = hit(sheet, h[3], dt_point_sub(h[3], h[0]), &edges[i]);
        draft_move(d, h[0]);
        if (curved) draft_cubic(d, h[1], h[2], h[3]);
        draft_line(d, ends[i]);
    }
    cut_part(d, sheet, core, ends, edges, state);
    unsigned i = (unsigned)(draft_random(state) * n), j = (i + (n > 4 && draft_random(state) < 0.5 ? 3u : 2u)) % n;
    draw_cut(d, on_edge(core, b, i, between(state, 0.15, 0.4)), on_edge(core, b, j, between(state, 0.2, 0.8)), curved,
             state);
}

static polygon moved_polygon(const polygon *p, dt_pose pose) {
    polygon out = {.count = p->count};
    for (unsigned i = 0; i < p->count; i++) out.at[i] = dt_pose_apply(pose, p->at[i]);
    return out;
}

void draw_planted(draft *d, planting kind, bool curved, uint64_t seed) {
    uint64_t state = seed * 7919 + (uint64_t)kind;
    for (int i = 0; i < 8; i++) draft_random(&state);
    polygon core = core_shape(kind, &state);
    bows b = core_bows(&core, kind, curved, &state);
    double width = kind == EXCHANGED ? 150.0 : 90.0, height = 75.0;
    polygon sheet = {.count = 4, .at = {{0, 0}, {width, 0}, {width, height}, {0, height}}};
    for (unsigned i = 0; i < 4; i++)
        sheet.at[i] = dt_point_add(sheet.at[i], (dt_point){between(&state, -6, 6), between(&state, -6, 6)});
    draft_polyline(d, sheet.at, sheet.count, true);
    for (int half = 0; half < (kind == EXCHANGED ? 2 : 1); half++) {
        polygon room = sheet;
        dt_point top = along(sheet.at[0], sheet.at[1], 0.52), bottom = along(sheet.at[3], sheet.at[2], 0.48);
        if (kind == EXCHANGED && half == 0) room = (polygon){{sheet.at[0], top, bottom, sheet.at[3]}, 4};
        if (kind == EXCHANGED && half == 1) room = (polygon){{top, sheet.at[1], sheet.at[2], bottom}, 4};
        if (kind == EXCHANGED && half == 0) draft_segment(d, top.x, top.y, bottom.x, bottom.y);
        dt_point middle = dt_point_scale(
            dt_point_add(dt_point_add(room.at[0], room.at[1]), dt_point_add(room.at[2], room.at[3])), 0.25);
        dt_pose pose = dt_pose_about(between(&state, 0, 360), false, (dt_point){0, 0}, middle);
        polygon laid = moved_polygon(&core, pose);
        draw_core(d, &room, &laid, &b, curved, &state);
    }
}
