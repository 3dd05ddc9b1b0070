/* Drafts made in memory: see draft.h. */
#include "draft.h"

#include "base/array.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

typedef enum verb { MOVE, LINE, CUBIC, CLOSE } verb;

typedef struct step {
    verb verb;
    dt_point p[3];
    const char *layer, *name;
    dt_role role;
} step;

struct draft {
    DT_ARRAY(step) steps;
    DT_ARRAY(dt_stroke) strokes;
    DT_ARRAY(dt_point) points;
    const char *layer, *name;
    dt_role role;
    dt_point at;
};

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "test draft: %s\n", what);
    abort();
}

draft *draft_new(void) {
    draft *d = calloc(1, sizeof *d);
    demand(d != NULL, "no memory");
    return d;
}

void draft_free(draft *d) {
    if (!d) return;
    dt_array_free(&d->steps);
    dt_array_free(&d->strokes);
    dt_array_free(&d->points);
    free(d);
}

static void add_step(draft *d, step s) {
    s.layer = d->layer;
    s.role = d->role;
    s.name = d->name;
    demand(dt_array_push(&d->steps, s), "no memory");
}

void draft_layer(draft *d, const char *layer, dt_role role) {
    d->layer = layer;
    d->role = role;
}

void draft_name(draft *d, const char *name) {
    d->name = name;
}

void draft_move(draft *d, dt_point p) {
    add_step(d, (step){.verb = MOVE, .p = {p}});
    d->name = NULL;
    d->at = p;
}

void draft_line(draft *d, dt_point p) {
    add_step(d, (step){.verb = LINE, .p = {p}});
    d->at = p;
}

void draft_cubic(draft *d, dt_point c1, dt_point c2, dt_point p) {
    add_step(d, (step){.verb = CUBIC, .p = {c1, c2, p}});
    d->at = p;
}

void draft_close(draft *d) {
    add_step(d, (step){.verb = CLOSE});
}

void draft_segment(draft *d, double x1, double y1, double x2, double y2) {
    draft_move(d, (dt_point){x1, y1});
    draft_line(d, (dt_point){x2, y2});
}

void draft_polyline(draft *d, const dt_point *points, size_t count, bool closed) {
    draft_move(d, points[0]);
    for (size_t i = 1; i < count; i++) draft_line(d, points[i]);
    if (closed) draft_close(d);
}

void draft_rectangle(draft *d, double x, double y, double width, double height) {
    const dt_point corners[] = {{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}};
    draft_polyline(d, corners, 4, true);
}

void draft_circle(draft *d, double cx, double cy, double r) {
    const double k = 0.5522847498307936 * r; /* 4/3 (sqrt 2 - 1): the usual cubic for a quarter circle */
    draft_move(d, (dt_point){cx + r, cy});
    draft_cubic(d, (dt_point){cx + r, cy + k}, (dt_point){cx + k, cy + r}, (dt_point){cx, cy + r});
    draft_cubic(d, (dt_point){cx - k, cy + r}, (dt_point){cx - r, cy + k}, (dt_point){cx - r, cy});
    draft_cubic(d, (dt_point){cx - r, cy - k}, (dt_point){cx - k, cy - r}, (dt_point){cx, cy - r});
    draft_cubic(d, (dt_point){cx + k, cy - r}, (dt_point){cx + r, cy - k}, (dt_point){cx + r, cy});
    draft_close(d);
}

typedef struct frame {
    dt_point origin, along, across;
} frame;

static dt_point in_frame(const frame *f, double u, double v) {
    return (dt_point){f->origin.x + u * f->along.x + v * f->across.x, f->origin.y + u * f->along.y + v * f->across.y};
}

static void frame_cubic(draft *d, const frame *f, const double c[6]) {
    draft_cubic(d, in_frame(f, c[0], c[1]), in_frame(f, c[2], c[3]), in_frame(f, c[4], c[5]));
}

void draft_knob(draft *d, dt_point a, dt_point b, int sign, const double shape[6]) {
    dt_point along = dt_point_sub(b, a);
    frame f = {a, along, dt_point_scale((dt_point){-along.y, along.x}, sign)};
    double u = 0.5 + 0.20 * (shape[0] - 0.5);
    double stem = 0.062 + 0.016 * (shape[1] - 0.5), rx = 0.125 + 0.035 * (shape[2] - 0.5);
    double h = 0.150 + 0.04 * (shape[3] - 0.5), ry = 0.095 + 0.03 * (shape[2] - shape[3]);
    double w1 = 0.14 * (shape[4] - 0.5), w2 = 0.14 * (shape[5] - 0.5), foot = 0.015, q = 0.55;
    const double curves[6][6] = {
        {0.22, w1, u - stem, foot - 0.09, u - stem, foot},
        {u - stem, foot + 0.05, u - rx, h - 0.08, u - rx, h},
        {u - rx, h + q * ry, u - q * rx, h + ry, u, h + ry},
        {u + q * rx, h + ry, u + rx, h + q * ry, u + rx, h},
        {u + rx, h - 0.08, u + stem, foot + 0.05, u + stem, foot},
        {u + stem, foot - 0.09, 0.78, w2, 1.0, 0.0},
    };
    for (size_t i = 0; i < 6; i++) frame_cubic(d, &f, curves[i]);
}

