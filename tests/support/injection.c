/* Faults at seeded random: see injection.h. Drafts are sheets of 3 x 3 to 4 x 5 pieces, knobbed or straight, in any
 * pose, each seam a stroke of its own or long lines. */
#include "injection.h"

#include "draft.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;
static const double NEAR_ENOUGH_MM = 0.5;

typedef struct trial {
    uint64_t state;
    dt_net *clean;
    stroke_list list;      /* each arc of the clean net a stroke, in the same order */
    dt_fault_kind kind;    /* expected */
    dt_point at, other;    /* where: either will do */
    long faces;            /* expected */
    double along;          /* half the length of a strip */
    bool none;             /* no fault expected */
} trial;

static double uniform(trial *t, double low, double high) {
    return low + (high - low) * draft_random(&t->state);
}

static dt_net *clean_net(trial *t, bool straight) {
    draft *d = draft_new();
    unsigned rows = 3 + (unsigned)uniform(t, 0, 2), columns = 3 + (unsigned)uniform(t, 0, 3);
    double size = uniform(t, 18, 30);
    if (draft_random(&t->state) < 0.7 && !straight)
        draft_knobbed_sheet(d, rows, columns, size, (unsigned)(t->state >> 33), false);
    else draft_straight_sheet(d, rows, columns, size, size * uniform(t, 0.8, 1.3));
    draft_transform(
        d, dt_pose_about(uniform(t, 0, 360), draft_random(&t->state) < 0.5, (dt_point){0, 0}, (dt_point){150, 90}),
        1.0);
    dt_net *net = checked_net(draft_strokes(d, 0.01), &SETTINGS);
    draft_free(d);
    return net;
}

static dt_path path_of(const trial *t, size_t arc) {
    return t->list.strokes.items[arc].path;
}

/* An arc between two pieces (inner) or a piece and the outside, at least 8 mm long. */
static size_t pick_arc(trial *t, bool inner) {
    for (;;) {
        size_t a = (size_t)uniform(t, 0, (double)dt_net_arc_count(t->clean));
        const dt_arc *arc = dt_net_arc(t->clean, a);
        bool is_inner = arc->left != DT_OUTSIDE_FACE && arc->right != DT_OUTSIDE_FACE;
        if (is_inner == inner && arc->length > 8.0) return a;
    }
}

typedef struct line {
    dt_point points[4096];
    size_t count;
} line;

