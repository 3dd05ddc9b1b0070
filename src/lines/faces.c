/* Faces of a plane graph by walking its halves. Halves are sorted by angle around each corner, exactly, in whole micrometres; the
 * walk turns as sharply as it can to the side of positive area, so each ring has one face on that side. A ring of positive
 * area is the outer ring of a face; one of negative area is seen from outside its connected part and becomes a hole of
 * the face around it. Source: the doubly connected edge list, de Berg et al., Computational Geometry, 2008, chapter 2. */
#include "faces.h"

#include "sweep.h"
#include <string.h>

__extension__ typedef __int128 wide;

typedef struct builder {
    const dt_chains *chains;
    dt_net *net;
    uint32_t half_count, ring_count;
    uint32_t *start, *around;   /* halves that leave corner c: around[start[c] .. start[c + 1]), by angle */
    uint32_t *place;            /* of each half in around */
    uint32_t *ring_of;          /* of each half */
    uint32_t *ring_start;       /* in net->halves; ring_count + 1 entries */
    uint32_t *face_of;          /* of each ring */
    bool *positive;             /* of each ring */
} builder;

static const dt_chain *chain_of(const builder *b, uint32_t half) {
    return &b->chains->chains.items[half / 2];
}

static uint32_t leaves(const builder *b, uint32_t half) {
    const dt_chain *chain = chain_of(b, half);
    return half & 1 ? chain->to : chain->from;
}

/* Point i of the half, counted in its own direction. */
static dt_gp half_point(const builder *b, uint32_t half, uint32_t i) {
    const dt_chain *chain = chain_of(b, half);
    return dt_chain_point(b->chains, chain, half & 1 ? chain->count - 1 - i : i);
}

static bool in_upper_half(dt_gp o, dt_gp p) {
    return p.y > o.y || (p.y == o.y && p.x > o.x);
}

/* By growing angle from the x axis towards the y axis; two halves never leave in the same direction. */
static bool comes_before(const builder *b, uint32_t h, uint32_t k) {
    dt_gp o = half_point(b, h, 0), p = half_point(b, h, 1), q = half_point(b, k, 1);
    bool p_up = in_upper_half(o, p), q_up = in_upper_half(o, q);
    if (p_up != q_up) return p_up;
    return dt_gp_cross(o, p, q) > 0;
}

/* A merge sort: corners have few halves, but a hostile hub has thousands. */
static void merge_sorted(const builder *b, uint32_t *list, uint32_t count, uint32_t *scratch) {
    if (count < 2) return;
    uint32_t half = count / 2, i = 0, j = half, k = 0;
    merge_sorted(b, list, half, scratch);
    merge_sorted(b, list + half, count - half, scratch);
    while (i < half && j < count) scratch[k++] = comes_before(b, list[j], list[i]) ? list[j++] : list[i++];
    while (i < half) scratch[k++] = list[i++];
    memcpy(list, scratch, k * sizeof *list);
}

static dt_status list_halves(builder *b) {
    uint32_t corners = b->chains->corner_count;
    b->start = calloc((size_t)corners + 2, sizeof *b->start);
    b->around = malloc(((size_t)b->half_count + 1) * sizeof *b->around);
    b->place = malloc(((size_t)b->half_count + 1) * sizeof *b->place);
    uint32_t *scratch = malloc(((size_t)b->half_count + 1) * sizeof *scratch);
    if (!b->start || !b->around || !b->place || !scratch) {
        free(scratch);
        return DT_NO_MEMORY;
    }
    for (uint32_t h = 0; h < b->half_count; h++) b->start[leaves(b, h) + 2]++;
    for (uint32_t c = 0; c < corners; c++) b->start[c + 2] += b->start[c + 1];
    for (uint32_t h = 0; h < b->half_count; h++) b->around[b->start[leaves(b, h) + 1]++] = h;
    for (uint32_t c = 0; c < corners; c++)
        merge_sorted(b, b->around + b->start[c], b->start[c + 1] - b->start[c], scratch);
    for (uint32_t i = 0; i < b->half_count; i++) b->place[b->around[i]] = i;
    free(scratch);
    return DT_OK;
}

/* Of all halves that leave where this one ends, the one just before the way back, by angle. */
static uint32_t next_half(const builder *b, uint32_t half) {
    uint32_t back = half ^ 1, corner = leaves(b, back), place = b->place[back];
    if (place == b->start[corner]) place = b->start[corner + 1];
    return b->around[place - 1];
}

static wide twice_area(const builder *b, uint32_t half, dt_gp origin) {
    wide sum = 0;
    uint32_t count = chain_of(b, half)->count;
    dt_gp p = half_point(b, half, 0);
    for (uint32_t i = 1; i < count; i++) {
        dt_gp q = half_point(b, half, i);
        sum += dt_gp_cross(origin, p, q);
        p = q;
    }
    return sum;
}