double draft_random(uint64_t *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 9007199254740992.0;
}

typedef struct sheet {
    unsigned rows, columns;
    double size;
    uint64_t state;
    bool alike;
    dt_point *corners;
} sheet;

static dt_point sheet_corner(const sheet *s, unsigned row, unsigned column) {
    return s->corners[row * (s->columns + 1) + column];
}

static void sheet_corners(sheet *s) {
    for (unsigned r = 0; r <= s->rows; r++)
        for (unsigned c = 0; c <= s->columns; c++) {
            dt_point p = {c * s->size, r * s->size};
            double dx = 0.16 * (draft_random(&s->state) - 0.5), dy = 0.16 * (draft_random(&s->state) - 0.5);
            if (!s->alike && c > 0 && c < s->columns) p.x += dx * s->size;
            if (!s->alike && r > 0 && r < s->rows) p.y += dy * s->size;
            s->corners[r * (s->columns + 1) + c] = p;
        }
}

static void sheet_seam(draft *d, sheet *s, dt_point a, dt_point b, int alike_sign) {
    double shape[6];
    for (int i = 0; i < 6; i++) shape[i] = s->alike ? 0.5 : draft_random(&s->state);
    int sign = draft_random(&s->state) < 0.5 ? -1 : 1;
    draft_knob(d, a, b, s->alike ? alike_sign : sign, shape);
}

void draft_knobbed_sheet(draft *d, unsigned rows, unsigned columns, double size, unsigned seed, bool alike) {
    sheet s = {rows, columns, size, seed, alike, calloc((size_t)(rows + 1) * (columns + 1), sizeof(dt_point))};
    demand(s.corners != NULL, "no memory");
    sheet_corners(&s);
    draft_rectangle(d, 0, 0, columns * size, rows * size);
    for (unsigned r = 1; r < rows; r++) {
        draft_move(d, sheet_corner(&s, r, 0));
        for (unsigned c = 0; c < columns; c++) sheet_seam(d, &s, sheet_corner(&s, r, c), sheet_corner(&s, r, c + 1), 1);
    }
    for (unsigned c = 1; c < columns; c++) {
        draft_move(d, sheet_corner(&s, 0, c));
        for (unsigned r = 0; r < rows; r++) sheet_seam(d, &s, sheet_corner(&s, r, c), sheet_corner(&s, r + 1, c), -1);
    }
    free(s.corners);
}

void draft_straight_sheet(draft *d, unsigned rows, unsigned columns, double width, double height) {
    draft_rectangle(d, 0, 0, columns * width, rows * height);
    for (unsigned r = 1; r < rows; r++) draft_segment(d, 0, r * height, columns * width, r * height);
    for (unsigned c = 1; c < columns; c++) draft_segment(d, c * width, 0, c * width, rows * height);
}

void draft_transform(draft *d, dt_pose pose, double scale) {
    for (size_t i = 0; i < d->steps.count; i++)
        for (int j = 0; j < 3; j++) {
            dt_point *p = &d->steps.items[i].p[j];
            *p = dt_pose_apply(pose, dt_point_scale(*p, scale));
        }
}

void draft_append(draft *d, const draft *other) {
    for (size_t i = 0; i < other->steps.count; i++) {
        step s = other->steps.items[i];
        if (!s.layer) {
            s.layer = d->layer;
            s.role = d->role;
        }
        demand(dt_array_push(&d->steps, s), "no memory");
    }
}

void draft_end_at(draft *d, dt_point p) {
    step *last = &d->steps.items[d->steps.count - 1];
    int end = last->verb == CUBIC ? 2 : 0;
    dt_point by = dt_point_sub(p, last->p[end]);
    last->p[end] = p;
    if (last->verb == CUBIC) last->p[1] = dt_point_add(last->p[1], by);
}

/* One past the last step of the path that begins at `start`. */
static size_t path_end(const draft *d, size_t start) {
    size_t end = start + 1;
    while (end < d->steps.count && d->steps.items[end].verb != MOVE) end++;
    return end;
}