static dt_point between(dt_point a, dt_point b, double t) {
    return (dt_point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
}

/* The part of a path between two arc lengths. */
static void cut_out(dt_path path, double from, double to, line *out) {
    double at = 0.0;
    out->count = 0;
    for (size_t i = 1; i < path.count; i++) {
        dt_point a = path.points[i - 1], b = path.points[i];
        double length = dt_point_distance(a, b), end = at + length;
        if (end > from && at < to) {
            if (out->count == 0) out->points[out->count++] = between(a, b, fmax(0.0, (from - at) / length));
            out->points[out->count++] = between(a, b, fmin(1.0, (to - at) / length));
        }
        at = end;
    }
}

static void replace(trial *t, size_t arc, const line *l) {
    dt_stroke *stroke = &t->list.strokes.items[arc];
    stroke_list_add(&t->list, l->points, l->count, false);
    dt_stroke fresh = t->list.strokes.items[--t->list.strokes.count];
    stroke = &t->list.strokes.items[arc];
    union {
        const dt_point *seen;
        void *owned;
    } old = {stroke->path.points};
    free(old.owned);
    stroke->path = fresh.path;
}

static void add(trial *t, line *l, bool reversed) {
    for (size_t i = 0; reversed && i < l->count / 2; i++) {
        dt_point other = l->points[i];
        l->points[i] = l->points[l->count - 1 - i];
        l->points[l->count - 1 - i] = other;
    }
    stroke_list_add(&t->list, l->points, l->count, false);
}

static void expect(trial *t, dt_fault_kind kind, dt_point at, dt_point other) {
    t->kind = kind;
    t->at = at;
    t->other = other;
}

static void inject_short_end(trial *t) {
    size_t arc = pick_arc(t, true);
    dt_path path = path_of(t, arc);
    double length = dt_path_length(path), gap = uniform(t, 0.04, 0.3);
    line l;
    bool at_end = draft_random(&t->state) < 0.5;
    dt_point node = path.points[at_end ? path.count - 1 : 0];
    cut_out(path, at_end ? 0 : gap, at_end ? length - gap : length, &l);
    expect(t, DT_FAULT_GAP, node, node);
    replace(t, arc, &l);
}

static void inject_break(trial *t, bool inner, double least, double most, dt_fault_kind kind) {
    size_t arc = pick_arc(t, inner);
    dt_path path = path_of(t, arc);
    double length = dt_path_length(path), gap = uniform(t, least, most), from = uniform(t, 3.5, length - 3.5 - gap);
    line first, second;
    cut_out(path, 0, from, &first);
    cut_out(path, from + gap, length, &second);
    expect(t, kind, first.points[first.count - 1], second.points[0]);
    replace(t, arc, &first);
    add(t, &second, false);
}

/* Does a line from root to end stop within the join distance of a line that it was on its way to? That is a gap then,
 * not a tail: nothing in the drawing tells the two apart. */
static bool falls_short(const trial *t, dt_point root, dt_point end) {
    for (size_t a = 0; a < t->list.strokes.count; a++) {
        dt_path path = path_of(t, a);
        dt_point nearest = root;
        double least = INFINITY;
        for (size_t i = 1; i < path.count; i++) {
            dt_point p;
            double distance = dt_segment_distance(end, path.points[i - 1], path.points[i], &p);
            if (distance < least) nearest = p;
            least = fmin(least, distance);
        }
        if (least <= SETTINGS.join_mm + 0.01 && dt_point_distance(root, nearest) > dt_point_distance(root, end))
            return true;
    }
    return false;
}

/* Does a line from root to end cross another? Then it encloses something, or runs past two lines. */
static bool crosses(const trial *t, dt_point root, dt_point end) {
    dt_point way = dt_point_sub(end, root);
    for (size_t a = 0; a < t->list.strokes.count; a++) {
        dt_path path = path_of(t, a);
        for (size_t i = 1; i < path.count; i++) {
            dt_point to = dt_point_sub(path.points[i - 1], root),
                     along = dt_point_sub(path.points[i], path.points[i - 1]);
            double bottom = dt_point_cross(way, along);
            double on_way = dt_point_cross(to, along) / bottom, on_line = dt_point_cross(to, way) / bottom;
            if (on_way > 0.01 && on_way <= 1.0 && on_line >= 0.0 && on_line <= 1.0) return true;
        }
    }
    return false;
}

static void inject_tail(trial *t) {
    dt_point root, end;
    do {
        dt_path path = path_of(t, pick_arc(t, draft_random(&t->state) < 0.7));
        line l;
        double at = uniform(t, 3, dt_path_length(path) - 3);
        cut_out(path, at, at + 1.0, &l);
        dt_point along = dt_point_sub(l.points[1], l.points[0]);
        double turn = uniform(t, 0.6, 2.5) * (draft_random(&t->state) < 0.5 ? -1 : 1), length = uniform(t, 0.1, 0.9);
        double scale = length / hypot(along.x, along.y);
        dt_point way = {scale * (cos(turn) * along.x - sin(turn) * along.y),
                        scale * (sin(turn) * along.x + cos(turn) * along.y)};
        root = l.points[0];
        end = dt_point_add(root, way);
    } while (falls_short(t, root, end) || crosses(t, root, end));
    expect(t, DT_FAULT_TAIL, root, root);
    stroke_list_segment(&t->list, root, end);
}

static void inject_double(trial *t) {
    dt_path path = path_of(t, pick_arc(t, draft_random(&t->state) < 0.7));
    double length = dt_path_length(path), part = uniform(t, 0.8, length - 3),
           from = uniform(t, 1.5, length - 1.5 - part);
    double turn = uniform(t, 0, 6.28), offset = uniform(t, 0, 0.045);
    line l;
    cut_out(path, from, from + part, &l);
    for (size_t i = 0; i < l.count; i++) {
        l.points[i].x += offset * cos(turn);
        l.points[i].y += offset * sin(turn);
    }
    expect(t, DT_FAULT_DOUBLED, l.points[0], l.points[l.count - 1]);
    add(t, &l, draft_random(&t->state) < 0.5);
}

static void inject_copy(trial *t) {
    dt_path path = path_of(t, pick_arc(t, draft_random(&t->state) < 0.7));
    line l;
    cut_out(path, 0, dt_path_length(path), &l);
    expect(t, DT_FAULT_DOUBLED, l.points[0], l.points[l.count - 1]);
    add(t, &l, draft_random(&t->state) < 0.5);
}

static double distance_to_lines(const trial *t, dt_point p) {
    double best = INFINITY;
    for (size_t a = 0; a < dt_net_arc_count(t->clean); a++)
        best = fmin(best, dt_path_distance(dt_net_arc(t->clean, a)->path, false, p));
    return best;
}

static void inject_stray(trial *t) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t a = 0; a < dt_net_arc_count(t->clean); a++)
        box = dt_box_join(box, dt_box_of(dt_net_arc(t->clean, a)->path));
    for (;;) {
        dt_point p = {uniform(t, box.low.x, box.high.x), uniform(t, box.low.y, box.high.y)};
        double length = uniform(t, 0.3, 4), turn = uniform(t, 0, 6.28);
        if (distance_to_lines(t, p) < length / 2 + 1.0) continue;
        dt_point way = {length / 2 * cos(turn), length / 2 * sin(turn)};
        expect(t, DT_FAULT_STRAY, p, p);
        stroke_list_segment(&t->list, dt_point_sub(p, way), dt_point_add(p, way));
        return;
    }
}

