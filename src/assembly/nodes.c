/* Lines and wedges of a drawing: see nodes.h. */
#include "nodes.h"

#include "assembly/problem.h"

#include <string.h>

static const double PI = 3.14159265358979323846;

/* ---- lines ---- */

static dt_path ring_of(const dt_piece *piece, size_t ring) {
    return ring ? piece->holes[ring - 1] : piece->outline;
}

static bool add_line(dt_node_map *g, uint32_t piece, dt_path path, bool over) {
    dt_owned_line *line = &g->lines[g->line_count++];
    line->piece = piece;
    line->over = over;
    return path.points && dt_line_make(path, DT_SHARP_SCALE_MM, DT_KNEE_MM, g->arena, &line->line);
}

/* All lines of the pieces as drawn come before those turned over. */
static bool make_lines(dt_node_map *g, bool two_sided) {
    size_t count = 0, n = dt_pieces_count(g->pieces);
    for (uint32_t p = 0; p < n; p++) count += 1 + dt_pieces_get(g->pieces, (dt_piece_id){p})->hole_count;
    g->lines = DT_TAKE(g->arena, 2 * count, dt_owned_line);
    for (int over = 0; g->lines && over <= (two_sided ? 1 : 0); over++)
        for (uint32_t p = 0; p < n; p++) {
            const dt_piece *piece = dt_pieces_get(g->pieces, (dt_piece_id){p});
            for (size_t r = 0; r <= piece->hole_count; r++) {
                dt_path ring = ring_of(piece, r);
                if (!add_line(g, p, over ? dt_path_turned_over(g->arena, ring) : ring, over)) return false;
            }
        }
    return g->lines != NULL;
}

static bool make_rims(dt_node_map *g) {
    size_t count = g->region->ring_count;
    g->rims = DT_TAKE(g->arena, count, dt_line);
    g->rims_over = DT_TAKE(g->arena, count, dt_line);
    if (!g->rims || !g->rims_over) return false;
    for (size_t r = 0; r < count; r++, g->rim_count++) {
        dt_path path = dt_path_backwards(g->arena, g->region->rings[r]), over = dt_path_turned_over(g->arena, path);
        if (!path.points || !over.points || !dt_line_make(path, DT_SHARP_SCALE_MM, DT_KNEE_MM, g->arena, &g->rims[r]))
            return false;
        if (!dt_line_make(over, DT_SHARP_SCALE_MM, DT_KNEE_MM, g->arena, &g->rims_over[r])) return false;
    }
    return true;
}

/* ---- wedges ---- */

/* Where lines that were meant to meet in a point miss each other a little, the drawing has two nodes and a tiny seam
 * between. */
static bool is_tiny(const dt_node_map *g, const dt_side *side) {
    static const double TINY_MM = 0.3;
    return dt_pieces_seam(g->pieces, side->seam)->length < TINY_MM;
}

static size_t next_side(const dt_piece *piece, size_t k) {
    size_t next = k + 1;
    if (next < piece->side_count && piece->sides[next].ring == piece->sides[k].ring) return next;
    while (k > 0 && piece->sides[k - 1].ring == piece->sides[k].ring) k--;
    return k;
}

/* The next side that is not tiny; the side itself where there is no other. */
static size_t next_long_side(const dt_node_map *g, const dt_piece *piece, size_t k) {
    size_t next = next_side(piece, k);
    while (next != k && is_tiny(g, &piece->sides[next])) next = next_side(piece, next);
    return next;
}

static uint32_t root_of(uint32_t *parent, uint32_t node) {
    while (parent[node] != node) node = parent[node] = parent[parent[node]];
    return node;
}

/* Nodes at the ends of tiny seams are one. */
static bool join_nodes(dt_node_map *g) {
    g->joined = DT_TAKE(g->arena, g->node_count, uint32_t);
    if (!g->joined) return false;
    for (uint32_t i = 0; i < g->node_count; i++) g->joined[i] = i;
    for (uint32_t s = 0; s < dt_pieces_seam_count(g->pieces); s++) {
        const dt_seam *seam = dt_pieces_seam(g->pieces, (dt_seam_id){s});
        if (is_tiny(g, &(dt_side){.seam = {s}}) && !seam->closed)
            g->joined[root_of(g->joined, seam->to)] = root_of(g->joined, seam->from);
    }
    return true;
}

static bool is_beside_outside(const dt_node_map *g, uint32_t piece, const dt_side *side) {
    return !DT_IS_PIECE(dt_pieces_across(g->pieces, (dt_piece_id){piece}, side));
}