static void append_steps(draft *d, const step *steps, size_t count) {
    for (size_t i = 0; i < count; i++) demand(dt_array_push(&d->steps, steps[i]), "no memory");
}

/* Takes the steps out of the draft, so that they can be put back in another way. */
static draft take_steps(draft *d) {
    draft old = {0};
    old.steps.items = d->steps.items;
    old.steps.count = d->steps.count;
    d->steps.items = NULL;
    d->steps.count = d->steps.room = 0;
    return old;
}

void draft_shuffle(draft *d, unsigned seed) {
    draft old = take_steps(d);
    DT_ARRAY(size_t) starts = {0};
    for (size_t i = 0; i < old.steps.count; i = path_end(&old, i)) demand(dt_array_push(&starts, i), "no memory");
    uint64_t state = seed;
    for (size_t i = starts.count; i > 0; i--) {
        size_t chosen = (size_t)(draft_random(&state) * (double)i), start = starts.items[chosen];
        starts.items[chosen] = starts.items[i - 1];
        append_steps(d, old.steps.items + start, path_end(&old, start) - start);
    }
    dt_array_free(&starts);
    free(old.steps.items);
}

static dt_point step_end(const step *s) {
    return s->verb == CUBIC ? s->p[2] : s->p[0];
}

static void append_reversed(draft *d, const step *steps, size_t count) {
    bool closes = steps[count - 1].verb == CLOSE;
    if (closes) count--;
    step first = steps[0];
    first.p[0] = step_end(&steps[count - 1]);
    append_steps(d, &first, 1);
    for (size_t i = count - 1; i > 0; i--) {
        step back = steps[i];
        dt_point to = step_end(&steps[i - 1]);
        if (back.verb == CUBIC) {
            dt_point swap = back.p[0];
            back.p[0] = back.p[1];
            back.p[1] = swap;
            back.p[2] = to;
        } else {
            back.p[0] = to;
        }
        append_steps(d, &back, 1);
    }
    first.verb = CLOSE;
    if (closes) append_steps(d, &first, 1);
}

void draft_reverse(draft *d) {
    draft old = take_steps(d);
    for (size_t i = 0, end; i < old.steps.count; i = end) {
        end = path_end(&old, i);
        append_reversed(d, old.steps.items + i, end - i);
    }
    free(old.steps.items);
}

static void append_split(draft *d, const step *steps, size_t count) {
    for (size_t i = 1; i < count; i++) {
        step begin = steps[0], line = steps[i];
        begin.p[0] = step_end(&steps[i - 1]);
        if (line.verb == CLOSE) {
            line.verb = LINE;
            line.p[0] = steps[0].p[0];
        }
        if (line.verb == LINE && dt_point_distance(begin.p[0], line.p[0]) == 0.0) continue;
        append_steps(d, &begin, 1);
        append_steps(d, &line, 1);
    }
}

void draft_split(draft *d) {
    draft old = take_steps(d);
    for (size_t i = 0, end; i < old.steps.count; i = end) {
        end = path_end(&old, i);
        if (old.steps.items[i].role == DT_ROLE_CUT)
            append_split(d, old.steps.items + i, end - i);
        else
            append_steps(d, old.steps.items + i, end - i);
    }
    free(old.steps.items);
}

draft *draft_of(dt_strokes strokes) {
    draft *d = draft_new();
    for (size_t i = 0; i < strokes.count; i++) {
        const dt_stroke *s = &strokes.strokes[i];
        draft_layer(d, s->layer, s->role);
        draft_name(d, s->name[0] ? s->name : NULL);
        draft_polyline(d, s->path.points, s->path.count, s->closed);
    }
    return d;
}

static dt_point cubic_at(dt_point p0, const dt_point c[3], double t) {
    double u = 1 - t, a = u * u * u, b = 3 * u * u * t, e = 3 * u * t * t, f = t * t * t;
    return (dt_point){a * p0.x + b * c[0].x + e * c[1].x + f * c[2].x, a * p0.y + b * c[0].y + e * c[1].y + f * c[2].y};
}

/* Number of equal parameter steps that keeps the chord error below flatness: sqrt(3/4 max second difference / flatness)
 * (Wang's bound for cubics). */
static int cubic_steps(dt_point p0, const dt_point c[3], double flatness) {
    double d1 = hypot(p0.x - 2 * c[0].x + c[1].x, p0.y - 2 * c[0].y + c[1].y);
    double d2 = hypot(c[0].x - 2 * c[1].x + c[2].x, c[0].y - 2 * c[1].y + c[2].y);
    return 1 + (int)ceil(sqrt(0.75 * fmax(d1, d2) / flatness));
}

