/* Forced pieces: see forced.h. Junctions are those of the drawing, poses of forced pieces are exact, so no error adds
 * up. */
#include "forced.h"

#include "assembly/vector.h"
#include "assembly/nodes.h"
#include "base/workers.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const double SAME_MM = 1.0; /* poses that move no corner of a piece by more are one place */
static const double PLACED_STEP_MM = 0.2;
enum { MOST_ROOTS = 64 }; /* corners of an outline */

/* Wedges are asked in this order: narrow ones first, since the wider a gap, the more pairs of pieces may share it, and a
 * piece that is met at a narrow corner need not be asked for at its wider ones. With the whole moved: those nearest to the
 * outline first, since it is there that the whole does not fit. What costs more than the patience is put off until nothing
 * else is left: then that grows. */
enum { KINDS = 24 };
enum { FIRST_PATIENCE = 1600, MORE_PATIENCE = 8 };
static const double NARROW = 1.2, WIDER = 0.05; /* radians: up to there all are alike; then by so much */

typedef struct growth {
    const dt_pieces *pieces;
    const dt_region *region;
    const dt_watch *watch;
    uint64_t steps; /* tips that may be compared with a gap */
    dt_arena *arena;
    dt_node_map map;
    dt_fillers fillers;
    dt_filling filling, second; /* the last answers */
    bool was_cut;               /* since the patience grew last, a question was cut */
    dt_pose whole;              /* the drawn assembly is taken to lie so in the outline */
    bool is_moved;              /* whole is not the identity */
    dt_point hinge;             /* the outline's corner that the whole was moved to, */
    double reach;               /* and how far from there pieces are known to lie along the outline, mm */
    bool is_dead;               /* with the whole so moved there is a gap that nothing can fill */
    bool *placed;               /* by piece */
    bool *forced;               /* by piece: what every piece tried so far forces */
    uint32_t *was_asked, asks;  /* by wedge: in which round it was asked last */
    uint32_t *had_rivals;       /* by wedge: in which round others filled its gap as well */
    size_t placed_count;
    DT_ARRAY(uint32_t) waiting[KINDS]; /* wedges to ask */
    size_t asked[KINDS];
} growth;

/* ---- gaps ---- */

static dt_edge edge_of(const dt_line *line, double at) {
    return (dt_edge){line, DT_POSE_IDENTITY, at};
}

static double distance_to_rims(const growth *g, dt_point p) {
    double least = INFINITY;
    for (size_t r = 0; r < g->map.rim_count; r++) least = fmin(least, dt_path_distance(g->map.rims[r].path, true, p));
    return least;
}

/* The container's line at a point of the drawn outline, when the whole lies where g->whole puts it: the container is
 * seen moved back. */
static bool moved_rim_at(const growth *g, dt_point p, dt_edge *edge) {
    const dt_line *rims = g->whole.flipped ? g->map.rims_over : g->map.rims;
    dt_point q = dt_pose_apply(g->whole, p), shift = g->whole.shift;
    double least = g->fillers.room;
    if (g->whole.flipped) q.x = -q.x, shift.x = -shift.x;
    edge->pose = (dt_pose){g->whole.c, g->whole.flipped ? g->whole.s : -g->whole.s, {0.0, 0.0}, false};
    edge->pose.shift = dt_point_scale(turn_by(edge->pose, shift), -1.0);
    edge->line = NULL;
    for (size_t r = 0; r < g->map.rim_count; r++) {
        dt_line_foot foot = dt_line_nearest(&rims[r], q, 0.0, rims[r].length);
        if (foot.distance >= least) continue;
        least = foot.distance;
        edge->line = &rims[r];
        edge->at = foot.arc;
    }
    return edge->line != NULL;
}

/* The container's line at a node of the outline; false where none or more than one passes. */
static bool rim_at(const growth *g, dt_point p, dt_edge *edge) {
    size_t found = 0;
    if (g->is_moved) return moved_rim_at(g, p, edge);
    for (size_t r = 0; r < g->map.rim_count; r++)
        for (size_t i = 0; i < g->map.rims[r].path.count; i++) {
            dt_point q = g->map.rims[r].path.points[i];
            if (q.x != p.x || q.y != p.y) continue;
            *edge = edge_of(&g->map.rims[r], g->map.rims[r].arc[i]);
            found++;
        }
    return found == 1;
}

