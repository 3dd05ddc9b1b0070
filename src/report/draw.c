/* Pieces as SVG (draw.h). Points are kept in whole hundredths of a millimetre: relative path data then adds up without
 * drift, and two pieces draw their common seam through the very same points. */
#include "report/draw.h"

#include "base/arena.h"
#include "base/array.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct grid_point {
    int32_t x, y; /* hundredths of a millimetre */
} grid_point;

typedef struct line {
    const grid_point *points;
    size_t count;
} line;

struct draw_plan {
    const dt_pieces *pieces;
    dt_arena arena;
    line *seams;    /* by seam, simplified */
    uint8_t *tints; /* by piece */
};

/* A plan keeps each point of the seams once at 8 bytes, beside its scratch: far beyond the largest drawing that is
 * read. */
enum { PLAN_BYTES_LIMIT = 1 << 30 };

/* ---- simplifying ---- */

/* Largest distance between a seam and its drawing: not visible in print for few pieces; for thousands the size of the
 * file counts, and a pixel is far coarser. */
static double drawing_tolerance(size_t pieces) {
    return pieces <= DRAW_EXACT_PIECES ? 0.01 : pieces <= 1500 ? 0.03 : 0.08;
}

typedef struct span {
    size_t from, to;
} span;

/* The point of a stretch that is farthest from its chord, and how far. */
static size_t farthest(const dt_point *p, span s, double *distance) {
    size_t index = s.from;
    *distance = 0;
    for (size_t i = s.from + 1; i < s.to; i++) {
        double d = dt_segment_distance(p[i], p[s.from], p[s.to], NULL);
        if (d <= *distance) continue;
        *distance = d;
        index = i;
    }
    return index;
}

/* Marks the points to keep (Douglas and Peucker, The Canadian Cartographer 10, 1973), without recursion. */
static bool mark_kept(dt_path path, double tolerance, bool *kept) {
    DT_ARRAY(span) open = {0};
    bool ok = dt_array_push(&open, ((span){0, path.count - 1}));
    kept[0] = kept[path.count - 1] = true;
    while (ok && open.count > 0) {
        span s = open.items[--open.count];
        double distance;
        size_t middle = farthest(path.points, s, &distance);
        if (distance <= tolerance) continue;
        kept[middle] = true;
        ok = dt_array_push(&open, ((span){s.from, middle})) && dt_array_push(&open, ((span){middle, s.to}));
    }
    dt_array_free(&open);
    return ok;
}

/* A ring is cut at its first point and at the one farthest from it, so that a chord never closes on itself. */
static bool mark_ring(dt_path path, double tolerance, bool *kept) {
    size_t far = 0;
    for (size_t i = 1; i < path.count; i++)
        if (dt_point_distance(path.points[0], path.points[i]) > dt_point_distance(path.points[0], path.points[far]))
            far = i;
    dt_path first = {path.points, far + 1}, second = {path.points + far, path.count - far};
    return mark_kept(first, tolerance, kept) && mark_kept(second, tolerance, kept + far);
}

static grid_point to_grid(dt_point p) {
    return (grid_point){(int32_t)lround(p.x * 100), (int32_t)lround(p.y * 100)};
}

static bool simplify(dt_path path, bool closed, double tolerance, dt_arena *arena, line *out) {
    bool *kept = calloc(path.count + 1, sizeof *kept);
    bool ok = kept && path.count >= 2 && (closed ? mark_ring : mark_kept)(path, tolerance, kept);
    size_t count = 0;
    for (size_t i = 0; ok && i < path.count; i++) count += kept[i];
    grid_point *points = ok ? DT_TAKE(arena, count, grid_point) : NULL;
    count = 0;
    for (size_t i = 0; points && i < path.count; i++)
        if (kept[i]) points[count++] = to_grid(path.points[i]);
    free(kept);
    *out = (line){points, count};
    return points != NULL;
}

