/* The stage as a whole, from strokes to faces: doubled lines are left out, the rest is noded, gaps are closed, what bounds no face is
 * taken away and reported, slivers are given to a neighbour. Main invariant: after every step that moves or adds a line the
 * lines are noded again, so the faces are always those of an exact plane graph on the grid. */
#include "chains.h"
#include "close.h"
#include "doubles.h"
#include "faces.h"
#include "gaps.h"
#include "insets.h"
#include "loose.h"
#include "near.h"
#include "node.h"
#include "open.h"
#include "prune.h"
#include "slivers.h"
#include "touch.h"

#include <math.h>

/* More faces than the largest puzzle that anybody cuts has pieces; the stages that follow would take minutes. */
#define MOST_FACES 25000u

/* Of points that are moved: more than the reader lets through. */
#define MOST_BYTES ((size_t)1 << 30)

/* Drawing corners together can bring others near each other: seldom, and never for long. */
#define GATHERINGS 6

typedef struct stage {
    dt_strokes strokes;
    dt_arena arena;        /* of strokes that were moved */
    dt_insets insets;
    const dt_settings *settings;
    dt_error *error;
    dt_net *net;
    dt_cuts cuts;
    dt_ghosts ghosts;
    dt_faults gaps;
    dt_open_ends ends;
    dt_chains chains;
} stage;

static dt_status check_reach(const stage *s) {
    for (size_t i = 0; i < s->strokes.count; i++) {
        dt_box box = dt_box_of(s->strokes.strokes[i].path);
        if (dt_box_is_empty(box)) continue;
        if (fmin(box.low.x, box.low.y) >= -DT_REACH_MM && fmax(box.high.x, box.high.y) <= DT_REACH_MM) continue;
        return dt_fail(s->error, DT_TOO_LARGE, "a line reaches out to (%.4g, %.4g) mm, farther than any laser does: check the drawing's "
                       "size and units, or set --width", fabs(box.low.x) > box.high.x ? box.low.x : box.high.x,
                       fabs(box.low.y) > box.high.y ? box.low.y : box.high.y);
    }
    return DT_OK;
}

static dt_status node_and_chain(stage *s) {
    dt_chains_free(&s->chains);
    dt_status status = dt_node_cuts(&s->cuts, s->error);
    return status == DT_OK ? dt_chains_init(&s->chains, s->cuts.items, s->cuts.count) : status;
}

static dt_status node(stage *s) {
    bool moved = true;
    dt_status status = node_and_chain(s);
    for (int i = 0; status == DT_OK && moved && i < GATHERINGS; i++) {
        status = dt_near_gather(&s->chains, s->ghosts.count ? fmax(DT_SAME_MM, s->ghosts.reach_mm) : DT_SAME_MM, &s->cuts, &moved);
        if (status == DT_OK && moved) status = node_and_chain(s);
    }
    return status;
}

static dt_gap_options gap_options(const stage *s) {
    return (dt_gap_options){s->settings->join_mm, &s->ghosts, (uint32_t)s->strokes.count};
}

static dt_status close_gaps(stage *s) {
    dt_gap_options options = gap_options(s);
    size_t before = s->cuts.count;
    if (!dt_ghosts_index(&s->ghosts)) return DT_NO_MEMORY;
    dt_status status = dt_gaps_close(&s->chains, &options, &s->cuts, &s->gaps, s->error);
    if (status == DT_OK) status = dt_touch_join(&s->chains, &options, &s->cuts, &s->gaps, s->error);
    return status == DT_OK && s->cuts.count > before ? node(s) : status;
}

static dt_status take_gaps(stage *s) {
    for (size_t i = 0; i < s->gaps.count; i++)
        if (s->gaps.items[i].size_mm > 0.0 && !dt_array_push(&s->net->faults, s->gaps.items[i])) return DT_NO_MEMORY;
    return DT_OK;
}

static void take_path(stage *s, const dt_chain *chain, dt_point **room) {
    s->net->loose[s->net->loose_count++] = (dt_path){*room, chain->count};
    for (uint32_t i = 0; i < chain->count; i++) *(*room)++ = dt_gp_mm(dt_chain_point(&s->chains, chain, i));
}