static bool is_outside(const growth *g, uint32_t seam) {
    return !DT_IS_PIECE(dt_pieces_seam(g->pieces, (dt_seam_id){seam})->b);
}

/* The wedge at the same node on the other side of one of the wedge's two seams, or NULL. */
static const dt_node_wedge *beside(const growth *g, const dt_node_wedge *w, bool onward) {
    uint32_t seam = onward ? w->in : w->out;
    for (uint32_t i = g->map.first_at_node[w->node]; i != DT_NONE; i = g->map.wedges[i].next) {
        const dt_node_wedge *other = &g->map.wedges[i];
        if (other != w && (onward ? other->out : other->in) == seam) return other;
    }
    return NULL;
}

/* The line next to a wedge, if it is placed; beyond: or the next placed one, going on round the node. */
static bool find_edge(const growth *g, const dt_node_wedge *w, bool onward, bool beyond, dt_edge *edge) {
    enum { MOST_ROUND = 32 };
    for (int i = 0; w && i < MOST_ROUND; i++) {
        if (is_outside(g, onward ? w->in : w->out))
            return rim_at(g, dt_line_at(&g->map.lines[w->line].line, w->at), edge);
        w = beside(g, w, onward);
        if (w && g->placed[w->piece]) *edge = edge_of(&g->map.lines[w->line].line, w->at);
        if (w && g->placed[w->piece]) return true;
        if (!beyond) return false;
    }
    return false;
}

static bool is_at_home(const growth *g, const dt_filler *filler) {
    if (filler->owner->over) return false;
    dt_box box = dt_pieces_get(g->pieces, (dt_piece_id){filler->owner->piece})->box;
    dt_point corners[4] = {box.low, {box.high.x, box.low.y}, box.high, {box.low.x, box.high.y}};
    for (int i = 0; i < 4; i++)
        if (dt_point_distance(carry(filler->pose, corners[i]), corners[i]) > SAME_MM) return false;
    return true;
}

/* ---- who else? ---- */

/* The other wedge of the same piece at the far end of a seam that the wedge has. */
static const dt_node_wedge *far_wedge(const growth *g, const dt_node_wedge *w, bool onward) {
    for (uint32_t i = g->map.first_wedge_of_piece[w->piece]; i < g->map.first_wedge_of_piece[w->piece + 1]; i++) {
        const dt_node_wedge *other = &g->map.wedges[i];
        if (onward ? other->out == w->in : other->in == w->out) return other;
    }
    return NULL;
}

/* The outline of what is placed, about a node: along the line that arrives there and on along the one that leaves. */
enum { EACH_WAY = 240 }; /* longer than a leg is compared, from wherever about the node it begins */

static bool make_placed_line(const dt_gap_lines *gap, dt_arena *scratch, dt_line *out) {
    dt_point *points = DT_TAKE(scratch, 2 * EACH_WAY + 1, dt_point);
    if (!points) return false;
    for (int i = -EACH_WAY; i <= EACH_WAY; i++) {
        const dt_edge *edge = i < 0 ? &gap->back : &gap->onward;
        points[i + EACH_WAY] = carry(edge->pose, dt_line_at(edge->line, edge->at + i * PLACED_STEP_MM));
    }
    return dt_line_make((dt_path){points, 2 * EACH_WAY + 1}, DT_SHARP_SCALE_MM, DT_KNEE_MM, scratch, out);
}

/* The sharp tip nearest to an arc, which is the end of the stretch that it stands for. */
static double tip_near(const dt_line *line, double arc) {
    double best = arc, least = INFINITY;
    for (size_t k = 0; k < line->tip_count; k++) {
        double off = fabs(remainder(line->tips[k].at - arc, line->length));
        if (!line->tips[k].sharp || off >= least) continue;
        least = off;
        best = line->tips[k].at;
    }
    return best;
}