/* ---- tints ---- */

/* Pieces in smallest-last order: repeatedly the one with the fewest neighbours left is taken out, in buckets by that
 * number. */
typedef struct peeling {
    uint32_t *left;          /* neighbours still in, by piece */
    uint32_t *next, *before; /* bucket lists, by piece; DT_NO_INDEX ends */
    uint32_t *first;         /* by number of neighbours left */
    bool *out;
} peeling;

static void unlink_piece(peeling *p, uint32_t id) {
    if (p->before[id] == DT_NO_INDEX)
        p->first[p->left[id]] = p->next[id];
    else
        p->next[p->before[id]] = p->next[id];
    if (p->next[id] != DT_NO_INDEX) p->before[p->next[id]] = p->before[id];
}

static void link_piece(peeling *p, uint32_t id) {
    uint32_t *first = &p->first[p->left[id]];
    p->next[id] = *first;
    p->before[id] = DT_NO_INDEX;
    if (*first != DT_NO_INDEX) p->before[*first] = id;
    *first = id;
}

static bool peeling_begin(peeling *p, dt_arena *arena, const dt_graph *graph, uint32_t count) {
    p->left = DT_TAKE(arena, count, uint32_t);
    p->next = DT_TAKE(arena, count, uint32_t);
    p->before = DT_TAKE(arena, count, uint32_t);
    p->first = DT_TAKE(arena, count + 1, uint32_t);
    p->out = DT_TAKE(arena, count, bool);
    if (!p->left || !p->next || !p->before || !p->first || !p->out) return false;
    for (uint32_t i = 0; i <= count; i++) p->first[i] = DT_NO_INDEX;
    for (uint32_t i = count; i-- > 0;) {
        size_t around;
        dt_graph_around(graph, (dt_piece_id){i}, &around);
        p->left[i] = (uint32_t)around;
        link_piece(p, i);
    }
    return true;
}

static uint32_t take_smallest(peeling *p, const dt_graph *graph, uint32_t *bucket) {
    while (p->first[*bucket] == DT_NO_INDEX) (*bucket)++;
    uint32_t id = p->first[*bucket];
    unlink_piece(p, id);
    p->out[id] = true;
    size_t count;
    const dt_piece_id *around = dt_graph_around(graph, (dt_piece_id){id}, &count);
    for (size_t i = 0; i < count; i++) {
        uint32_t v = around[i].v;
        if (p->out[v]) continue;
        unlink_piece(p, v);
        p->left[v]--;
        link_piece(p, v);
    }
    if (*bucket > 0) (*bucket)--;
    return id;
}

/* A tint that no neighbour has; which one comes first is scattered over the pieces (multiplicative hashing, Knuth), so
 * that a regular sheet shows no stripes. */
static uint8_t free_tint(const uint8_t *tints, uint32_t id, const dt_piece_id *around, size_t count) {
    bool taken[DRAW_TINTS] = {false};
    for (size_t i = 0; i < count; i++)
        if (tints[around[i].v] < DRAW_TINTS) taken[tints[around[i].v]] = true;
    uint8_t first = (uint8_t)((id * 2654435761u >> 16) % DRAW_TINTS);
    for (uint8_t t = 0; t < DRAW_TINTS; t++)
        if (!taken[(first + t) % DRAW_TINTS]) return (uint8_t)((first + t) % DRAW_TINTS);
    return first;
}

static bool choose_tints(draw_plan *plan, const dt_graph *graph) {
    uint32_t count = (uint32_t)dt_pieces_count(plan->pieces), bucket = 0;
    peeling p;
    uint32_t *order = DT_TAKE(&plan->arena, count, uint32_t);
    plan->tints = DT_TAKE(&plan->arena, count, uint8_t);
    if (!order || !plan->tints || !peeling_begin(&p, &plan->arena, graph, count)) return false;
    for (uint32_t i = 0; i < count; i++) order[i] = take_smallest(&p, graph, &bucket);
    memset(plan->tints, DRAW_TINTS, count);
    for (uint32_t i = count; i-- > 0;) {
        size_t neighbours;
        const dt_piece_id *around = dt_graph_around(graph, (dt_piece_id){order[i]}, &neighbours);
        plan->tints[order[i]] = free_tint(plan->tints, order[i], around, neighbours);
    }
    return true;
}

