/* The invariants of a net, tested one by one: see lines.h. Shares nothing with the code that builds nets but the grid index. That
 * arcs meet at nodes only is tested with exact turns on whole micrometres. */
#include "geom/grid_index.h"
#include "net.h"

#include <math.h>
#include <string.h>

typedef struct piece {
    dt_gp a, b;
    uint32_t arc;
    bool first, last; /* of its arc: its end a (b) is a node */
} piece;

typedef struct checker {
    const dt_net *net;
    dt_grid grid;
    DT_ARRAY(piece) pieces;
    uint8_t *ringed;    /* of each half: how many rings hold it */
    uint32_t *above;    /* union-find over nodes */
} checker;

static dt_point real(dt_gp p) {
    return (dt_point){p.x, p.y};
}

static bool on_grid(dt_point p) {
    dt_point q = dt_gp_mm(dt_gp_of(p));
    return p.x == q.x && p.y == q.y;
}

static bool same(dt_point p, dt_point q) {
    return p.x == q.x && p.y == q.y;
}

static const char *check_arc(const dt_net *net, const dt_arc *arc) {
    if (arc->from >= net->node_count || arc->to >= net->node_count) return "an arc names a node that is not there";
    if (arc->path.count < 2) return "an arc has fewer than two points";
    for (size_t i = 0; i < arc->path.count; i++)
        if (!on_grid(arc->path.points[i])) return "a point is off the grid";
    if (!same(arc->path.points[0], net->nodes[arc->from].at)) return "an arc does not begin at its node";
    if (!same(arc->path.points[arc->path.count - 1], net->nodes[arc->to].at)) return "an arc does not end at its node";
    if (arc->left == arc->right) return "an arc has the same face on both sides";
    if (fabs(arc->length - dt_path_length(arc->path)) > 1e-9 * (1.0 + arc->length)) return "an arc has the wrong length";
    for (size_t i = 1; i < arc->stroke_count; i++)
        if (arc->strokes[i - 1] >= arc->strokes[i]) return "the strokes of an arc are not in order";
    return NULL;
}

static const char *check_degrees(const dt_net *net) {
    const char *broken = NULL;
    uint32_t *ends = calloc(net->node_count + 1, sizeof *ends);
    if (!ends) return "no memory to check the net";
    for (size_t a = 0; a < net->arc_count; a++) {
        ends[net->arcs[a].from]++;
        ends[net->arcs[a].to]++;
    }
    for (size_t n = 0; n < net->node_count; n++)
        if (ends[n] != net->nodes[n].degree || ends[n] < 2) broken = "a node has the wrong degree";
    free(ends);
    return broken;
}

static bool strictly_apart(dt_gp p, dt_gp q, dt_gp a, dt_gp b) {
    return (p.x < a.x && q.x < a.x && p.x < b.x && q.x < b.x) || (p.x > a.x && q.x > a.x && p.x > b.x && q.x > b.x) ||
           (p.y < a.y && q.y < a.y && p.y < b.y && q.y < b.y) || (p.y > a.y && q.y > a.y && p.y > b.y && q.y > b.y);
}

static int turn(dt_gp a, dt_gp b, dt_gp c) {
    int64_t cross = dt_gp_cross(a, b, c);
    return (cross > 0) - (cross < 0);
}

static bool lies_on(dt_gp p, dt_gp a, dt_gp b) {
    return turn(a, b, p) == 0 && !strictly_apart(p, p, a, b);
}

/* May the pieces share point p? Only as ends of both, and those both nodes, or as neighbours in one arc. */
static bool may_share(const piece *s, const piece *t, dt_gp p, bool neighbours) {
    if (neighbours) return true;
    bool node_of_s = (s->first && dt_gp_same(p, s->a)) || (s->last && dt_gp_same(p, s->b));
    bool node_of_t = (t->first && dt_gp_same(p, t->a)) || (t->last && dt_gp_same(p, t->b));
    return node_of_s && node_of_t;
}

static bool meet_rightly(const piece *s, const piece *t, bool neighbours) {
    if (strictly_apart(s->a, s->b, t->a, t->b)) return true;
    int ta = turn(s->a, s->b, t->a), tb = turn(s->a, s->b, t->b), sa = turn(t->a, t->b, s->a), sb = turn(t->a, t->b, s->b);
    if (ta * tb < 0 && sa * sb < 0) return false;
    const dt_gp ends[4] = {s->a, s->b, t->a, t->b};
    int shared = 0;
    for (int k = 0; k < 4; k++) {
        bool on = k < 2 ? lies_on(ends[k], t->a, t->b) : lies_on(ends[k], s->a, s->b);
        if (!on) continue;
        if (!may_share(s, t, ends[k], neighbours)) return false;
        shared++;
    }
    bool both_ends = (dt_gp_same(s->a, t->a) && dt_gp_same(s->b, t->b)) || (dt_gp_same(s->a, t->b) && dt_gp_same(s->b, t->a));
    return shared <= 2 && !both_ends; /* each shared end is counted once from both pieces */
}

static const char *compare_piece(checker *c, uint32_t i) {
    const piece *s = &c->pieces.items[i];
    for (dt_nearby n = dt_grid_nearby(&c->grid, real(s->a), real(s->b), 1.0); dt_nearby_next(&n);) {
        bool neighbours = n.item + 1 == i && c->pieces.items[n.item].arc == s->arc;
        if (!meet_rightly(s, &c->pieces.items[n.item], neighbours)) return "arcs meet elsewhere than at a node";
    }
    return dt_grid_add(&c->grid, real(s->a), real(s->b), i) ? NULL : "no memory to check the net";
}