/* Where the piece stops following a placed line, a gap opens between its next side and the outline of what is placed.
 * Can nothing fill it? */
static bool cannot_be_filled(growth *g, const dt_filler *f, bool onward, const dt_line *placed, double node) {
    static const double CLOSE_BY_MM = 3.0;
    const double most = 3.0 * g->fillers.room;
    dt_edge own = {&f->owner->line, f->pose, onward ? f->tip->at - f->tip->behind : f->tip->at + f->tip->ahead};
    own.at = tip_near(own.line, own.at);
    dt_point end = carry(f->pose, dt_line_at(own.line, own.at));
    dt_line_foot foot = dt_line_nearest(placed, end, node, 2.0 * CLOSE_BY_MM);
    if (dt_point_distance(end, dt_line_at(placed, node)) > CLOSE_BY_MM) return false; /* it ends elsewhere */
    if (foot.distance > most)
        return dt_point_dot(foot.normal, dt_point_sub(end, foot.at)) > 0.0; /* does it lie upon what is placed? */
    dt_edge other = edge_of(placed, foot.arc);
    dt_gap_lines gap = onward ? (dt_gap_lines){other, own, 0.0} : (dt_gap_lines){own, other, 0.0};
    gap.angle = dt_gap_angle(&gap, DT_KNEE_MM);
    if (gap.angle < g->fillers.narrowest / 2.0) return false; /* the lines run along each other: no gap at all */
    g->placed[f->owner->piece] = true;
    dt_fillers_find_alone(&g->fillers, &gap, g->placed, &g->second);
    bool none = !g->second.unknown && g->second.count == 0;
    if (none) dt_fillers_find_sharers(&g->fillers, &gap, g->placed, &g->second);
    g->was_cut = g->was_cut || g->second.cut;
    g->placed[f->owner->piece] = false;
    return none && !g->second.unknown && !dt_filling_is_shared(&g->second);
}

/* With another piece in the wedge's gap: is there a hole at the far end of the line that it follows? */
static bool leaves_hole(growth *g, const dt_node_wedge *w, const dt_filler *f, bool onward) {
    const dt_node_wedge *far = far_wedge(g, w, onward);
    dt_arena scratch = DT_ARENA((size_t)1 << 20);
    dt_gap_lines gap;
    dt_line placed;
    bool hole = far && find_edge(g, far, true, onward, &gap.onward) && find_edge(g, far, false, !onward, &gap.back) &&
                make_placed_line(&gap, &scratch, &placed) &&
                cannot_be_filled(g, f, onward, &placed, EACH_WAY * PLACED_STEP_MM);
    dt_arena_free(&scratch);
    return hole;
}

/* The same, where the wedge's own piece would leave none: else the place cannot be judged. */
static bool is_refused(growth *g, const dt_node_wedge *w, const dt_filler *own, const dt_filler *other, bool onward) {
    return leaves_hole(g, w, other, onward) && !leaves_hole(g, w, own, onward);
}

static bool is_own(const growth *g, const dt_node_wedge *w, const dt_filler *f) {
    return f->owner->piece == w->piece && is_at_home(g, f);
}

static const dt_filler *own_filler(const growth *g, const dt_node_wedge *w) {
    for (size_t i = 0; i < g->filling.count; i++)
        if (is_own(g, w, &g->filling.alone[i])) return &g->filling.alone[i];
    return NULL;
}

/* The lines on both sides of a wedge, and what may fill the gap between them; false where that cannot be told. Who
 * could share it is of no use where another piece fills it alone and the wedge's own does not. */
static bool ask(growth *g, const dt_node_wedge *w) {
    dt_gap_lines gap;
    if (!find_edge(g, w, true, false, &gap.onward) || !find_edge(g, w, false, false, &gap.back)) return false;
    gap.angle = w->angle;
    dt_fillers_find_alone(&g->fillers, &gap, g->placed, &g->filling);
    if (!g->filling.count || own_filler(g, w)) dt_fillers_find_sharers(&g->fillers, &gap, g->placed, &g->filling);
    g->was_cut = g->was_cut || g->filling.cut;
    return !g->filling.unknown;
}