/* ---- plan ---- */

static bool simplify_seams(draw_plan *plan, double tolerance) {
    size_t count = dt_pieces_seam_count(plan->pieces);
    plan->seams = DT_TAKE(&plan->arena, count, line);
    bool ok = plan->seams != NULL;
    for (uint32_t i = 0; ok && i < count; i++) {
        const dt_seam *seam = dt_pieces_seam(plan->pieces, (dt_seam_id){i});
        ok = simplify(seam->path, seam->closed, tolerance, &plan->arena, &plan->seams[i]);
    }
    return ok;
}

draw_plan *draw_plan_new(const dt_pieces *pieces, const dt_graph *graph) {
    return draw_plan_new_coarse(pieces, graph, drawing_tolerance(dt_pieces_count(pieces)));
}

draw_plan *draw_plan_new_coarse(const dt_pieces *pieces, const dt_graph *graph, double tolerance_mm) {
    draw_plan *plan = calloc(1, sizeof *plan);
    if (!plan) return NULL;
    plan->pieces = pieces;
    plan->arena = (dt_arena)DT_ARENA(PLAN_BYTES_LIMIT);
    if (simplify_seams(plan, tolerance_mm) && choose_tints(plan, graph)) return plan;
    draw_plan_free(plan);
    return NULL;
}

void draw_plan_free(draw_plan *plan) {
    if (!plan) return;
    dt_arena_free(&plan->arena);
    free(plan);
}

unsigned draw_tint(const draw_plan *plan, dt_piece_id id) {
    return plan->tints[id.v];
}

/* ---- path data ---- */

/* A number of hundredths as short as can be: 150 is "1.5", -7 is "-.07". Separated from a number before it. */
static void add_hundredths(dt_text *out, int32_t value, bool separate) {
    char text[16];
    uint32_t size = (uint32_t)abs(value), whole = size / 100, rest = size % 100;
    char *t = text;
    if (value < 0)
        *t++ = '-';
    else if (separate)
        *t++ = ' ';
    if (whole > 0 || rest == 0) t += snprintf(t, 12, "%u", (unsigned)whole);
    if (rest > 0) t += snprintf(t, 4, rest % 10 ? ".%02u" : ".%u", (unsigned)(rest % 10 ? rest : rest / 10));
    dt_text_add_bytes(out, text, (size_t)(t - text));
}

/* Writes points one after the other; a point where the pen already stands is left out. */
typedef struct pen {
    dt_text *out;
    grid_point at;
    bool down;
} pen;

static void pen_point(pen *p, grid_point to) {
    if (!p->down) {
        dt_text_add(p->out, "M");
        add_hundredths(p->out, to.x, false);
        add_hundredths(p->out, to.y, true);
        dt_text_add(p->out, "l");
    } else if (to.x != p->at.x || to.y != p->at.y) {
        bool first = p->out->bytes && p->out->length > 0 && p->out->bytes[p->out->length - 1] == 'l';
        add_hundredths(p->out, to.x - p->at.x, !first);
        add_hundredths(p->out, to.y - p->at.y, true);
    }
    p->at = to;
    p->down = true;
}

static void pen_line(pen *p, line l, bool reversed) {
    for (size_t i = 0; i < l.count; i++) pen_point(p, l.points[reversed ? l.count - 1 - i : i]);
}

static void pen_close(pen *p) {
    if (!p->down) return;
    if (p->out->bytes && p->out->bytes[p->out->length - 1] == 'l') dt_text_add(p->out, "0 0");
    dt_text_add(p->out, "z");
    p->down = false;
}