static void add_wedge(dt_node_map *g, uint32_t piece, uint32_t first_line, const dt_side *in, const dt_side *out) {
    const dt_seam *seam = dt_pieces_seam(g->pieces, out->seam);
    uint32_t index = (uint32_t)g->wedge_count, node = root_of(g->joined, out->reversed ? seam->to : seam->from),
             line = first_line + out->ring;
    double at = g->lines[line].line.arc[out->start];
    g->wedges[g->wedge_count++] = (dt_node_wedge){
        .piece = piece,
        .line = line,
        .in = in->seam.v,
        .out = out->seam.v,
        .node = node,
        .next = g->first_at_node[node],
        .at = at,
        .angle = PI - dt_line_turn(&g->lines[line].line, at, DT_KNEE_MM),
        .beside_outside = is_beside_outside(g, piece, in) || is_beside_outside(g, piece, out)};
    g->first_at_node[node] = index;
}

static uint32_t count_nodes(const dt_pieces *pieces, size_t *sides) {
    uint32_t most = 0;
    *sides = 0;
    for (uint32_t s = 0; s < dt_pieces_seam_count(pieces); s++) {
        const dt_seam *seam = dt_pieces_seam(pieces, (dt_seam_id){s});
        most = seam->from > most ? seam->from : most;
        most = seam->to > most ? seam->to : most;
        *sides += 2;
    }
    return most + 1;
}

static bool list_wedges(dt_node_map *g) {
    size_t sides, n = dt_pieces_count(g->pieces);
    g->node_count = count_nodes(g->pieces, &sides);
    g->wedges = DT_TAKE(g->arena, sides, dt_node_wedge);
    g->first_at_node = DT_TAKE(g->arena, g->node_count, uint32_t);
    g->first_wedge_of_piece = DT_TAKE(g->arena, n + 1, uint32_t);
    if (!join_nodes(g)) return false;
    if (!g->wedges || !g->first_at_node || !g->first_wedge_of_piece) return false;
    memset(g->first_at_node, 0xff, g->node_count * sizeof *g->first_at_node); /* DT_NONE */
    uint32_t first_line = 0;
    for (uint32_t p = 0; p < n; p++) {
        const dt_piece *piece = dt_pieces_get(g->pieces, (dt_piece_id){p});
        g->first_wedge_of_piece[p] = (uint32_t)g->wedge_count;
        for (size_t k = 0; k < piece->side_count; k++) {
            const dt_side *in = &piece->sides[k], *out = &piece->sides[next_long_side(g, piece, k)];
            if (!dt_pieces_seam(g->pieces, in->seam)->closed && !is_tiny(g, in)) add_wedge(g, p, first_line, in, out);
        }
        first_line += 1 + (uint32_t)piece->hole_count;
    }
    g->first_wedge_of_piece[n] = (uint32_t)g->wedge_count;
    return true;
}

/* Breadth first, from the pieces that lie along the outside. */
static bool find_depths(dt_node_map *g) {
    uint32_t n = (uint32_t)dt_pieces_count(g->pieces), reached = 0, *queue = DT_TAKE(g->arena, n, uint32_t);
    g->depth = DT_TAKE(g->arena, n, uint32_t);
    if (!queue || !g->depth) return false;
    for (uint32_t p = 0; p < n; p++) {
        const dt_piece *piece = dt_pieces_get(g->pieces, (dt_piece_id){p});
        g->depth[p] = DT_NONE;
        for (size_t k = 0; k < piece->side_count && g->depth[p]; k++)
            if (is_beside_outside(g, p, &piece->sides[k])) g->depth[p] = 0;
        if (!g->depth[p]) queue[reached++] = p;
    }
    for (uint32_t i = 0; i < reached; i++) {
        const dt_piece *piece = dt_pieces_get(g->pieces, (dt_piece_id){queue[i]});
        for (size_t k = 0; k < piece->side_count; k++) {
            dt_piece_id next = dt_pieces_across(g->pieces, (dt_piece_id){queue[i]}, &piece->sides[k]);
            if (!DT_IS_PIECE(next) || g->depth[next.v] != DT_NONE) continue;
            g->depth[next.v] = g->depth[queue[i]] + 1;
            queue[reached++] = next.v;
        }
    }
    return true;
}

bool dt_node_map_make(const dt_pieces *pieces, const dt_region *region, bool two_sided, dt_arena *arena,
                      dt_node_map *out) {
    *out = (dt_node_map){.pieces = pieces, .region = region, .arena = arena};
    return make_lines(out, two_sided) && make_rims(out) && list_wedges(out) && find_depths(out);
}