/* With the whole moved nothing fills the gap. Is that due to the outline, which is another there than where it is
 * drawn? */
static bool is_dead_end(growth *g, const dt_node_wedge *w) {
    if (!g->is_moved || g->filling.count || dt_filling_is_shared(&g->filling)) return false;
    g->is_moved = false;
    bool fits_as_drawn = ask(g, w) && own_filler(g, w);
    g->is_moved = true;
    g->filling.count = 0;
    return fits_as_drawn;
}

/* Do others fill the gap as well that nothing refuses? */
static bool has_rivals(growth *g, const dt_node_wedge *w, const dt_filler *own) {
    for (size_t i = 0; i < g->filling.count; i++) {
        const dt_filler *f = &g->filling.alone[i];
        if (!is_own(g, w, f) && !is_refused(g, w, own, f, true) && !is_refused(g, w, own, f, false)) return true;
    }
    for (int leg = 0; leg < 2; leg++)
        for (size_t i = 0; i < g->filling.sharer_count[leg]; i++)
            if (!is_refused(g, w, own, &g->filling.sharers[leg][i], leg == 0)) return true;
    return false;
}

/* Is the gap at the wedge filled by its own piece alone, in its drawn place? */
static bool is_forced(growth *g, uint32_t index) {
    const dt_node_wedge *w = &g->map.wedges[index];
    if (g->was_asked[index] == g->asks || !ask(g, w)) return false;
    g->was_asked[index] = g->asks;
    g->is_dead = is_dead_end(g, w);
    const dt_filler *own = own_filler(g, w);
    if (!own) return false;
    if (has_rivals(g, w, own)) {
        g->had_rivals[index] = g->asks;
        return false;
    }
    if (g->is_moved && w->beside_outside) {
        dt_point node = dt_line_at(&g->map.lines[w->line].line, w->at);
        g->reach = fmax(g->reach, dt_point_distance(dt_pose_apply(g->whole, node), g->hinge));
    }
    return true;
}

/* ---- growing ---- */

static bool push_wedge(growth *g, uint32_t index) {
    const dt_node_wedge *w = &g->map.wedges[index];
    double rank = g->is_moved ? g->map.depth[w->piece] : (w->angle - NARROW) / WIDER;
    int kind = (int)fmax(0.0, fmin(KINDS - 1, rank));
    return g->placed[w->piece] || dt_array_push(&g->waiting[kind], index);
}

/* A neighbour of what has just been placed may refuse the rivals of a piece, at whichever of its wedges they stood. */
static bool push_rivalled(growth *g, uint32_t piece) {
    for (uint32_t i = g->map.first_wedge_of_piece[piece]; i < g->map.first_wedge_of_piece[piece + 1]; i++) {
        if (g->had_rivals[i] != g->asks) continue;
        g->had_rivals[i] = g->was_asked[i] = 0;
        if (!push_wedge(g, i)) return false;
    }
    return true;
}

static bool place(growth *g, uint32_t piece) {
    g->placed[piece] = true;
    g->placed_count++;
    for (uint32_t i = g->map.first_wedge_of_piece[piece]; i < g->map.first_wedge_of_piece[piece + 1]; i++)
        for (uint32_t k = g->map.first_at_node[g->map.wedges[i].node]; k != DT_NONE; k = g->map.wedges[k].next)
            if (!push_wedge(g, k) || !push_rivalled(g, g->map.wedges[k].piece)) return false;
    return true;
}

static bool next_waiting(growth *g, uint32_t *index) {
    for (int kind = 0; kind < KINDS; kind++)
        if (g->asked[kind] < g->waiting[kind].count) {
            *index = g->waiting[kind].items[g->asked[kind]++];
            return true;
        }
    return false;
}

static void clear(growth *g) {
    g->asks++;
    g->is_dead = false;
    memset(g->placed, 0, dt_pieces_count(g->pieces) * sizeof *g->placed);
    g->placed_count = 0;
    for (int kind = 0; kind < KINDS; kind++) g->waiting[kind].count = g->asked[kind] = 0;
}

/* What did not decide is asked again when nothing else is left, if pieces have been placed since, or with more patience where
 * some was lacking. */
