/* The index of tips by measures of their legs: see legs.h. */
#include "legs.h"

#include "base/workers.h"

#include <math.h>

/* mm at the end of a leg that a follower need not keep to: a slip, and a step between points that are compared */
static const double LOOSE_END_MM = 2.65;
static const double USUAL_SLIP_MM = 1.2;  /* measures end so much before, else few could be held to them */
/* mm by which bends of 2 mm leave the middle of two points that are compared, on both lines together */
static const double BETWEEN_MM = 0.12;
static const double ANGLE_SCALE = 3.0;    /* radians to mm, so that a tree weighs them */
static const double BASE_MM = 5.0;        /* from the tip */

enum from { FROM_TIP, FROM_BASE, FROM_STRETCH };

/* From a point, or a stretch, to another stretch of the leg: shares of what legs of the class have in common. The base
 * lies on the other leg where both count. */
typedef struct measure {
    enum from what;
    double from, to;
    bool largest;
    double other_from, other_to;
} measure;

/* The stretches overlap, so that every bulge lies well within one of them. */
static const measure BOTH_LEGS[] = {
    {FROM_TIP, 0.25, 0.5, true, 0.0, 0.0},   {FROM_TIP, 0.42, 0.67, false, 0.0, 0.0},
    {FROM_TIP, 0.58, 0.83, true, 0.0, 0.0},  {FROM_TIP, 0.75, 1.0, false, 0.0, 0.0},
    {FROM_BASE, 0.42, 0.67, false, 0.0, 0.0}, {FROM_BASE, 0.58, 0.83, true, 0.0, 0.0},
    {FROM_BASE, 0.75, 1.0, true, 0.0, 0.0}};
static const measure ONE_LEG[] = {
    {FROM_TIP, 0.25, 0.5, true, 0.0, 0.0},    {FROM_TIP, 0.25, 0.5, false, 0.0, 0.0},
    {FROM_TIP, 0.42, 0.67, true, 0.0, 0.0},   {FROM_TIP, 0.42, 0.67, false, 0.0, 0.0},
    {FROM_TIP, 0.58, 0.83, true, 0.0, 0.0},   {FROM_TIP, 0.58, 0.83, false, 0.0, 0.0},
    {FROM_TIP, 0.75, 1.0, true, 0.0, 0.0},    {FROM_TIP, 0.75, 1.0, false, 0.0, 0.0},
    {FROM_BASE, 0.58, 0.83, true, 0.0, 0.0},  {FROM_BASE, 0.75, 1.0, false, 0.0, 0.0},
    {FROM_BASE, 0.75, 1.0, true, 0.0, 0.0},   {FROM_STRETCH, 0.6, 0.95, true, 0.25, 0.55}};
enum {
    BOTH_COUNT = sizeof BOTH_LEGS / sizeof *BOTH_LEGS,
    ONE_COUNT = sizeof ONE_LEG / sizeof *ONE_LEG,
    MOST_MEASURES = ONE_COUNT,
    BOTH_KEYS = 2 * BOTH_COUNT + 1, /* and the angle */
    ONE_KEYS = ONE_COUNT + 1,
    NO_CLASS = DT_LEG_CLASSES - 1
};

/* Taken of each leg from the first to the last. */
typedef struct measures {
    const measure *items;
    size_t count, keys;
    int first_leg, last_leg;
} measures;

static measures measures_of(dt_by_legs by) {
    if (by == DT_BY_BOTH) return (measures){BOTH_LEGS, BOTH_COUNT, BOTH_KEYS, 0, 1};
    return (measures){ONE_LEG, ONE_COUNT, ONE_KEYS, (int)by, (int)by};
}

static int base_leg_of(const measures *all, int leg) {
    return all->first_leg == all->last_leg ? leg : 1 - leg;
}

/* mm that legs of a class have at least. */
static double class_length(int class) {
    static const double LENGTHS[NO_CLASS] = {27.0, 23.8, 20.9, 18.4, 16.2, 13.4, 11.0, 9.1, 7.5};
    return class < NO_CLASS ? LENGTHS[class] : 0.0;
}

/* mm of a class's legs that measures are taken on. */
static double common_length(int class) {
    return class_length(class) - LOOSE_END_MM - USUAL_SLIP_MM;
}

static int class_of(double leg) {
    int class = 0;
    while (class < NO_CLASS && leg < class_length(class)) class++;
    return class;
}

/* Only legs this long have a base to measure from. */
static bool has_base(int class) {
    return class < NO_CLASS && common_length(class) >= BASE_MM;
}

/* ---- measures ---- */

/* The least and the largest squared distance. */
typedef struct spread {
    double least, most;
} spread;