/* A straight stretch of a seam again, `away` to its side, joined to it at both ends. */
static void inject_beside(trial *t, double away, dt_fault_kind kind, long faces) {
    line l;
    double least = kind == DT_FAULT_CLOSE_CUTS ? 8.0 : 2.5;
    for (;;) {
        dt_path path = path_of(t, pick_arc(t, true));
        double length = dt_path_length(path), part = uniform(t, least, 1.5 * least),
               from = uniform(t, 1, length - 1 - part);
        cut_out(path, from, from + part, &l);
        if (dt_point_distance(l.points[0], l.points[l.count - 1]) > 0.985 * part) break;
    }
    dt_point a = l.points[0], b = l.points[l.count - 1], along = dt_point_sub(b, a);
    double scale = away / hypot(along.x, along.y);
    dt_point side = {-along.y * scale, along.x * scale};
    for (size_t i = 0; i < l.count; i++) l.points[i] = dt_point_add(l.points[i], side);
    memmove(l.points + 1, l.points, l.count * sizeof *l.points);
    l.points[0] = a;
    l.points[l.count + 1] = b;
    l.count += 2;
    expect(t, kind, between(a, b, 0.5), between(a, b, 0.5));
    t->faces += faces;
    t->along = dt_point_distance(a, b) / 2 + NEAR_ENOUGH_MM;
    add(t, &l, draft_random(&t->state) < 0.5);
}