static bool ask_again(growth *g, size_t *known) {
    if (g->placed_count == *known) {
        if (!g->was_cut || g->fillers.patience >= g->steps) return true;
        g->was_cut = false;
        bool is_last = g->fillers.patience > g->steps / MORE_PATIENCE;
        g->fillers.patience = is_last ? g->steps : g->fillers.patience * MORE_PATIENCE;
    }
    *known = g->placed_count;
    g->asks++;
    for (uint32_t i = 0; i < g->map.wedge_count; i++)
        if (!g->placed[g->map.wedges[i].piece] && !push_wedge(g, i)) return false;
    return true;
}

/* Lines that agree to within the room leave the whole some play to turn about its hinge, the less the farther it lies along
 * the outline. */
static bool is_beyond(const growth *g, dt_point p) {
    double play = 2.0 * g->fillers.room * (1.0 + dt_point_distance(p, g->hinge) / g->reach);
    return !dt_path_contains(g->region->rings[0], p) && distance_to_rims(g, p) > SAME_MM + play;
}

/* A drawn piece that would lie, in part, beyond the outline with the whole moved. */
static bool sticks_out(const growth *g, uint32_t index) {
    enum { MOST_LOOKS = 48 };
    const dt_piece *piece = dt_pieces_get(g->pieces, (dt_piece_id){index});
    size_t step = piece->outline.count / MOST_LOOKS + 1;
    bool out = is_beyond(g, dt_pose_apply(g->whole, piece->inside));
    for (size_t i = 0; !out && i < piece->outline.count; i += step)
        out = is_beyond(g, dt_pose_apply(g->whole, piece->outline.points[i]));
    return out;
}

static bool must_stop(growth *g) {
    dt_watch_report(g->watch, "looking for other assemblies",
                    (double)g->placed_count / (double)dt_pieces_count(g->pieces));
    return g->fillers.compared > g->steps || dt_watch_stopped(g->watch);
}

/* Grows from one piece as far as it goes; with the whole moved, until it cannot be so: a piece sticks out of the
 * outline, or there is a gap that nothing can fill. */
static bool grow(growth *g, uint32_t start, bool *refuted) {
    uint32_t index;
    size_t known = 0;
    clear(g);
    g->fillers.patience = FIRST_PATIENCE;
    g->was_cut = false;
    if (!place(g, start)) return false;
    *refuted = g->is_moved && sticks_out(g, start);
    while (!*refuted && !must_stop(g)) {
        if (!next_waiting(g, &index)) {
            if (!ask_again(g, &known)) return false;
            if (!next_waiting(g, &index)) return true;
        }
        uint32_t piece = g->map.wedges[index].piece;
        bool forced = !g->placed[piece] && is_forced(g, index);
        *refuted = g->is_dead;
        if (!forced || *refuted) continue;
        if (!place(g, piece)) return false;
        *refuted = g->is_moved && sticks_out(g, piece);
    }
    return true;
}

/* ---- the first corner ---- */

static dt_pose drawn_pose(const dt_filler *f) {
    dt_pose pose = f->pose;
    pose.flipped = f->owner->over;
    return pose;
}

/* Does the motion carry the finished outline onto itself? */
static bool is_symmetry(const growth *g, dt_pose pose) {
    enum { MOST_LOOKS = 2000 };
    for (size_t r = 0; r < g->map.rim_count; r++) {
        const dt_path *path = &g->map.rims[r].path;
        for (size_t i = 0; i < path->count; i += 1 + path->count / MOST_LOOKS)
            if (distance_to_rims(g, dt_pose_apply(pose, path->points[i])) > SAME_MM) return false;
    }
    return true;
}

/* A corner of the outline, and all that can fill it alone. */
typedef struct corner {
    dt_point at;
    dt_filling there;
} corner;

typedef struct corners {
    corner *items;
    size_t count;
    bool known; /* all that can fill them is */
} corners;

static bool is_corner(const growth *g, const dt_line *rim, size_t i, double *angle) {
    *angle = PI + dt_line_turn(rim, rim->arc[i], DT_KNEE_MM);
    return *angle <= g->fillers.widest;
}