static void add_point(spread *s, dt_point from, const dt_point *points, long first, long last) {
    for (long i = first; i <= last; i++) {
        dt_point off = dt_point_sub(points[i], from);
        double square = dt_point_dot(off, off);
        s->least = square < s->least ? square : s->least;
        s->most = square > s->most ? square : s->most;
    }
}

static long sample_before(double arc) {
    return (long)floor(arc / DT_LEG_STEP_MM + 1e-9);
}

static long sample_after(double arc) {
    return (long)ceil(arc / DT_LEG_STEP_MM - 1e-9);
}

/* Samples first .. last of a leg. */
typedef struct stretch {
    long first, last;
} stretch;

static stretch stretch_of(double from, double to, double common) {
    return (stretch){sample_before(from * common), sample_before(to * common)};
}

static void add_stretch(spread *s, const dt_point *points, stretch a, stretch b) {
    for (long i = a.first; i <= a.last; i++) add_point(s, points[i], points, b.first, b.last);
}

static float take_measure(const measure *m, const dt_leg_samples *samples, int leg, int base_leg, int class) {
    double common = common_length(class);
    const dt_point *points = samples->leg[leg];
    stretch far = stretch_of(m->from, m->to, common);
    spread s = {INFINITY, -INFINITY};
    if (m->what == FROM_STRETCH)
        add_stretch(&s, points, stretch_of(m->other_from, m->other_to, common), far);
    else if (m->what == FROM_BASE)
        add_point(&s, samples->leg[base_leg][sample_before(BASE_MM)], points, far.first, far.last);
    else
        add_point(&s, points[0], points, far.first, far.last);
    return (float)sqrt(m->largest ? s.most : s.least);
}

/* ---- what a follower's measures may be ---- */

typedef struct bounds {
    double low, high;
} bounds;

static const bounds ANY = {-INFINITY, INFINITY};

/* The slip about a sample: what a follower has there may lie a little farther on. */
static double slip_at(const dt_gap_legs *legs, int leg, long sample) {
    enum { FARTHER = 8 };
    long i = sample + FARTHER;
    return legs->slip[leg][i < DT_LEG_SAMPLES ? i : DT_LEG_SAMPLES - 1];
}

/* Does whatever follows, with a leg of the class, keep to the gap's leg as far as the sample and its slip? */
static bool is_held(const dt_gap_legs *legs, int leg, int class, long sample) {
    double end = (double)sample * DT_LEG_STEP_MM + slip_at(legs, leg, sample);
    return end <= fmin(legs->followed[leg], class_length(class) - LOOSE_END_MM) &&
           sample_after(end) < DT_LEG_SAMPLES;
}

/* A stretch of a follower's leg lies along a stretch of the gap's leg that may be a slip longer or shorter at either
 * end: so its largest distance is no larger than that of the longer one, and no less than that of the shorter one. */
static void longer_and_shorter(const dt_gap_legs *legs, int leg, stretch s, stretch *longer, stretch *shorter) {
    double from = (double)s.first * DT_LEG_STEP_MM, to = (double)s.last * DT_LEG_STEP_MM;
    double at_from = slip_at(legs, leg, s.first), at_to = slip_at(legs, leg, s.last);
    *longer = (stretch){sample_before(fmax(0.0, from - at_from)), sample_after(to + at_to)};
    *shorter = (stretch){sample_after(from + at_from), sample_before(to - at_to)};
}