void draw_piece_data(const draw_plan *plan, dt_piece_id id, dt_text *out) {
    const dt_piece *piece = dt_pieces_get(plan->pieces, id);
    pen p = {out, {0, 0}, false};
    for (size_t i = 0; i < piece->side_count; i++) {
        const dt_side *side = &piece->sides[i];
        if (i > 0 && side->ring != piece->sides[i - 1].ring) pen_close(&p);
        pen_line(&p, plan->seams[side->seam.v], side->reversed);
    }
    pen_close(&p);
}

void draw_seam_data(const draw_plan *plan, dt_seam_id id, dt_text *out) {
    pen p = {out, {0, 0}, false};
    pen_line(&p, plan->seams[id.v], false);
    if (dt_pieces_seam(plan->pieces, id)->closed) pen_close(&p);
}

void draw_ring_data(dt_path path, bool closed, dt_text *out) {
    pen p = {out, {0, 0}, false};
    for (size_t i = 0; i < path.count; i++) pen_point(&p, to_grid(path.points[i]));
    if (closed) pen_close(&p);
}

void draw_pose(dt_pose pose, dt_text *out) {
    double sign = pose.flipped ? -1.0 : 1.0;
    dt_text_addf(out, "matrix(%.6f %.6f %.6f %.6f %.4f %.4f)", sign * pose.c, sign * pose.s, -pose.s, pose.c,
                 pose.shift.x, pose.shift.y);
}

/* ---- elements ---- */

void draw_pieces(const draw_plan *plan, dt_text *out) {
    for (uint32_t i = 0; i < dt_pieces_count(plan->pieces); i++) {
        const dt_piece *piece = dt_pieces_get(plan->pieces, (dt_piece_id){i});
        dt_text_addf(out, "<path class=\"t%u%s\" d=\"", draw_tint(plan, (dt_piece_id){i}), piece->whimsy ? " w" : "");
        draw_piece_data(plan, (dt_piece_id){i}, out);
        dt_text_add(out, "\"/>\n");
    }
    for (size_t i = 0; i < dt_pieces_void_count(plan->pieces); i++) {
        dt_text_add(out, "<path class=\"v\" d=\"");
        draw_ring_data(dt_pieces_void(plan->pieces, i)->outline, true, out);
        dt_text_add(out, "\"/>\n");
    }
}

/* Digits are about 0.6 em wide in any sans serif; a number may fill 80 % of the inscribed circle's width and is never
 * higher than 0.9 of its radius nor than 6 mm. Below 0.8 mm nobody can read it. */
double draw_number_height(const dt_piece *piece, dt_piece_id id) {
    double r = piece->inradius_mm;
    int digits = (int)floor(log10((double)id.v + 1.0)) + 1;
    double height = fmin(fmin(0.9 * r, 1.6 * r / (0.6 * digits)), 6.0);
    return height < 0.8 ? 0.0 : height;
}

void draw_loose(const dt_net *net, dt_text *out) {
    if (dt_net_loose_count(net) == 0) return;
    dt_text_add(out, "<path class=\"o\" d=\"");
    for (size_t i = 0; i < dt_net_loose_count(net); i++) draw_ring_data(dt_net_loose(net, i), false, out);
    dt_text_add(out, "\"/>\n");
}

void draw_numbers(const draw_plan *plan, dt_text *out) {
    for (uint32_t i = 0; i < dt_pieces_count(plan->pieces); i++) {
        const dt_piece *piece = dt_pieces_get(plan->pieces, (dt_piece_id){i});
        double height = draw_number_height(piece, (dt_piece_id){i});
        if (height <= 0) continue;
        dt_point at = piece->inside;
        dt_text_addf(out, "<text class=\"n\" x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\">%u</text>\n", at.x,
                     at.y + 0.35 * height, height, i + 1);
    }
}