/* The outline's corners, each asked for with nothing placed; no more than MOST_ROOTS, since any of them will do. */
static bool list_corners(growth *g, corners *out) {
    out->items = DT_TAKE(g->arena, MOST_ROOTS, corner);
    out->known = true;
    for (size_t r = 0; out->items && r < g->map.rim_count; r++)
        for (size_t i = 0; i < g->map.rims[r].path.count && out->count < MOST_ROOTS; i++) {
            double angle;
            if (!is_corner(g, &g->map.rims[r], i, &angle)) continue;
            dt_edge edge = edge_of(&g->map.rims[r], g->map.rims[r].arc[i]);
            corner *c = &out->items[out->count++];
            c->at = g->map.rims[r].path.points[i];
            clear(g);
            dt_gap_lines gap = {edge, edge, angle};
            dt_fillers_find_alone(&g->fillers, &gap, g->placed, &c->there);
            dt_fillers_find_sharers(&g->fillers, &gap, g->placed, &c->there);
            out->known = out->known && !c->there.unknown && !dt_filling_is_shared(&c->there);
        }
    return out->items != NULL;
}

static double extent(const growth *g, uint32_t piece) {
    dt_box box = dt_pieces_get(g->pieces, (dt_piece_id){piece})->box;
    return dt_point_distance(box.low, box.high);
}

/* The piece lies in a corner, with the whole moved as it says: can that not be? *turned: the whole is merely turned. */
static bool refute(growth *g, const dt_filler *f, dt_point at, bool *turned, bool *refuted) {
    bool done = true;
    g->hinge = at;
    g->reach = extent(g, f->owner->piece) / 2.0;
    g->whole = drawn_pose(f);
    *turned = is_symmetry(g, g->whole);
    *refuted = false;
    g->is_moved = !*turned;
    if (g->is_moved) done = grow(g, f->owner->piece, refuted);
    g->is_moved = false;
    return done;
}

static bool has_home(const growth *g, const corners *c, uint32_t piece) {
    for (size_t k = 0; k < c->count; k++)
        for (size_t i = 0; i < c->items[k].there.count; i++) {
            const dt_filler *f = &c->items[k].there.alone[i];
            if (f->owner->piece == piece && is_at_home(g, f)) return true;
        }
    return false;
}

/* Pieces drawn elsewhere that would fill a corner by themselves but cannot lie there leave the corners to the others.
 */
static bool drop_strays(growth *g, corners *c) {
    for (size_t k = 0; k < c->count; k++) {
        dt_filling *there = &c->items[k].there;
        size_t kept = 0;
        for (size_t i = 0; i < there->count; i++) {
            const dt_filler f = there->alone[i];
            bool turned, refuted = false;
            if (!has_home(g, c, f.owner->piece) && !must_stop(g) && !refute(g, &f, c->items[k].at, &turned, &refuted)) return false;
            if (!refuted) there->alone[kept++] = f;
        }
        there->count = kept;
    }
    return true;
}

/* How many pieces there are for the corners; 0 where one may lie in two of them at once, or there are too many. */
static size_t count_rivals(const growth *g, const corners *c) {
    enum { MOST_RIVALS = 2 * MOST_ROOTS };
    uint32_t found[MOST_RIVALS];
    size_t count = 0;
    for (size_t k = 0; k < c->count; k++)
        for (size_t i = 0; i < c->items[k].there.count; i++) {
            uint32_t piece = c->items[k].there.alone[i].owner->piece;
            size_t at = 0;
            while (at < count && found[at] != piece) at++;
            if (at < count) continue;
            if (count == MOST_RIVALS) return 0;
            for (size_t j = 0; j < c->count; j++)
                for (size_t l = 0; l < j; l++)
                    if (dt_point_distance(c->items[j].at, c->items[l].at) <= extent(g, piece)) return 0;
            found[count++] = piece;
        }
    return count;
}

