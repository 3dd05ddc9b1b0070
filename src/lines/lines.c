/* The stage as a whole: strokes are noded, chained, pruned and turned into faces. */
#include "chains.h"
#include "faces.h"
#include "node.h"
#include "prune.h"

static void count_length(dt_net *net, const dt_chains *chains) {
    for (size_t c = 0; c < chains->chains.count; c++) net->cut_length += dt_chain_length(chains, &chains->chains.items[c]);
}

static bool keep_chain(const dt_chains *chains, const dt_chain *chain, dt_cuts *out) {
    uint32_t stroke = chain->stroke_count ? chains->strokes.items[chain->stroke_first] : DT_NO_INDEX;
    dt_gp before = dt_chain_point(chains, chain, 0);
    for (uint32_t i = 1; i < chain->count; i++) {
        dt_gp now = dt_chain_point(chains, chain, i);
        if (!dt_array_push(out, ((dt_cut){before, now, stroke}))) return false;
        for (uint32_t s = 1; i == 1 && s < chain->stroke_count; s++)
            if (!dt_array_push(out, ((dt_cut){before, now, chains->strokes.items[chain->stroke_first + s]}))) return false;
        before = now;
    }
    return true;
}

/* The chains again, without those that bound no face. */
static dt_status without_loose(dt_chains *chains, const dt_chain_fate *fate) {
    dt_cuts kept = {0};
    dt_chains again;
    dt_status status = DT_OK;
    for (size_t c = 0; c < chains->chains.count && status == DT_OK; c++)
        if (fate[c] == DT_CHAIN_KEPT && !keep_chain(chains, &chains->chains.items[c], &kept)) status = DT_NO_MEMORY;
    if (status == DT_OK) {
        status = dt_chains_init(&again, kept.items, kept.count);
        dt_chains_free(chains);
        *chains = again;
    }
    dt_array_free(&kept);
    return status;
}

static dt_status prune(dt_chains *chains) {
    dt_chain_fate *fate = malloc((chains->chains.count + 1) * sizeof *fate);
    dt_status status = fate ? dt_prune(chains, fate) : DT_NO_MEMORY;
    bool loose = false;
    for (size_t c = 0; status == DT_OK && c < chains->chains.count; c++) loose = loose || fate[c] != DT_CHAIN_KEPT;
    if (status == DT_OK && loose) status = without_loose(chains, fate);
    free(fate);
    return status;
}

static bool add_stroke(const dt_stroke *stroke, uint32_t index, dt_cuts *out) {
    dt_path path = stroke->path;
    for (size_t i = 1; i < path.count + (stroke->closed ? 1 : 0); i++) {
        dt_gp a = dt_gp_of(path.points[i - 1]), b = dt_gp_of(path.points[i % path.count]);
        if (!dt_gp_same(a, b) && !dt_array_push(out, ((dt_cut){a, b, index}))) return false;
    }
    return true;
}

static dt_status cut_strokes(dt_strokes strokes, dt_cuts *out) {
    for (uint32_t i = 0; i < strokes.count; i++)
        if (!add_stroke(&strokes.strokes[i], i, out)) return DT_NO_MEMORY;
    return DT_OK;
}

dt_status dt_net_new(dt_strokes strokes, const dt_settings *settings, dt_net **out, dt_error *error) {
    (void)settings;
    dt_cuts cuts = {0};
    dt_chains chains = {0};
    dt_net *net = calloc(1, sizeof *net);
    dt_status status = net ? cut_strokes(strokes, &cuts) : DT_NO_MEMORY;
    if (status == DT_OK) status = dt_node_cuts(&cuts, error);
    if (status == DT_OK) status = dt_chains_init(&chains, cuts.items, cuts.count);
    if (status != DT_OK) goto done;
    count_length(net, &chains);
    status = prune(&chains);
    if (status == DT_OK) status = dt_faces_build(&chains, net);
    if (status == DT_OK && net->face_count == 0)
        status = dt_fail(error, DT_NO_PIECES, "no closed pieces here: no lines of the drawing close round an area");
    else if (status != DT_OK) dt_fail(error, status, "%s", dt_status_text(status));
done:
    dt_chains_free(&chains);
    dt_array_free(&cuts);
    if (status == DT_OK) *out = net;
    else dt_net_free(net);
    return status;
}

void dt_net_free(dt_net *net) {
    if (!net) return;
    free(net->nodes);
    free(net->arcs);
    free(net->faces);
    free(net->points);
    free(net->strokes);
    free(net->halves);
    free(net->holes);
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
size_t dt_net_fault_count(const dt_net *net) { return net->faults.count; }
const dt_fault *dt_net_fault(const dt_net *net, size_t index) { return &net->faults.items[index]; }
