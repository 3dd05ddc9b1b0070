/* The curves of drawn elements before they are flattened: see outline.h. */
#include "drawing/outline.h"

#include <math.h>

static const unsigned char point_count[] = {
    [VERB_MOVE] = 1, [VERB_LINE] = 1, [VERB_CUBIC] = 3, [VERB_ARC] = 5, [VERB_CLOSE] = 0};

void outline_free(outline *o) {
    dt_array_free(&o->verbs);
    dt_array_free(&o->points);
}

static void add(outline *o, unsigned char verb, const dt_point *points) {
    size_t count = point_count[verb];
    if (o->failed || !dt_array_reserve(&o->verbs, 1) || !dt_array_reserve(&o->points, count)) {
        o->failed = true;
        return;
    }
    o->verbs.items[o->verbs.count++] = verb;
    for (size_t i = 0; i < count; i++) o->points.items[o->points.count++] = points[i];
}

void outline_move(outline *o, dt_point p) {
    add(o, VERB_MOVE, &p);
}

void outline_line(outline *o, dt_point p) {
    add(o, VERB_LINE, &p);
}

void outline_cubic(outline *o, dt_point c1, dt_point c2, dt_point p) {
    add(o, VERB_CUBIC, (const dt_point[]){c1, c2, p});
}

void outline_arc(outline *o, const dt_arc *arc) {
    add(o, VERB_ARC, (const dt_point[]){arc->centre, arc->u, arc->v, {arc->from, arc->sweep}, arc->end});
}

void outline_close(outline *o) {
    add(o, VERB_CLOSE, NULL);
}

range outline_mark(const outline *o) {
    return (range){o->verbs.count, o->verbs.count, o->points.count};
}

range outline_since(const outline *o, range mark) {
    mark.verb_end = o->verbs.count;
    return mark;
}

void outline_drop(outline *o, range mark) {
    o->verbs.count = mark.verb;
    o->points.count = mark.point;
}

/* An outline without verbs has no points at all. */
static dt_point *points_of(const outline *o, range part) {
    return o->points.items ? o->points.items + part.point : NULL;
}

static dt_arc arc_of(const dt_point *p) {
    return (dt_arc){p[0], p[1], p[2], p[3].x, p[3].y, p[4]};
}

static void transform_verb(unsigned char verb, dt_point *p, affine map) {
    if (verb == VERB_ARC) {
        p[0] = affine_point(map, p[0]);
        p[1] = affine_vector(map, p[1]);
        p[2] = affine_vector(map, p[2]);
        p[4] = affine_point(map, p[4]);
        return;
    }
    for (size_t i = 0; i < point_count[verb]; i++) p[i] = affine_point(map, p[i]);
}

void outline_transform(outline *o, range part, affine map) {
    dt_point *p = points_of(o, part);
    for (size_t i = part.verb; i < part.verb_end; i++) {
        transform_verb(o->verbs.items[i], p, map);
        p += point_count[o->verbs.items[i]];
    }
}

static dt_box verb_box(unsigned char verb, const dt_point *p) {
    if (verb == VERB_CUBIC)
        return dt_cubic_box(p - 1); /* the point before is where the curve starts: see outline_box */
    if (verb != VERB_ARC) return dt_box_of((dt_path){p, point_count[verb]});
    dt_arc arc = arc_of(p);
    return dt_arc_box(&arc);
}

/* A cubic starts at the last point of the verb before it, which stands just before it in the list of points. */
dt_box outline_box(const outline *o, range part) {
    dt_box box = DT_BOX_EMPTY;
    const dt_point *p = points_of(o, part);
    for (size_t i = part.verb; i < part.verb_end; i++) {
        box = dt_box_join(box, verb_box(o->verbs.items[i], p));
        p += point_count[o->verbs.items[i]];
    }
    return box;
}

bool outline_is_within(const outline *o, range part, double most) {
    const dt_point *p = points_of(o, part);
    for (size_t i = part.verb; i < part.verb_end; i++) {
        for (size_t j = 0; j < point_count[o->verbs.items[i]]; j++)
            if (!(fabs(p[j].x) <= most && fabs(p[j].y) <= most)) return false;
        p += point_count[o->verbs.items[i]];
    }
    return true;
}

typedef struct flattener {
    const flattening *how;
    dt_points *points;
    subpaths *out;
    size_t start; /* of the subpath at hand, in the points */
    size_t *dots;
} flattener;

static void drop_repeats(dt_points *points, size_t from) {
    size_t kept = from;
    for (size_t i = from; i < points->count; i++) {
        const dt_point p = points->items[i];
        if (kept > from && points->items[kept - 1].x == p.x && points->items[kept - 1].y == p.y) continue;
        points->items[kept++] = p;
    }
    points->count = kept;
}

static bool is_dot(dt_path path, double same) {
    dt_box box = dt_box_of(path);
    return box.high.x - box.low.x <= same && box.high.y - box.low.y <= same;
}

static dt_status end_subpath(flattener *f, bool closed) {
    dt_points *points = f->points;
    drop_repeats(points, f->start);
    size_t count = points->count - f->start;
    const dt_point *p = points->items + f->start;
    bool met = count > 2 && dt_point_distance(p[0], p[count - 1]) <= f->how->same;
    while (count > 1 && (met || closed) && dt_point_distance(p[0], p[count - 1]) <= f->how->same) count--;
    if (count < 2 || is_dot((dt_path){p, count}, f->how->same)) {
        *f->dots += 1;
        count = 0;
    }
    points->count = f->start + count;
    if (points->count > f->how->most) return DT_TOO_LARGE;
    const subpath found = {f->start, count, met || closed};
    if (count && !dt_array_push(f->out, found)) return DT_NO_MEMORY;
    f->start = points->count;
    return DT_OK;
}

static dt_status flatten_verb(flattener *f, unsigned char verb, const dt_point *p) {
    bool kept = true;
    if (f->points->count > f->how->most) return DT_TOO_LARGE;
    if (verb == VERB_MOVE || verb == VERB_LINE) kept = dt_array_push(f->points, *p);
    if (verb == VERB_CUBIC) kept = dt_flatten_cubic(f->points, p - 1, f->how->tolerance);
    if (verb == VERB_ARC) {
        dt_arc arc = arc_of(p);
        kept = dt_flatten_arc(f->points, &arc, f->how->tolerance);
    }
    return kept ? DT_OK : DT_NO_MEMORY;
}

dt_status outline_flatten(const outline *o, range part, const flattening *how, dt_points *points, subpaths *out,
                          size_t *dots) {
    flattener f = {how, points, out, points->count, dots};
    const dt_point *p = points_of(o, part);
    dt_status status = DT_OK;
    for (size_t i = part.verb; i < part.verb_end && status == DT_OK; i++) {
        unsigned char verb = o->verbs.items[i];
        bool ends = verb == VERB_CLOSE || i + 1 == part.verb_end || o->verbs.items[i + 1] == VERB_MOVE;
        status = flatten_verb(&f, verb, p);
        if (status == DT_OK && ends && points->count > f.start) status = end_subpath(&f, verb == VERB_CLOSE);
        p += point_count[verb];
    }
    return status;
}