/* With the piece in a corner: is every way for it to lie there other than the drawn one settled? */
static bool settle_piece(growth *g, const corners *c, uint32_t piece, bool *settled) {
    *settled = true;
    for (size_t k = 0; k < c->count; k++)
        for (size_t i = 0; *settled && i < c->items[k].there.count; i++) {
            const dt_filler *f = &c->items[k].there.alone[i];
            bool turned, refuted;
            if (f->owner->piece != piece || is_at_home(g, f)) continue;
            if (!refute(g, f, c->items[k].at, &turned, &refuted)) return false;
            *settled = turned || refuted;
        }
    return true;
}

/* Which others does a piece force that lies in a corner? *used: most of them, and it lies nowhere else there. Then what is
 * not among them is forced no longer. */
static bool try_piece(growth *g, const corners *c, uint32_t piece, bool *used) {
    size_t pieces = dt_pieces_count(g->pieces);
    bool refuted, *forced = DT_TAKE(g->arena, pieces, bool);
    if (!forced || !grow(g, piece, &refuted)) return false;
    memcpy(forced, g->placed, pieces * sizeof *forced);
    *used = g->placed_count > pieces / 2;
    if (*used && !settle_piece(g, c, piece, used)) return false;
    for (size_t i = 0; *used && i < pieces; i++) g->forced[i] = g->forced[i] && forced[i];
    return true;
}

/* The piece that is drawn in the corner, or DT_NONE. */
static uint32_t drawn_in(const growth *g, const corner *c) {
    for (size_t i = 0; i < c->there.count; i++)
        if (is_at_home(g, &c->there.alone[i])) return c->there.alone[i].owner->piece;
    return DT_NONE;
}

/* Where there are more pieces for the corners than corners, some lie elsewhere; but among any so many and one there is
 * one that lies in a corner, and what each of these would force is forced. */
static bool find(growth *g, size_t *count) {
    corners c = {.count = 0};
    size_t pieces = dt_pieces_count(g->pieces), known = 0, rivals, needed;
    if (!list_corners(g, &c)) return false;
    if (!c.count || !c.known || c.count == MOST_ROOTS) return true;
    if (!drop_strays(g, &c)) return false;
    rivals = count_rivals(g, &c);
    if (rivals < c.count) return true;
    needed = rivals - c.count + 1;
    memset(g->forced, true, pieces * sizeof *g->forced);
    for (size_t k = 0; k < c.count && needed <= c.count && known < needed && !must_stop(g); k++) {
        uint32_t piece = drawn_in(g, &c.items[k]);
        bool used = false;
        if (piece != DT_NONE && !try_piece(g, &c, piece, &used)) return false;
        known += used;
    }
    for (size_t i = 0; known == needed && i < pieces; i++) *count += g->forced[i];
    return true;
}

bool dt_forced_find(const dt_pieces *pieces, const dt_region *region, const dt_settings *settings, double room,
                    const dt_watch *watch, dt_arena *arena, dt_forced *out) {
    growth g = {.pieces = pieces,
                .region = region,
                .arena = arena,
                .steps = settings->steps,
                .watch = watch,
                .whole = DT_POSE_IDENTITY};
    size_t count = 0;
    g.placed = DT_TAKE(arena, dt_pieces_count(pieces), bool);
    g.forced = DT_TAKE(arena, dt_pieces_count(pieces), bool);
    bool made = g.placed && g.forced && dt_node_map_make(pieces, region, settings->two_sided, arena, &g.map);
    if (made) g.was_asked = DT_TAKE(arena, g.map.wedge_count, uint32_t);
    if (made) g.had_rivals = DT_TAKE(arena, g.map.wedge_count, uint32_t);
    made = made && g.was_asked && g.had_rivals;
    dt_fillers_plan plan = {g.map.lines, g.map.line_count, DT_KNEE_MM, room, dt_workers_count(settings->threads, 64)};
    made = made && dt_fillers_new(&plan, &g.fillers) == DT_OK;
    made = made && (!dt_fillers_judge(&g.fillers) || find(&g, &count));
    *out = (dt_forced){count == dt_pieces_count(pieces), g.forced, count, g.fillers.compared};
    dt_fillers_free(&g.fillers);
    for (int kind = 0; kind < KINDS; kind++) dt_array_free(&g.waiting[kind]);
    return made;
}
