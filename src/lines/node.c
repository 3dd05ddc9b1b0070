/* Noding by snap rounding on the grid of 1 micrometre: every end and every crossing makes its grid cell a HOT PIXEL,
 * and a cut goes through the middle of each hot pixel that it passes. Main invariant: nothing is decided in floating
 * point; turns and crossings are exact integers, a pixel is half open (its borders towards smaller x and y belong to
 * it), so the outcome depends on nothing but the set of cuts. Source: Hobby, Practical segment intersection with finite
 * precision output, Computational Geometry 13, 1999; Guibas and Marimont, Rounding arrangements dynamically, 1998.
 * Bending can bring a cut onto an end that it missed before, so cuts that were bent are looked at again until none is
 * bent any more. (GEOS has the same method in GEOSUnaryUnionPrec, but takes ten times as long on a knobbed sheet and
 * forgets which stroke a line came from; the tests compare with it.) */
#include "node.h"

#include "geom/strands.h"
#include <math.h>

__extension__ typedef __int128 wide;

/* Bending moves a cut by half a micrometre at most; few are bent twice. */
#define PASSES 50
/* A puzzle of 10,000 pieces has about 20,000 crossings; beyond these limits the lines are a scribble. */
#define MOST_CROSSINGS 100000u
/* Boxes and cuts compared: a knobbed sheet needs 3 a cut. */
#define MOST_WORK 150000000u

typedef struct hit {
    uint32_t cut;
    int64_t along; /* projection on the cut, in square micrometres */
    dt_gp at;
} hit;

typedef struct noder {
    dt_cuts *cuts;
    dt_strands strands; /* of whole micrometres; neighbours on one strand share no pixel but the one where they meet */
    DT_ARRAY(hit) hits;
    DT_ARRAY(uint32_t) bent; /* cuts that the last pass changed, ascending */
    size_t compared;         /* cuts that the passes so far have compared with each other */
    uint64_t work, crossed;  /* so far */
} noder;

static dt_point real(dt_gp p) {
    return (dt_point){p.x, p.y};
}

static int sign(int64_t value) {
    return (value > 0) - (value < 0);
}

static bool boxes_meet(const dt_cut *c, const dt_cut *d) {
    int32_t cx1 = c->a.x < c->b.x ? c->a.x : c->b.x, cx2 = c->a.x < c->b.x ? c->b.x : c->a.x;
    int32_t dx1 = d->a.x < d->b.x ? d->a.x : d->b.x, dx2 = d->a.x < d->b.x ? d->b.x : d->a.x;
    if (cx1 > dx2 || dx1 > cx2) return false;
    int32_t cy1 = c->a.y < c->b.y ? c->a.y : c->b.y, cy2 = c->a.y < c->b.y ? c->b.y : c->a.y;
    int32_t dy1 = d->a.y < d->b.y ? d->a.y : d->b.y, dy2 = d->a.y < d->b.y ? d->b.y : d->a.y;
    return cy1 <= dy2 && dy1 <= cy2;
}

/* Do the insides of both cross? Where an end lies on the other cut, that end is hot anyway. */
static bool cross_inside(const dt_cut *c, const dt_cut *d) {
    if (!boxes_meet(c, d)) return false;
    if (sign(dt_gp_cross(c->a, c->b, d->a)) * sign(dt_gp_cross(c->a, c->b, d->b)) >= 0) return false;
    return sign(dt_gp_cross(d->a, d->b, c->a)) * sign(dt_gp_cross(d->a, d->b, c->b)) < 0;
}

/* floor(start + span * top / bottom + 1/2), exactly: the pixel that holds the crossing. */
static int32_t rounded(int32_t start, int64_t span, int64_t top, int64_t bottom) {
    wide numerator = 2 * (wide)span * top + bottom, denominator = 2 * (wide)bottom;
    wide quotient = numerator / denominator;
    if (numerator % denominator < 0) quotient--;
    return (int32_t)(start + (int64_t)quotient);
}

static dt_gp crossing(const dt_cut *c, const dt_cut *d) {
    int64_t at_a = dt_gp_cross(d->a, d->b, c->a), at_b = dt_gp_cross(d->a, d->b, c->b), bottom = at_a - at_b;
    if (bottom < 0) {
        at_a = -at_a;
        bottom = -bottom;
    }
    return (dt_gp){rounded(c->a.x, (int64_t)c->b.x - c->a.x, at_a, bottom),
                   rounded(c->a.y, (int64_t)c->b.y - c->a.y, at_a, bottom)};
}

/* Does the cut, whose ends lie in other pixels, pass the half-open pixel around p? By separating axes: the boxes, then
 * the four corners against the line; twice the area 2c -+ dx -+ dy at the corners. Touching counts at the corner that
 * belongs to the pixel. */