static void walk_ring(builder *b, uint32_t first, uint32_t *filled, double *area) {
    wide sum = 0;
    dt_gp origin = half_point(b, first, 0);
    uint32_t half = first;
    do {
        b->ring_of[half] = b->ring_count;
        b->net->halves[(*filled)++] = half;
        sum += twice_area(b, half, origin);
        half = next_half(b, half);
    } while (half != first);
    b->positive[b->ring_count] = sum > 0;
    area[b->ring_count] = (double)sum / 2e6; /* square micrometres to square millimetres */
    b->ring_start[++b->ring_count] = *filled;
}

static void walk_rings(builder *b, double *area) {
    uint32_t filled = 0;
    for (uint32_t h = 0; h < b->half_count; h++) b->ring_of[h] = DT_NO_INDEX;
    b->ring_start[0] = 0;
    for (uint32_t h = 0; h < b->half_count; h++)
        if (b->ring_of[h] == DT_NO_INDEX) walk_ring(b, h, &filled, area);
}

static dt_ring ring(const builder *b, uint32_t r) {
    return (dt_ring){b->net->halves + b->ring_start[r], b->ring_start[r + 1] - b->ring_start[r]};
}

static void number_faces(builder *b, const double *area) {
    dt_net *net = b->net;
    for (uint32_t r = 0; r < b->ring_count; r++) {
        b->face_of[r] = DT_OUTSIDE_FACE;
        if (!b->positive[r]) continue;
        b->face_of[r] = (uint32_t)net->face_count;
        net->faces[net->face_count++] = (dt_face){.outer = ring(b, r), .area = area[r]};
    }
}

/* The point of a ring with the least y, the least x among those: its own edges all lead to greater y or along x. */
static dt_gp lowest_point(const builder *b, uint32_t r) {
    dt_gp best = {INT32_MAX, INT32_MAX};
    for (uint32_t i = b->ring_start[r]; i < b->ring_start[r + 1]; i++) {
        uint32_t half = b->net->halves[i];
        for (uint32_t k = 0; k < chain_of(b, half)->count; k++) {
            dt_gp p = half_point(b, half, k);
            if (p.y < best.y || (p.y == best.y && p.x < best.x)) best = p;
        }
    }
    return best;
}

/* All cuts of all chains; the stroke of a cut says which half has its face towards greater x. */
static bool list_edges(const dt_chains *chains, dt_cuts *out) {
    for (uint32_t c = 0; c < chains->chains.count; c++) {
        const dt_chain *chain = &chains->chains.items[c];
        dt_gp a = dt_chain_point(chains, chain, 0);
        for (uint32_t i = 1; i < chain->count; i++) {
            dt_gp p = dt_chain_point(chains, chain, i);
            if (a.y != p.y && !dt_array_push(out, ((dt_cut){a, p, 2 * c + (p.y > a.y)}))) return false;
            a = p;
        }
    }
    return true;
}

/* What lies around a hole is the face across the edge beside its lowest point; or, if that edge is on the outside of another
 * connected part, what lies around that. That part reaches lower, so holes in the order of their lowest points find
 * their answer ready. */
typedef struct hole {
    dt_gp lowest;
    uint32_t ring;
} hole;

static int compare_holes(const void *left, const void *right) {
    const hole *a = left, *b = right;
    if (a->lowest.y != b->lowest.y) return a->lowest.y < b->lowest.y ? -1 : 1;
    if (a->lowest.x != b->lowest.x) return a->lowest.x < b->lowest.x ? -1 : 1;
    return (a->ring > b->ring) - (a->ring < b->ring);
}

static dt_status place_sorted(builder *b, const hole *holes, size_t count) {
    dt_cuts edges = {0};
    dt_gp *points = malloc(count * sizeof *points);
    uint32_t *beside = malloc(count * sizeof *beside);
    dt_status status = points && beside && list_edges(b->chains, &edges) ? DT_OK : DT_NO_MEMORY;
    for (size_t i = 0; status == DT_OK && i < count; i++) points[i] = holes[i].lowest;
    if (status == DT_OK) status = dt_sweep_beside(edges.items, edges.count, points, count, beside);
    for (size_t i = 0; status == DT_OK && i < count; i++)
        if (beside[i] != DT_NO_INDEX) b->face_of[holes[i].ring] = b->face_of[b->ring_of[edges.items[beside[i]].stroke]];
    free(points);
    free(beside);
    dt_array_free(&edges);
    return status;
}