static dt_point between(const dt_point *points, double at) {
    double place = fmax(0.0, fmin(at / DT_LEG_STEP_MM, DT_LEG_SAMPLES - 1.001)), share = place - floor(place);
    dt_point a = points[(size_t)place], b = points[(size_t)place + 1];
    return (dt_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

static void widen(bounds *b, const measure *m, spread longer, spread shorter) {
    b->low = fmin(b->low, m->largest ? shorter.most : longer.least);
    b->high = fmax(b->high, m->largest ? longer.most : shorter.least);
}

static bounds with_room(bounds squares, double room) {
    double low = squares.low, high = squares.high;
    return (bounds){low > 0.0 && low < INFINITY ? sqrt(low) - room : -INFINITY,
                    high > 0.0 && high < INFINITY ? sqrt(high) + room : INFINITY};
}

/* A gap's leg as one class of followers is held to it. */
typedef struct holding {
    const dt_gap_legs *legs;
    int leg, base_leg, class;
} holding;

static bounds bounds_from_point(const holding *h, const measure *m, stretch longer, stretch shorter) {
    enum { PLACES = 2 }; /* of the base, each way */
    const dt_gap_legs *legs = h->legs;
    bool from_base = m->what == FROM_BASE;
    const dt_point *points = legs->samples.leg[h->leg], *base = legs->samples.leg[from_base ? h->base_leg : h->leg];
    double slip = from_base ? slip_at(legs, h->base_leg, sample_before(BASE_MM)) : 0.0;
    bounds b = {INFINITY, -INFINITY};
    for (int i = from_base ? -PLACES : 0; i <= (from_base ? PLACES : 0); i++) {
        dt_point from = between(base, from_base ? BASE_MM + slip * i / PLACES : 0.0);
        spread s[2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}};
        add_point(&s[0], from, points, longer.first, longer.last);
        add_point(&s[1], from, points, shorter.first, shorter.last);
        widen(&b, m, s[0], s[1]);
    }
    return with_room(b, legs->room + (from_base ? legs->room : legs->tip_room) + BETWEEN_MM);
}

static bounds bounds_from_stretch(const holding *h, const measure *m, stretch longer, stretch shorter) {
    const dt_point *points = h->legs->samples.leg[h->leg];
    stretch near = stretch_of(m->other_from, m->other_to, common_length(h->class)), near_longer, near_shorter;
    spread s[2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}};
    bounds b = {INFINITY, -INFINITY};
    longer_and_shorter(h->legs, h->leg, near, &near_longer, &near_shorter);
    add_stretch(&s[0], points, near_longer, longer);
    add_stretch(&s[1], points, near_shorter, shorter);
    widen(&b, m, s[0], s[1]);
    return with_room(b, 2.0 * h->legs->room + BETWEEN_MM);
}

static bounds bounds_of(const holding *h, const measure *m) {
    if (h->class == NO_CLASS) return ANY;
    stretch far = stretch_of(m->from, m->to, common_length(h->class)), longer, shorter;
    if (!is_held(h->legs, h->leg, h->class, far.last)) return ANY;
    longer_and_shorter(h->legs, h->leg, far, &longer, &shorter);
    return m->what == FROM_STRETCH ? bounds_from_stretch(h, m, longer, shorter)
                                   : bounds_from_point(h, m, longer, shorter);
}

/* ---- shelves ---- */

static void classes_of(const dt_leg_plan *plan, const dt_entry *e, int classes[2]) {
    const dt_tip *tip = &plan->lines[e->line].line.tips[e->tip];
    classes[0] = plan->by == DT_BY_LEAVING ? NO_CLASS : class_of(tip->behind);
    classes[1] = plan->by == DT_BY_ARRIVING ? NO_CLASS : class_of(tip->ahead);
}

static size_t shelf_of(const dt_leg_plan *plan, const dt_entry *e) {
    int classes[2];
    classes_of(plan, e, classes);
    return (size_t)(classes[0] * DT_LEG_CLASSES + classes[1]);
}

static bool fill_shelves(const dt_leg_plan *plan, dt_arena *arena, dt_leg_index *index) {
    size_t counts[DT_LEG_SHELVES] = {0};
    bool made = true;
    for (size_t i = 0; i < plan->count; i++) counts[shelf_of(plan, &plan->entries[i])]++;
    for (int s = 0; s < DT_LEG_SHELVES; s++) {
        dt_leg_shelf *shelf = &index->shelves[s];
        shelf->classes[0] = s / DT_LEG_CLASSES;
        shelf->classes[1] = s % DT_LEG_CLASSES;
        shelf->items = DT_TAKE(arena, counts[s], uint32_t);
        shelf->keys = DT_TAKE(arena, counts[s] * measures_of(index->by).keys, float);
        made = made && shelf->items && shelf->keys;
    }
    for (uint32_t i = 0; made && i < plan->count; i++) {
        dt_leg_shelf *shelf = &index->shelves[shelf_of(plan, &plan->entries[i])];
        shelf->items[shelf->count++] = i;
    }
    return made;
}

typedef struct measuring {
    const dt_leg_plan *plan;
    const dt_leg_shelf *shelf;
} measuring;

enum { BATCH = 64 }; /* tips that a worker measures at once */

static void measure_entry(const measuring *m, size_t item) {
    const dt_entry *e = &m->plan->entries[m->shelf->items[item]];
    const dt_line *line = &m->plan->lines[e->line].line;
    const measures all = measures_of(m->plan->by);
    float *key = m->shelf->keys + item * all.keys;
    dt_leg_samples samples;
    for (int leg = 0; leg < 2; leg++) {
        double length = m->shelf->classes[leg] == NO_CLASS ? BASE_MM : common_length(m->shelf->classes[leg]);
        size_t count = (size_t)sample_after(fmax(BASE_MM, length)) + 1;
        dt_line_sample(line, line->tips[e->tip].at, leg ? DT_LEG_STEP_MM : -DT_LEG_STEP_MM, count, samples.leg[leg]);
    }
    size_t k = 0;
    for (int leg = all.first_leg; leg <= all.last_leg; leg++)
        for (size_t i = 0; i < all.count; i++, k++) {
            int class = m->shelf->classes[leg];
            key[k] = class == NO_CLASS ? 0.0f
                                       : take_measure(&all.items[i], &samples, leg, base_leg_of(&all, leg), class);
        }
    key[k] = (float)(ANGLE_SCALE * e->angle);
}