static const char *check_meeting(checker *c) {
    const dt_net *net = c->net;
    double total = 0.0;
    for (uint32_t a = 0; a < net->arc_count; a++) {
        dt_path path = net->arcs[a].path;
        total += net->arcs[a].length * 1000.0;
        for (size_t i = 1; i < path.count; i++) {
            piece p = {dt_gp_of(path.points[i - 1]), dt_gp_of(path.points[i]), a, i == 1, i + 1 == path.count};
            if (dt_gp_same(p.a, p.b)) return "an arc stands still";
            if (!dt_array_push(&c->pieces, p)) return "no memory to check the net";
        }
    }
    dt_grid_init(&c->grid, fmax(total / ((double)c->pieces.count + 1.0), 4.0), 1.0);
    for (uint32_t i = 0; i < c->pieces.count; i++) {
        const char *broken = compare_piece(c, i);
        if (broken) return broken;
    }
    return NULL;
}

/* Twice the area in square millimetres, relative to a point of the ring. */
static double ring_area(const dt_net *net, dt_ring ring) {
    double twice = 0.0;
    dt_point o = net->arcs[ring.halves[0] / 2].path.points[0];
    for (size_t i = 0; i < ring.count; i++) {
        dt_path path = net->arcs[ring.halves[i] / 2].path;
        double part = 0.0;
        for (size_t k = 1; k < path.count; k++)
            part += dt_point_cross(dt_point_sub(path.points[k - 1], o), dt_point_sub(path.points[k], o));
        twice += ring.halves[i] & 1 ? -part : part;
    }
    return twice / 2.0;
}

static const char *check_ring(const checker *c, dt_ring ring, uint32_t face) {
    const dt_net *net = c->net;
    for (size_t i = 0; i < ring.count; i++) {
        uint32_t half = ring.halves[i], next = ring.halves[(i + 1) % ring.count];
        const dt_arc *arc = &net->arcs[half / 2], *after = &net->arcs[next / 2];
        if ((half & 1 ? arc->right : arc->left) != face) return "a ring runs along an arc of another face";
        if ((half & 1 ? arc->from : arc->to) != (next & 1 ? after->to : after->from)) return "a ring is not closed";
        if (c->ringed[half]++) return "a half bounds two rings";
    }
    return NULL;
}

static const char *check_face(const checker *c, uint32_t f) {
    const dt_face *face = &c->net->faces[f];
    double area = ring_area(c->net, face->outer);
    const char *broken = check_ring(c, face->outer, f);
    if (!broken && !(area > 0.0)) broken = "an outer ring has no positive area";
    for (size_t h = 0; !broken && h < face->hole_count; h++) {
        double hole = ring_area(c->net, face->holes[h]);
        broken = check_ring(c, face->holes[h], f);
        if (!broken && !(hole < 0.0)) broken = "a hole has no negative area";
        area += hole;
    }
    if (!broken && !(face->area > 0.0 && fabs(area - face->area) < 1e-6 * (1.0 + face->area))) broken = "a face has the wrong area";
    return broken;
}

static const char *check_halves(const checker *c) {
    for (uint32_t h = 0; h < 2 * c->net->arc_count; h++) {
        const dt_arc *arc = &c->net->arcs[h / 2];
        bool outside = (h & 1 ? arc->right : arc->left) == DT_OUTSIDE_FACE;
        if (c->ringed[h] == outside) return "a half bounds neither one ring nor the outside";
    }
    return NULL;
}

static uint32_t leader(uint32_t *above, uint32_t n) {
    while (above[n] != n) n = above[n] = above[above[n]];
    return n;
}

static const char *check_euler(const checker *c) {
    const dt_net *net = c->net;
    size_t parts = net->node_count;
    for (uint32_t n = 0; n < net->node_count; n++) c->above[n] = n;
    for (size_t a = 0; a < net->arc_count; a++) {
        uint32_t p = leader(c->above, net->arcs[a].from), q = leader(c->above, net->arcs[a].to);
        if (p == q) continue;
        c->above[p] = q;
        parts--;
    }
    return net->node_count + net->face_count + 1 == net->arc_count + 1 + parts ? NULL : "V - E + F is not 1 + C";
}

static const char *check_all(checker *c) {
    const dt_net *net = c->net;
    const char *broken = NULL;
    for (size_t a = 0; !broken && a < net->arc_count; a++) broken = check_arc(net, &net->arcs[a]);
    if (!broken) broken = check_degrees(net);
    if (!broken) broken = check_meeting(c);
    for (uint32_t f = 0; !broken && f < net->face_count; f++) broken = check_face(c, f);
    if (!broken) broken = check_halves(c);
    return broken ? broken : check_euler(c);
}

const char *dt_net_check(const dt_net *net) {
    checker c = {.net = net, .grid = {.cell = 1.0}};
    c.ringed = calloc(2 * net->arc_count + 1, sizeof *c.ringed);
    c.above = calloc(net->node_count + 1, sizeof *c.above);
    const char *broken = c.ringed && c.above ? check_all(&c) : "no memory to check the net";
    free(c.ringed);
    free(c.above);
    dt_grid_free(&c.grid);
    dt_array_free(&c.pieces);
    return broken;
}
