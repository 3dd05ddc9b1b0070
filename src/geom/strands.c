/* Strands: see strands.h. They are sorted along a curve that fills the plane (Morton, A computer oriented geodetic data
 * base, 1966), so neighbours in the list are neighbours in the plane, whatever the order in which the lines were drawn;
 * the tree of boxes over the list is a heap. Invariant: a pair of boxes is looked into only where they come within
 * reach and one is fresh. */
#include "geom/strands.h"

#include <stdlib.h>
#include <string.h>

/* Segments of a strand: two long strands that cross would have all of theirs compared. */
enum { MOST_SEGMENTS = 16 };

/* ---- making them ---- */

enum { EAST = 1, WEST = 2, SOUTH = 4, NORTH = 8 };

/* The directions in which one may go on: a level segment leaves both north and south open. */
static uint8_t ways_of(dt_point a, dt_point b) {
    return (uint8_t)((b.x >= a.x ? EAST : 0) | (b.x <= a.x ? WEST : 0) | (b.y >= a.y ? SOUTH : 0) |
                     (b.y <= a.y ? NORTH : 0));
}

static bool is_one_way(uint8_t ways) {
    return (ways & (EAST | WEST)) && (ways & (SOUTH | NORTH));
}

static inline double smaller(double a, double b) {
    return a < b ? a : b;
}

static inline double larger(double a, double b) {
    return a > b ? a : b;
}

static inline dt_box box_of(const dt_strand_segment *s) {
    return (dt_box){{smaller(s->a.x, s->b.x), smaller(s->a.y, s->b.y)},
                    {larger(s->a.x, s->b.x), larger(s->a.y, s->b.y)}};
}

static inline dt_box join(dt_box a, dt_box b) {
    return (dt_box){{smaller(a.low.x, b.low.x), smaller(a.low.y, b.low.y)},
                    {larger(a.high.x, b.high.x), larger(a.high.y, b.high.y)}};
}

static inline bool goes_on(const dt_strands *s, const dt_strand *last, dt_point a, uint8_t ways, uint32_t line) {
    dt_point end = s->segments.items[s->segments.count - 1].b;
    return last->line == line && last->count < MOST_SEGMENTS && end.x == a.x && end.y == a.y &&
           is_one_way(last->ways & ways);
}

/* The corner that is farthest from the strand's first point lies at b, as it goes one way. */
static inline void go_on(dt_strand *last, dt_point b, uint8_t ways, bool fresh) {
    last->count++;
    last->ways &= ways;
    last->fresh = last->fresh || fresh;
    if (last->ways & EAST) last->box.high.x = b.x;
    if (last->ways & WEST) last->box.low.x = b.x;
    if (last->ways & SOUTH) last->box.high.y = b.y;
    if (last->ways & NORTH) last->box.low.y = b.y;
}

bool dt_strands_add(dt_strands *s, dt_point a, dt_point b, uint32_t line, bool fresh) {
    uint8_t ways = ways_of(a, b);
    dt_strand *last = s->strands.count ? &s->strands.items[s->strands.count - 1] : NULL;
    if (!dt_array_reserve(&s->segments, 1)) return false;
    if (last && goes_on(s, last, a, ways, line)) {
        go_on(last, b, ways, fresh);
    } else {
        dt_strand next = {(uint32_t)s->segments.count, 1, line, ways, fresh, box_of(&(dt_strand_segment){a, b})};
        if (!dt_array_push(&s->strands, next)) return false;
    }
    s->segments.items[s->segments.count++] = (dt_strand_segment){a, b};
    return true;
}

/* ---- sorting ---- */

typedef struct place {
    uint32_t key, strand;
} place;

/* The lower 16 bits, with a gap after each. */
static uint32_t spread(uint32_t bits) {
    bits = (bits | bits << 8) & 0x00ff00ffu;
    bits = (bits | bits << 4) & 0x0f0f0f0fu;
    bits = (bits | bits << 2) & 0x33333333u;
    return (bits | bits << 1) & 0x55555555u;
}

static uint32_t share_of(double value, double low, double size) {
    return size > 0.0 ? (uint32_t)larger(0.0, smaller(65535.0, (value - low) / size * 65535.0)) : 0;
}

static dt_box box_of_all(const dt_strands *s) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < s->strands.count; i++) box = join(box, s->strands.items[i].box);
    return box;
}

static void list_places(const dt_strands *s, place *out) {
    dt_box all = box_of_all(s);
    double size = larger(all.high.x - all.low.x, all.high.y - all.low.y);
    for (size_t i = 0; i < s->strands.count; i++) {
        const dt_box *box = &s->strands.items[i].box;
        uint32_t x = share_of(0.5 * (box->low.x + box->high.x), all.low.x, size);
        uint32_t y = share_of(0.5 * (box->low.y + box->high.y), all.low.y, size);
        out[i] = (place){spread(x) | spread(y) << 1, (uint32_t)i};
    }
}