static dt_status measure_batch(void *context, size_t worker, size_t batch) {
    const measuring *m = context;
    (void)worker;
    for (size_t i = batch * BATCH; i < m->shelf->count && i < (batch + 1) * BATCH; i++) measure_entry(m, i);
    return DT_OK;
}

dt_status dt_leg_index_new(const dt_leg_plan *plan, dt_arena *arena, dt_leg_index *out) {
    dt_leg_index index = {.by = plan->by};
    if (!fill_shelves(plan, arena, &index)) return DT_NO_MEMORY;
    for (size_t s = 0; s < DT_LEG_SHELVES; s++) {
        dt_leg_shelf *shelf = &index.shelves[s];
        measuring m = {plan, shelf};
        if (!shelf->count) continue;
        size_t batches = (shelf->count + BATCH - 1) / BATCH;
        size_t workers = batches < plan->workers ? batches : plan->workers;
        dt_status status = dt_workers_run(workers, batches, measure_batch, &m);
        if (status == DT_OK)
            status = dt_kdtree_new(shelf->keys, shelf->count, measures_of(plan->by).keys, arena, &shelf->tree);
        if (status != DT_OK) return status;
    }
    *out = index;
    return DT_OK;
}

/* ---- looking up ---- */

typedef struct look {
    const dt_leg_shelf *shelf;
    bool (*found)(void *context, uint32_t entry);
    void *context;
    bool go_on;
} look;

static bool found_on_shelf(void *context, uint32_t item) {
    look *l = context;
    l->go_on = l->found(l->context, l->shelf->items[item]);
    return l->go_on;
}

/* Bounds of a gap's legs for each class, made when they are first asked for. */
typedef struct all_bounds {
    bool known[2][DT_LEG_CLASSES];
    bounds of[2][DT_LEG_CLASSES][MOST_MEASURES];
} all_bounds;

static const bounds *bounds_for(const measures *all, const dt_gap_legs *legs, int leg, int class, all_bounds *made) {
    holding h = {legs, leg, base_leg_of(all, leg), class};
    if (!made->known[leg][class])
        for (size_t i = 0; i < all->count; i++) made->of[leg][class][i] = bounds_of(&h, &all->items[i]);
    made->known[leg][class] = true;
    return made->of[leg][class];
}

/* A base that the followers of a shelf need not have says nothing. */
static bool says_something(const measures *all, const measure *m, const dt_gap_legs *legs, const dt_leg_shelf *shelf,
                           int leg) {
    int base_leg = base_leg_of(all, leg), class = shelf->classes[base_leg];
    return m->what != FROM_BASE || (has_base(class) && is_held(legs, base_leg, class, sample_before(BASE_MM)));
}

static void look_on_shelf(const dt_leg_index *index, const dt_gap_legs *legs, all_bounds *made, look *l) {
    float low[2 * MOST_MEASURES + 1], high[2 * MOST_MEASURES + 1];
    const measures all = measures_of(index->by);
    size_t k = 0;
    for (int leg = all.first_leg; leg <= all.last_leg; leg++) {
        const bounds *of = bounds_for(&all, legs, leg, l->shelf->classes[leg], made);
        for (size_t i = 0; i < all.count; i++, k++) {
            bounds b = says_something(&all, &all.items[i], legs, l->shelf, leg) ? of[i] : ANY;
            low[k] = (float)b.low;
            high[k] = (float)b.high;
        }
    }
    low[k] = (float)(ANGLE_SCALE * (legs->least_angle - 1e-3));
    high[k] = (float)(ANGLE_SCALE * (legs->most_angle + 1e-3));
    dt_kdtree_find_in_box(&l->shelf->tree, low, high, found_on_shelf, l);
}

void dt_leg_index_find(const dt_leg_index *index, const dt_gap_legs *legs,
                       bool (*found)(void *context, uint32_t entry), void *context) {
    look l = {.found = found, .context = context, .go_on = true};
    all_bounds made = {.known = {{false}}};
    for (size_t s = 0; l.go_on && s < DT_LEG_SHELVES; s++) {
        l.shelf = &index->shelves[s];
        if (l.shelf->count) look_on_shelf(index, legs, &made, &l);
    }
}