static bool passes(const dt_cut *cut, dt_gp p) {
    dt_cut point = {p, p, 0};
    if (!boxes_meet(cut, &point)) return false;
    int64_t dx = (int64_t)cut->b.x - cut->a.x, dy = (int64_t)cut->b.y - cut->a.y;
    int64_t twice = 2 * dt_gp_cross(cut->a, cut->b, p), reach = (dx < 0 ? -dx : dx) + (dy < 0 ? -dy : dy);
    int64_t size = twice < 0 ? -twice : twice;
    return size < reach || (size == reach && twice - dx + dy == 0);
}

static bool add_hit(noder *n, uint32_t item, dt_gp p) {
    const dt_cut *cut = &n->cuts->items[item];
    if (dt_gp_same(cut->a, p) || dt_gp_same(cut->b, p) || !passes(cut, p)) return true;
    int64_t along = ((int64_t)p.x - cut->a.x) * ((int64_t)cut->b.x - cut->a.x) +
                    ((int64_t)p.y - cut->a.y) * ((int64_t)cut->b.y - cut->a.y);
    return dt_array_push(&n->hits, ((hit){item, along, p}));
}

/* A crossing is hot for its own two cuts at once, and for the others in the next pass, when it is an end of their
 * parts. */
static bool compare_pair(void *context, uint32_t i, uint32_t j) {
    noder *n = context;
    const dt_cut *c = &n->cuts->items[i], *d = &n->cuts->items[j];
    if (!add_hit(n, i, d->a) || !add_hit(n, i, d->b) || !add_hit(n, j, c->a) || !add_hit(n, j, c->b)) return false;
    if (!cross_inside(c, d)) return true;
    dt_gp p = crossing(c, d);
    return ++n->crossed <= MOST_CROSSINGS && add_hit(n, i, p) && add_hit(n, j, p);
}

/* A straight line passes its pixels in the order of their middles' projections, since both coordinates of the pixels
 * change one way only. */
static int compare_hits(const void *left, const void *right) {
    const hit *a = left, *b = right;
    if (a->cut != b->cut) return a->cut < b->cut ? -1 : 1;
    return (a->along > b->along) - (a->along < b->along);
}

/* The first stretch keeps the place of the cut, the others are new; a pixel found twice is left out. */
static bool split_cut(noder *n, size_t first, size_t end) {
    uint32_t which = n->hits.items[first].cut;
    dt_cut rest = n->cuts->items[which];
    n->cuts->items[which].b = rest.a = n->hits.items[first].at;
    for (size_t i = first + 1; i < end; i++) {
        dt_gp to = n->hits.items[i].at;
        if (dt_gp_same(to, rest.a)) continue;
        if (!dt_array_push(n->cuts, ((dt_cut){rest.a, to, rest.stroke}))) return false;
        rest.a = to;
    }
    return dt_array_push(n->cuts, rest) && dt_array_push(&n->bent, which);
}

static bool split_cuts(noder *n) {
    n->bent.count = 0;
    if (n->hits.count) qsort(n->hits.items, n->hits.count, sizeof *n->hits.items, compare_hits);
    for (size_t first = 0, end; first < n->hits.count; first = end) {
        for (end = first; end < n->hits.count && n->hits.items[end].cut == n->hits.items[first].cut;) end++;
        if (!split_cut(n, first, end)) return false;
    }
    n->hits.count = 0;
    return true;
}

/* Enters all cuts anew: those that the last pass bent and those that are new since are fresh. */
static bool enter_cuts(noder *n) {
    size_t bent = 0;
    dt_strands_free(&n->strands);
    for (uint32_t i = 0; i < n->cuts->count; i++) {
        bool is_bent = bent < n->bent.count && n->bent.items[bent] == i;
        bent += is_bent;
        const dt_cut *cut = &n->cuts->items[i];
        if (!dt_strands_add(&n->strands, real(cut->a), real(cut->b), 0, is_bent || i >= n->compared)) return false;
    }
    n->compared = n->cuts->count;
    return dt_strands_close(&n->strands);
}

static dt_status too_crowded(dt_error *error) {
    return dt_fail(error, DT_TOO_LARGE,
                   "the lines crowd each other or cross more than %u times, which is no puzzle: leave out what is no "
                   "cut with --skip",
                   MOST_CROSSINGS);
}

static dt_status node_pass(noder *n, dt_error *error) {
    if (!enter_cuts(n)) return DT_NO_MEMORY;
    bool whole = dt_strands_join(&n->strands, 0.0, MOST_WORK - n->work, compare_pair, n);
    n->work += n->strands.work;
    if (n->work > MOST_WORK || n->crossed > MOST_CROSSINGS) return too_crowded(error);
    return whole && split_cuts(n) ? DT_OK : DT_NO_MEMORY;
}

dt_status dt_node_cuts(dt_cuts *cuts, dt_error *error) {
    noder n = {.cuts = cuts};
    dt_status status = node_pass(&n, error);
    for (int pass = 1; status == DT_OK && n.bent.count && pass < PASSES; pass++) status = node_pass(&n, error);
    if (status == DT_OK && n.bent.count)
        status = dt_fail(error, DT_TOO_LARGE, "the lines are too tangled to be told apart");
    dt_strands_free(&n.strands);
    dt_array_free(&n.hits);
    dt_array_free(&n.bent);
    return status;
}