static dt_status take_loose(stage *s, const dt_chain_fate *fate) {
    size_t count = 0, points = 0;
    for (size_t c = 0; c < s->chains.chains.count; c++) {
        if (fate[c] == DT_CHAIN_KEPT) continue;
        count++;
        points += s->chains.chains.items[c].count;
    }
    s->net->loose = malloc((count + 1) * sizeof *s->net->loose);
    s->net->loose_points = malloc((points + 1) * sizeof *s->net->loose_points);
    if (!s->net->loose || !s->net->loose_points) return DT_NO_MEMORY;
    dt_point *room = s->net->loose_points;
    for (size_t c = 0; c < s->chains.chains.count; c++) {
        const dt_chain *chain = &s->chains.chains.items[c];
        if (fate[c] != DT_CHAIN_KEPT && dt_chain_length(&s->chains, chain) >= DT_SAME_MM) take_path(s, chain, &room);
    }
    return DT_OK;
}

static dt_status drop_loose(stage *s) {
    size_t count = s->chains.chains.count;
    dt_gap_options options = gap_options(s);
    dt_chain_fate *fate = malloc((count + 1) * sizeof *fate);
    bool *keep = malloc((count + 1) * sizeof *keep), all = true;
    dt_status status = fate && keep ? dt_prune(&s->chains, fate) : DT_NO_MEMORY;
    if (status == DT_OK) status = dt_loose_report(&s->chains, fate, &options, &s->gaps, &s->net->faults, &s->ends);
    if (status == DT_OK) status = take_loose(s, fate);
    for (size_t c = 0; status == DT_OK && c < count; c++) {
        s->net->cut_length += dt_chain_length(&s->chains, &s->chains.chains.items[c]);
        keep[c] = fate[c] == DT_CHAIN_KEPT;
        all = all && keep[c];
    }
    if (status == DT_OK && !all) status = dt_chains_keep(&s->chains, keep);
    if (status == DT_OK) status = take_gaps(s);
    free(fate);
    free(keep);
    return status;
}

static void clear_faces(dt_net *net) {
    free(net->nodes);
    free(net->arcs);
    free(net->faces);
    free(net->points);
    free(net->strokes);
    free(net->halves);
    free(net->holes);
    *net = (dt_net){.faults = net->faults, .cut_length = net->cut_length, .loose = net->loose, .loose_points = net->loose_points,
                    .loose_count = net->loose_count, .outlines_apart_mm = net->outlines_apart_mm, .looser_mm = net->looser_mm};
}

static dt_status find_faces(stage *s) {
    clear_faces(s->net);
    dt_status status = dt_faces_build(&s->chains, s->net);
    if (status != DT_OK || s->net->face_count <= MOST_FACES) return status;
    return dt_fail(s->error, DT_TOO_LARGE, "the lines close round %zu faces, more than dovetell takes for pieces (%u): leave out what is no "
                   "cut with --skip", s->net->face_count, MOST_FACES);
}

/* The arcs of the net are the chains, one to one. */
static dt_status merge_slivers(stage *s) {
    size_t count = s->net->arc_count;
    bool any = false, *keep = malloc((count + 1) * sizeof *keep);
    dt_status status = keep ? dt_slivers_merge(s->net, s->settings->kerf_mm, keep, &any, &s->net->faults) : DT_NO_MEMORY;
    if (status == DT_OK && any) status = dt_chains_keep(&s->chains, keep);
    free(keep);
    if (status == DT_TOO_LARGE)
        return dt_fail(s->error, status, "metres and metres of lines run side by side, no farther apart than the laser burns away: leave "
                       "out what is no cut with --skip, or check the drawing's size");
    return status == DT_OK && any ? find_faces(s) : status;
}

/* Moving inset outlines back leaves crumbs at corners so sharp that the inset cut them off. They are ours, not the drawing's. */
static void forget_crumbs(dt_faults *faults, double apart_mm) {
    size_t kept = 0;
    for (size_t i = 0; i < faults->count; i++)
        if (faults->items[i].kind != DT_FAULT_SLIVER || faults->items[i].size_mm > apart_mm) faults->items[kept++] = faults->items[i];
    faults->count = kept;
}