/* By one byte of the key; what is equal keeps its order. */
static void sort_by_byte(const place *from, place *to, size_t count, unsigned shift) {
    size_t start[257] = {0};
    for (size_t i = 0; i < count; i++) start[(from[i].key >> shift & 255) + 1]++;
    for (int k = 0; k < 256; k++) start[k + 1] += start[k];
    for (size_t i = 0; i < count; i++) to[start[from[i].key >> shift & 255]++] = from[i];
}

static bool sort_strands(dt_strands *s) {
    size_t n = s->strands.count;
    place *places = malloc(2 * n * sizeof *places);
    dt_strand *sorted = malloc(n * sizeof *sorted);
    if (!places || !sorted) {
        free(places);
        free(sorted);
        return false;
    }
    list_places(s, places);
    for (unsigned shift = 0; shift < 32; shift += 16) {
        sort_by_byte(places, places + n, n, shift);
        sort_by_byte(places + n, places, n, shift + 8);
    }
    for (size_t i = 0; i < n; i++) sorted[i] = s->strands.items[places[i].strand];
    memcpy(s->strands.items, sorted, n * sizeof *sorted);
    free(places);
    free(sorted);
    return true;
}

bool dt_strands_close(dt_strands *s) {
    size_t n = s->strands.count;
    if (n == 0) return true;
    s->boxes = malloc(2 * n * sizeof *s->boxes);
    s->fresh = malloc(2 * n * sizeof *s->fresh);
    if (!s->boxes || !s->fresh || !sort_strands(s)) return false;
    for (size_t i = 0; i < n; i++) {
        s->boxes[n + i] = s->strands.items[i].box;
        s->fresh[n + i] = s->strands.items[i].fresh;
    }
    for (size_t i = n - 1; i > 0; i--) {
        s->boxes[i] = join(s->boxes[2 * i], s->boxes[2 * i + 1]);
        s->fresh[i] = s->fresh[2 * i] || s->fresh[2 * i + 1];
    }
    return true;
}

void dt_strands_free(dt_strands *s) {
    dt_array_free(&s->segments);
    dt_array_free(&s->strands);
    free(s->boxes);
    free(s->fresh);
    *s = (dt_strands){0};
}

/* ---- joining ---- */

typedef struct joining {
    dt_strands *s;
    double reach;
    uint64_t most_work;
    dt_strands_look *look;
    void *context;
} joining;

static inline bool are_near(const dt_box *a, const dt_box *b, double reach) {
    return a->low.x <= b->high.x + reach && b->low.x <= a->high.x + reach && a->low.y <= b->high.y + reach &&
           b->low.y <= a->high.y + reach;
}

static bool compare_segment(joining *j, uint32_t which, const dt_box *box, const dt_strand *strand) {
    const dt_strand_segment *segments = j->s->segments.items;
    j->s->work += strand->count;
    for (uint32_t k = strand->first; k < strand->first + strand->count; k++) {
        dt_box other = box_of(&segments[k]);
        if (!are_near(box, &other, j->reach)) continue;
        if (!(which > k ? j->look(j->context, which, k) : j->look(j->context, k, which))) return false;
    }
    return j->s->work <= j->most_work;
}

static bool compare_strands(joining *j, const dt_strand *a, const dt_strand *b) {
    j->s->work += a->count;
    for (uint32_t i = a->first; i < a->first + a->count; i++) {
        dt_box box = box_of(&j->s->segments.items[i]);
        if (are_near(&box, &b->box, j->reach) && !compare_segment(j, i, &box, b)) return false;
    }
    return true;
}

/* Two nodes of which neither is above the other: the higher one, which has the lower number, is split. */
static bool join_two(joining *j, size_t a, size_t b) {
    size_t n = j->s->strands.count;
    j->s->work++;
    if (!(j->s->fresh[a] || j->s->fresh[b]) || !are_near(&j->s->boxes[a], &j->s->boxes[b], j->reach)) return true;
    if (a >= n && b >= n) return compare_strands(j, &j->s->strands.items[a - n], &j->s->strands.items[b - n]);
    size_t high = a < b ? a : b, low = a < b ? b : a;
    return join_two(j, 2 * high, low) && join_two(j, 2 * high + 1, low);
}

static bool join_within(joining *j, size_t node) {
    if (node >= j->s->strands.count || !j->s->fresh[node]) return true;
    return join_within(j, 2 * node) && join_within(j, 2 * node + 1) && join_two(j, 2 * node, 2 * node + 1);
}

bool dt_strands_join(dt_strands *s, double reach, uint64_t most_work, dt_strands_look *look, void *context) {
    joining j = {s, reach, most_work, look, context};
    s->work = 0;
    return s->strands.count == 0 || join_within(&j, 1);
}