static dt_status place_holes(builder *b) {
    DT_ARRAY(hole) holes = {0};
    dt_status status = DT_OK;
    for (uint32_t r = 0; r < b->ring_count && status == DT_OK; r++)
        if (!b->positive[r] && !dt_array_push(&holes, ((hole){lowest_point(b, r), r}))) status = DT_NO_MEMORY;
    if (holes.count) qsort(holes.items, holes.count, sizeof *holes.items, compare_holes);
    if (status == DT_OK && holes.count > 1) status = place_sorted(b, holes.items, holes.count);
    dt_array_free(&holes);
    return status;
}

static void gather_holes(builder *b, const double *area) {
    dt_net *net = b->net;
    size_t filled = 0;
    for (uint32_t r = 0; r < b->ring_count; r++)
        if (!b->positive[r] && b->face_of[r] != DT_OUTSIDE_FACE) net->faces[b->face_of[r]].hole_count++;
    for (uint32_t f = 0; f < net->face_count; f++) {
        net->faces[f].holes = net->holes + filled;
        filled += net->faces[f].hole_count;
        net->faces[f].hole_count = 0;
    }
    for (uint32_t r = 0; r < b->ring_count; r++) {
        if (b->positive[r] || b->face_of[r] == DT_OUTSIDE_FACE) continue;
        dt_face *face = &net->faces[b->face_of[r]];
        net->holes[(size_t)(face->holes - net->holes) + face->hole_count++] = ring(b, r);
        face->area += area[r];
    }
}

static bool fill_arcs(builder *b) {
    const dt_chains *chains = b->chains;
    dt_net *net = b->net;
    net->points = malloc((chains->walk.count + 1) * sizeof *net->points);
    net->strokes = malloc((chains->strokes.count + 1) * sizeof *net->strokes);
    if (!net->points || !net->strokes) return false;
    for (size_t i = 0; i < chains->walk.count; i++) net->points[i] = dt_gp_mm(chains->points[chains->walk.items[i]]);
    if (chains->strokes.count) memcpy(net->strokes, chains->strokes.items, chains->strokes.count * sizeof *net->strokes);
    for (uint32_t c = 0; c < chains->chains.count; c++) {
        const dt_chain *chain = &chains->chains.items[c];
        dt_path path = {net->points + chain->first, chain->count};
        net->arcs[c] = (dt_arc){chain->from, chain->to, b->face_of[b->ring_of[2 * c]], b->face_of[b->ring_of[2 * c + 1]],
                                path, dt_path_length(path), net->strokes + chain->stroke_first, chain->stroke_count};
    }
    net->arc_count = chains->chains.count;
    return true;
}

static void fill_nodes(builder *b) {
    dt_net *net = b->net;
    net->node_count = b->chains->corner_count;
    for (uint32_t c = 0; c < b->chains->corner_count; c++)
        net->nodes[c] = (dt_node){dt_gp_mm(b->chains->points[b->chains->corner_point[c]]), b->start[c + 1] - b->start[c]};
}

static bool take_room(builder *b) {
    size_t halves = (size_t)b->half_count + 1;
    dt_net *net = b->net;
    b->ring_of = malloc(halves * sizeof *b->ring_of);
    b->ring_start = malloc((halves + 1) * sizeof *b->ring_start);
    b->face_of = malloc(halves * sizeof *b->face_of);
    b->positive = malloc(halves * sizeof *b->positive);
    net->halves = malloc(halves * sizeof *net->halves);
    net->faces = calloc(halves, sizeof *net->faces);
    net->holes = calloc(halves, sizeof *net->holes);
    net->nodes = calloc((size_t)b->chains->corner_count + 1, sizeof *net->nodes);
    net->arcs = calloc(halves, sizeof *net->arcs);
    return b->ring_of && b->ring_start && b->face_of && b->positive && net->halves && net->faces && net->holes &&
           net->nodes && net->arcs;
}

dt_status dt_faces_build(const dt_chains *chains, dt_net *net) {
    builder b = {.chains = chains, .net = net, .half_count = (uint32_t)chains->chains.count * 2};
    double *area = malloc(((size_t)b.half_count + 1) * sizeof *area);
    dt_status status = area && take_room(&b) ? DT_OK : DT_NO_MEMORY;
    if (status == DT_OK) status = list_halves(&b);
    if (status != DT_OK) goto done;
    walk_rings(&b, area);
    number_faces(&b, area);
    status = place_holes(&b);
    if (status != DT_OK) goto done;
    gather_holes(&b, area);
    fill_nodes(&b);
    if (!fill_arcs(&b)) status = DT_NO_MEMORY;
done:
    free(area);
    free(b.start);
    free(b.around);
    free(b.place);
    free(b.ring_of);
    free(b.ring_start);
    free(b.face_of);
    free(b.positive);
    return status;
}