static void inject(trial *t, injected kind) {
    switch (kind) {
    case INJECTED_SHORT_END: inject_short_end(t); break;
    case INJECTED_BREAK: inject_break(t, draft_random(&t->state) < 0.7, 0.021, 0.3, DT_FAULT_GAP); break;
    case INJECTED_TAIL: inject_tail(t); break;
    case INJECTED_DOUBLE: inject_double(t); break;
    case INJECTED_COPY: inject_copy(t); break;
    case INJECTED_STRAY: inject_stray(t); break;
    case INJECTED_SLIVER: inject_beside(t, uniform(t, 0.09, 0.17), DT_FAULT_SLIVER, 0); break;
    case INJECTED_CLOSE: inject_beside(t, uniform(t, 0.25, 0.45), DT_FAULT_CLOSE_CUTS, 1); break;
    case INJECTED_WIDE_BREAK:
        inject_break(t, true, 0.35, 2.0, DT_FAULT_GAP);
        t->faces--;
        break;
    case INJECTED_OPEN:
        inject_break(t, false, 0.35, 2.0, DT_FAULT_OPEN_OUTLINE);
        t->faces--;
        break;
    default:
        for (int i = 0; i < 3; i++) {
            dt_point p = {uniform(t, 0, 200), uniform(t, 0, 200)};
            stroke_list_segment(&t->list, p, p);
        }
        t->none = true;
    }
}

/* How far from the place to look: along a strip any place of it will do. */
static double allowed(const trial *t, const dt_fault *fault) {
    bool strip = t->kind == DT_FAULT_SLIVER || t->kind == DT_FAULT_CLOSE_CUTS;
    return strip && fault->kind == t->kind ? t->along : NEAR_ENOUGH_MM;
}

static bool is_expected(const trial *t, const dt_fault *fault) {
    if (t->none || fault->kind != t->kind) return false;
    double distance = fmin(dt_point_distance(fault->at, t->at), dt_point_distance(fault->at, t->other));
    return distance <= allowed(t, fault);
}

static const char *judge(const trial *t, const dt_net *net) {
    size_t found = 0;
    for (size_t i = 0; i < dt_net_fault_count(net); i++) {
        if (!is_expected(t, dt_net_fault(net, i))) return "a fault that is none, or in the wrong place";
        found++;
    }
    if (!t->none && found == 0) return "the fault was not found";
    return (long)dt_net_face_count(net) == t->faces ? NULL : "not the intended number of faces";
}

static void tell(const trial *t, injected kind, uint64_t seed, const dt_net *net) {
    fprintf(stderr, "injected %d seed %llu: expected %s at (%.3f, %.3f), %ld faces; got %zu faces\n", (int)kind,
            (unsigned long long)seed, t->none ? "nothing" : dt_fault_key(t->kind), t->at.x, t->at.y, t->faces,
            dt_net_face_count(net));
    for (size_t i = 0; i < dt_net_fault_count(net); i++) {
        const dt_fault *f = dt_net_fault(net, i);
        fprintf(stderr, "  %s (%.3f, %.3f) (%.3f, %.3f) %.4f\n", dt_fault_key(f->kind), f->at.x, f->at.y, f->other.x,
                f->other.y, f->size_mm);
    }
}

const char *injection_try(injected kind, uint64_t seed) {
    trial t = {.state = seed * 977 + (uint64_t)kind * 7919 + 1};
    for (int i = 0; i < 5; i++) draft_random(&t.state);
    t.clean = clean_net(&t, kind == INJECTED_CLOSE);
    const char *wrong = dt_net_fault_count(t.clean) ? "the clean draft has a fault" : NULL;
    t.faces = (long)dt_net_face_count(t.clean);
    stroke_list_arcs(&t.list, t.clean);
    inject(&t, kind);
    stroke_list_shuffle(&t.list, &t.state);
    stroke_list_reverse(&t.list, &t.state);
    dt_net *net = stroke_list_net(&t.list, &SETTINGS);
    if (!wrong) wrong = judge(&t, net);
    if (wrong) tell(&t, kind, seed, net);
    dt_net_free(net);
    dt_net_free(t.clean);
    stroke_list_free(&t.list);
    return wrong;
}
