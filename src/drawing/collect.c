/* Chooses what is cut, finds the scale, and flattens, in this order: the flatness is meant in millimetres, and --width
 * says how large a millimetre is only when the box of the cut lines is known. */
#include "drawing/collect.h"

#include "drawing/layers.h"
#include "drawing/reasons.h"
#include <math.h>
#include <stdint.h>

static const double MM_PER_PX = MM_PER_INCH / PX_PER_INCH;
static const double SAME_POINT_MM = 1e-3; /* ends this near close a stroke: below what any machine can place */
static const double WIDEST_MM = 100000.0; /* 100 m: beyond, the units are wrong */

/* What is cut: strokes, or, in a drawing that has none, the outlines of filled shapes. */
typedef struct choice {
    const dt_settings *settings;
    bool outlines;
} choice;

static bool is_drawn(const figure *f, const choice *c) {
    return c->outlines ? f->filled : f->stroked;
}

static bool is_named(const figure *f, const choice *c, bool named, const char *const *names, size_t count) {
    return named || layer_colour_is_named(c->outlines ? f->fill : f->stroke, names, count);
}

/* --skip goes before --only, and --only before what the layer's name says. */
static bool is_cut(const figure *f, const choice *c) {
    const dt_settings *s = c->settings;
    if (!is_drawn(f, c) || is_named(f, c, f->skip, s->skip, s->skip_count)) return false;
    return s->only_count ? is_named(f, c, f->only, s->only, s->only_count) : layer_is_cut(f->role);
}

static bool has_visible_stroke(const reader *r) {
    for (size_t i = 0; i < r->figures.count; i++)
        if (r->figures.items[i].stroked) return true;
    return false;
}

static dt_box cut_box(const reader *r, const choice *c) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < r->figures.count; i++)
        if (is_cut(&r->figures.items[i], c)) box = dt_box_join(box, outline_box(&r->outline, r->figures.items[i].part));
    return box;
}

/* Millimetres to one user unit of the drawing; 0 after a failure. */
static double find_scale(reader *r, dt_box box) {
    double scale = MM_PER_PX;
    if (r->settings->width_mm > 0.0) {
        double width = box.high.x - box.low.x;
        if (!(width > 0.0)) {
            reader_fail(r, DT_NO_LINES, "cannot be scaled to a width of %g mm: its cut lines have no width",
                        r->settings->width_mm);
            return 0.0;
        }
        scale = r->settings->width_mm / width;
    }
    double largest = fmax(fmax(fabs(box.low.x), fabs(box.high.x)), fmax(fabs(box.low.y), fabs(box.high.y))) * scale;
    if (!(largest <= WIDEST_MM)) {
        reader_fail(r, DT_TOO_LARGE,
                    "reaches %.3g mm from its corner: check its units, or say how wide it is with --width", largest);
        return 0.0;
    }
    return scale;
}

/* ---- flattening ---- */

typedef struct collector {
    reader *r;
    collection *out;
    choice choice;
    flattening how;
    subpaths found; /* of the figure at hand */
    size_t dots, dashed;
} collector;

static dt_role role_of(const figure *f) {
    return layer_is_cut(f->role) ? f->role : DT_ROLE_CUT;
}

/* A path whose points are known by the number of the first one until collection_link. */
static dt_path numbered(const subpath *s) {
    return (dt_path){NULL, s->count};
}

static bool add_stroke(collector *c, const figure *f, const subpath *s, bool lone) {
    dt_stroke stroke = {.path = numbered(s),
                        .closed = s->closed,
                        .lone = lone,
                        .role = role_of(f),
                        .name = f->name,
                        .layer = f->layer,
                        .colour = c->choice.outlines ? f->fill : f->stroke,
                        .line = f->line};
    return dt_array_push(&c->out->strokes, stroke) && dt_array_push(&c->out->stroke_starts, s->first);
}

static bool add_fill(collector *c, const figure *f, const subpath *s, size_t order) {
    if (s->count < 3) return true;
    dt_fill fill = {.path = numbered(s), .colour = f->fill, .element = (uint32_t)order, .nonzero = f->nonzero};
    return dt_array_push(&c->out->fills, fill) && dt_array_push(&c->out->fill_starts, s->first);
}