static dt_status no_pieces(const stage *s) {
    dt_point a, b;
    if (!dt_open_nearest(&s->ends, &a, &b))
        return dt_fail(s->error, DT_NO_PIECES, "no closed pieces here: no lines of the drawing close round an area");
    double apart = dt_point_distance(a, b);
    return dt_fail(s->error, DT_NO_PIECES,
                   "no closed pieces here: the nearest loose ends are at (%.1f, %.1f) and (%.1f, %.1f), %.*f mm apart", a.x, a.y, b.x,
                   b.y, apart < 1.0 ? 2 : 1, apart);
}

static dt_status run(stage *s) {
    dt_faults *faults = &s->net->faults;
    dt_status status = check_reach(s);
    if (status == DT_OK) status = dt_insets_undo(s->strokes, s->settings, &s->arena, &s->strokes, &s->insets);
    if (!s->insets.undone) s->net->outlines_apart_mm = s->insets.apart_mm;
    s->net->looser_mm = s->insets.looser_mm;
    double apart_mm = s->insets.undone ? s->insets.apart_mm : 0.0;
    if (status == DT_OK)
        status = dt_doubles_leave_out(s->strokes, s->settings->kerf_mm, &s->cuts, &s->ghosts, faults, s->error);
    if (status == DT_OK) status = node(s);
    if (status == DT_OK) status = close_gaps(s);
    if (status == DT_OK) status = drop_loose(s);
    if (status == DT_OK) status = dt_ghosts_adopt(&s->ghosts, (uint32_t)s->strokes.count, &s->chains);
    if (status == DT_OK) status = find_faces(s);
    if (status == DT_OK) status = merge_slivers(s);
    if (status != DT_OK) return status;
    if (s->net->face_count == 0) return no_pieces(s);
    status = dt_open_report(s->net, &s->ends, s->settings->join_mm, faults);
    if (status == DT_OK) status = dt_close_report(s->net, s->settings->kerf_mm, faults, s->error);
    if (status != DT_OK) return status;
    if (apart_mm > 0.0) forget_crumbs(faults, apart_mm);
    dt_doubles_summarise(faults, s->net->cut_length, apart_mm);
    if (faults->count) qsort(faults->items, faults->count, sizeof *faults->items, dt_fault_compare);
    return DT_OK;
}

dt_status dt_net_new(dt_strokes strokes, const dt_settings *settings, dt_net **out, dt_error *error) {
    dt_error unused = {0};
    stage s = {.strokes = strokes, .settings = settings, .error = error ? error : &unused, .net = calloc(1, sizeof(dt_net)),
               .arena = DT_ARENA(MOST_BYTES)};
    s.error->code = DT_OK;
    dt_status status = s.net ? run(&s) : DT_NO_MEMORY;
    if (status != DT_OK && s.error->code != status) dt_fail(s.error, status, "%s", dt_status_text(status));
    dt_chains_free(&s.chains);
    dt_ghosts_free(&s.ghosts);
    dt_arena_free(&s.arena);
    dt_array_free(&s.cuts);
    dt_array_free(&s.gaps);
    dt_array_free(&s.ends);
    if (status == DT_OK) *out = s.net;
    else dt_net_free(s.net);
    return status;
}

void dt_net_free(dt_net *net) {
    if (!net) return;
    clear_faces(net);
    free(net->loose);
    free(net->loose_points);
    dt_array_free(&net->faults);
    free(net);
}

size_t dt_net_node_count(const dt_net *net) { return net->node_count; }
size_t dt_net_arc_count(const dt_net *net) { return net->arc_count; }
size_t dt_net_face_count(const dt_net *net) { return net->face_count; }
dt_node dt_net_node(const dt_net *net, size_t index) { return net->nodes[index]; }
const dt_arc *dt_net_arc(const dt_net *net, size_t index) { return &net->arcs[index]; }
const dt_face *dt_net_face(const dt_net *net, size_t index) { return &net->faces[index]; }
double dt_net_cut_length(const dt_net *net) { return net->cut_length; }
size_t dt_net_loose_count(const dt_net *net) { return net->loose_count; }
dt_path dt_net_loose(const dt_net *net, size_t index) { return net->loose[index]; }
double dt_net_outlines_apart(const dt_net *net) { return net->outlines_apart_mm; }
double dt_net_looser(const dt_net *net) { return net->looser_mm; }
size_t dt_net_fault_count(const dt_net *net) { return net->faults.count; }
const dt_fault *dt_net_fault(const dt_net *net, size_t index) { return &net->faults.items[index]; }