void draw_marker(dt_point at, double radius, size_t number, dt_text *out) {
    double label = 0.8 * radius, x = at.x + 1.35 * radius, y = at.y - 1.35 * radius;
    dt_text_addf(out, "<circle class=\"f\" cx=\"%.2f\" cy=\"%.2f\" r=\"%.2f\" stroke-width=\"%.2f\"/>", at.x, at.y,
                 radius, 0.2 * radius);
    dt_text_addf(out, "<circle class=\"fd\" cx=\"%.2f\" cy=\"%.2f\" r=\"%.2f\"/>", x, y, label);
    dt_text_addf(out, "<text class=\"fn\" x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\">%zu</text>\n", x, y + 0.36 * label,
                 number < 10    ? 1.15 * label
                 : number < 100 ? 0.95 * label
                                : 0.7 * label,
                 number);
}

void draw_moved_marks(double spacing_mm, dt_text *out) {
    double middle = 0.5 * spacing_mm;
    dt_text_addf(out,
                 "<defs><pattern id=\"stripes\" width=\"%.2f\" height=\"%.2f\" patternUnits=\"userSpaceOnUse\" "
                 "patternTransform=\"rotate(45)\"><path d=\"M0 %.2fH%.2f\" stroke=\"#1d2b2c\" stroke-opacity=\".6\" "
                 "stroke-width=\"%.2f\"/></pattern>",
                 spacing_mm, spacing_mm, middle, spacing_mm, 0.12 * spacing_mm);
    dt_text_addf(out,
                 "<pattern id=\"dots\" width=\"%.2f\" height=\"%.2f\" patternUnits=\"userSpaceOnUse\">"
                 "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"%.2f\" fill=\"#1d2b2c\"/></pattern></defs>\n",
                 spacing_mm, spacing_mm, middle, middle, 0.16 * spacing_mm);
}

void draw_style(dt_text *out) {
    dt_text_add(out,
                "<style>"
                ".t0{fill:#c7d2b7}.t1{fill:#c6eefa}.t2{fill:#e1c7d2}.t3{fill:#f9f2d0}.t4{fill:#ddf2e7}.t5{fill:#bbceea}"
                ".t0,.t1,.t2,.t3,.t4,.t5{fill-rule:evenodd;stroke:#3d4f4a;stroke-width:.25;stroke-linejoin:round}"
                ".w{stroke:#7a5a00;stroke-width:.5}.v{fill:#fff;stroke:#3d4f4a;stroke-width:.25;stroke-dasharray:1 .8}"
                ".n,.fn,.tl,.l{font-family:'Noto Sans','DejaVu Sans',sans-serif;fill:#24312d}"
                ".n,.fn,.tl{text-anchor:middle}"
                ".o{fill:none;stroke:#b3261e;stroke-width:.5;stroke-linejoin:round}"
                ".f{fill:none;stroke:#b3261e}.fd{fill:#b3261e}.fn{fill:#fff;font-weight:bold}"
                ".tw{fill:none;stroke:#12507b;stroke-width:.8;stroke-dasharray:2 .8;stroke-linejoin:round}"
                ".td{fill:#12507b}.tl{fill:#fff;font-weight:bold}"
                ".m0{fill:#e69f00}.m1{fill:#56b4e9}.m2{fill:#2fb58a}.m3{fill:#f0e442}.m4{fill:#dd96bb}.m5{fill:#e8793a}"
                ".m0,.m1,.m2,.m3,.m4,.m5{fill-rule:evenodd;stroke:#1d2b2c;stroke-width:.4;stroke-linejoin:round}"
                ".over-1{fill:url(#stripes)}.over-2{fill:url(#dots)}.over-1,.over-2{fill-rule:evenodd}"
                ".still .t0,.still .t1,.still .t2,.still .t3,.still .t4,.still .t5{fill:#fbfbf8}"
                "</style>\n");
}