static dt_status add_figure(collector *c, size_t index) {
    const figure *f = &c->r->figures.items[index];
    bool cut = is_cut(f, &c->choice);
    if (!cut && !f->filled) return DT_OK;
    size_t dots = 0;
    c->found.count = 0;
    dt_status status = outline_flatten(&c->r->outline, f->part, &c->how, &c->out->points, &c->found, &dots);
    for (size_t i = 0; i < c->found.count && status == DT_OK; i++) {
        const subpath *s = &c->found.items[i];
        if (cut && !add_stroke(c, f, s, c->found.count == 1)) status = DT_NO_MEMORY;
        if (f->filled && !add_fill(c, f, s, index)) status = DT_NO_MEMORY;
    }
    if (cut) c->dots += dots;
    c->dashed += cut && f->dashed;
    return status;
}

static void add_all(collector *c) {
    reader *r = c->r;
    dt_status status = DT_OK;
    for (size_t i = 0; i < r->figures.count && status == DT_OK; i++) status = add_figure(c, i);
    dt_array_free(&c->found);
    if (status == DT_NO_MEMORY) reader_fail(r, status, "needs more memory than there is");
    if (status == DT_TOO_LARGE)
        reader_fail(r, status, "has curves of more than %u points: simplify it or draw it smaller",
                    DT_DRAWING_MOST_POINTS);
    if (status == DT_OK && c->out->strokes.count == 0) reasons_fail(r);
}

static void note_what_was_done(const collector *c) {
    notes *n = &c->r->notes;
    if (c->choice.outlines)
        notes_add(n, 0, "nothing has a visible stroke: the outlines of the filled shapes are taken as cut lines");
    if (c->dots)
        notes_add(n, 0, "%zu line%s of no length %s left out", c->dots, c->dots == 1 ? "" : "s",
                  c->dots == 1 ? "was" : "were");
    if (c->dashed)
        notes_add(n, 0, "%zu dashed line%s taken as whole line%s", c->dashed, c->dashed == 1 ? " is" : "s are",
                  c->dashed == 1 ? "" : "s");
}

static void set_size(reader *r, dt_box box, double scale, collection *out) {
    out->width = (r->width > 0.0 ? r->width : fmax(0.0, box.high.x)) * scale;
    out->height = (r->height > 0.0 ? r->height : fmax(0.0, box.high.y)) * scale;
    out->unit_source = r->settings->width_mm > 0.0 ? DT_UNITS_OPTION : r->physical ? DT_UNITS_PHYSICAL : DT_UNITS_96DPI;
}

void reader_collect(reader *r, collection *out) {
    collector c = {.r = r, .out = out, .choice = {r->settings, !has_visible_stroke(r)}};
    dt_box box = cut_box(r, &c.choice);
    if (dt_box_is_empty(box)) {
        reasons_fail(r);
        return;
    }
    double scale = find_scale(r, box);
    if (r->status != DT_OK) return;
    const range whole = {0, r->outline.verbs.count, 0};
    outline_transform(&r->outline, whole, affine_scale(scale, scale));
    c.how = (flattening){DT_DRAWING_FLATNESS_MM, SAME_POINT_MM, DT_DRAWING_MOST_POINTS};
    add_all(&c);
    set_size(r, box, scale, out);
    note_what_was_done(&c);
}

void collection_link(collection *c) {
    for (size_t i = 0; i < c->strokes.count; i++)
        c->strokes.items[i].path.points = c->points.items + c->stroke_starts.items[i];
    for (size_t i = 0; i < c->fills.count; i++)
        c->fills.items[i].path.points = c->points.items + c->fill_starts.items[i];
    dt_array_free(&c->stroke_starts);
    dt_array_free(&c->fill_starts);
}

void collection_free(collection *c) {
    dt_array_free(&c->points);
    dt_array_free(&c->strokes);
    dt_array_free(&c->fills);
    dt_array_free(&c->stroke_starts);
    dt_array_free(&c->fill_starts);
}