static void flatten_step(draft *d, const step *s, dt_point *at, double flatness) {
    if (s->verb == CUBIC) {
        int steps = cubic_steps(*at, s->p, flatness);
        for (int i = 1; i <= steps; i++)
            demand(dt_array_push(&d->points, i == steps ? s->p[2] : cubic_at(*at, s->p, (double)i / steps)),
                   "no memory");
        *at = s->p[2];
    } else if (s->verb != CLOSE) {
        demand(dt_array_push(&d->points, s->p[0]), "no memory");
        *at = s->p[0];
    }
}

static void end_stroke(draft *d, size_t start) {
    if (d->strokes.count == 0) return;
    dt_stroke *stroke = &d->strokes.items[d->strokes.count - 1];
    const dt_point *p = d->points.items + start;
    stroke->path.count = d->points.count - start;
    if (stroke->path.count > 2 && dt_point_distance(p[0], p[stroke->path.count - 1]) < 1e-3) {
        stroke->closed = true;
        stroke->path.count--;
        d->points.count--;
    }
}

dt_strokes draft_strokes(draft *d, double flatness_mm) {
    d->points.count = d->strokes.count = 0;
    dt_point at = {0, 0};
    size_t start = 0;
    for (size_t i = 0; i < d->steps.count; i++) {
        const step *s = &d->steps.items[i];
        if (s->verb == MOVE) {
            end_stroke(d, start);
            start = d->points.count;
            dt_stroke stroke = {.lone = true, .role = s->role, .name = s->name ? s->name : "",
                                .layer = s->layer ? s->layer : "", .colour = 0, .line = (unsigned)d->strokes.count + 1};
            demand(dt_array_push(&d->strokes, stroke), "no memory");
        }
        if (s->verb == CLOSE) d->strokes.items[d->strokes.count - 1].closed = true;
        flatten_step(d, s, &at, flatness_mm);
    }
    end_stroke(d, start);
    start = 0;
    for (size_t i = 0; i < d->strokes.count; i++) { /* the points stay where they are only now */
        d->strokes.items[i].path.points = d->points.items + start;
        start += d->strokes.items[i].path.count;
    }
    return (dt_strokes){d->strokes.items, d->strokes.count, NULL, 0};
}

static void svg_step(const step *s, dt_text *out) {
    const dt_point *p = s->p;
    if (s->verb == LINE) dt_text_addf(out, "L%.6g,%.6g", p[0].x, p[0].y);
    if (s->verb == CUBIC)
        dt_text_addf(out, "C%.6g,%.6g %.6g,%.6g %.6g,%.6g", p[0].x, p[0].y, p[1].x, p[1].y, p[2].x, p[2].y);
    if (s->verb == CLOSE) dt_text_add(out, "Z");
}

dt_box draft_box(const draft *d) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < d->steps.count; i++) {
        const step *s = &d->steps.items[i];
        if (s->verb != CLOSE) box = dt_box_join(box, dt_box_of((dt_path){s->p, s->verb == CUBIC ? 3 : 1}));
    }
    return box;
}

static void svg_layer(const char *layer, dt_text *out) {
    dt_text_add(out, "<g id=\"");
    dt_text_add_escaped(out, layer ? layer : "cut");
    dt_text_add(out, "\">\n");
}

void draft_svg(draft *d, double margin, dt_text *out) {
    dt_box box = dt_box_grown(draft_box(d), margin);
    double w = box.high.x - box.low.x, h = box.high.y - box.low.y;
    dt_text_addf(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.6gmm\" height=\"%.6gmm\" viewBox=\"%.6g %.6g %.6g "
        "%.6g\" fill=\"none\" stroke=\"#c00\" stroke-width=\"0.2\">\n",
        w, h, box.low.x, box.low.y, w, h);
    for (size_t i = 0; i < d->steps.count; i++) {
        const step *s = &d->steps.items[i];
        if (s->verb == MOVE) {
            if (i) dt_text_add(out, "\"/>\n");
            if (i && s->layer != s[-1].layer) dt_text_add(out, "</g>\n");
            if (!i || s->layer != s[-1].layer) svg_layer(s->layer, out);
            dt_text_add(out, "<path");
            if (s->name) {
                dt_text_add(out, " id=\"");
                dt_text_add_escaped(out, s->name);
                dt_text_add(out, "\"");
            }
            dt_text_addf(out, " d=\"M%.6g,%.6g", s->p[0].x, s->p[0].y);
        }
        svg_step(s, out);
    }
    dt_text_add(out, d->steps.count ? "\"/>\n</g>\n</svg>\n" : "</svg>\n");
}
