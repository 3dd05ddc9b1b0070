/* From elements to figures: viewports, uses, layers, what is seen and what is not. The walk carries a scope down the
 * tree; nothing is changed on the way but the reader's lists and the mark of a use that is being followed. */
#include "drawing/reader.h"

#include "drawing/layers.h"
#include "drawing/scan.h"
#include "drawing/shapes.h"
#include "drawing/transform.h"
#include "drawing/viewbox.h"
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    MOST_VISITS = 1000000, /* elements, uses resolved */
    MOST_WORK = 400000000  /* bytes of values read while walking, uses resolved: some two seconds */
};

/* Figures beyond this, in user units of the drawing (1e9 px = 265 km), are mistakes. */
static const double FARTHEST = 1e9;

typedef struct scope {
    affine map; /* from the user units here to those of the drawing */
    style style;
    length_base base;
    double opacity; /* of all groups around */
    dt_role role;
    const char *layer;
    const char *name; /* id of the use that led here, or "" */
    unsigned depth;
    bool only, skip;
} scope;

static void walk_element(reader *r, element *e, const scope *parent);

void reader_fail(reader *r, dt_status status, const char *format, ...) {
    if (r->status != DT_OK) return;
    char sentence[400];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    r->status = dt_fail(r->error, status, "\"%s\" %s", r->name, sentence);
}

static void fail_for_memory(reader *r) {
    reader_fail(r, DT_NO_MEMORY, "needs more memory than there is");
}

/* The element's name in memory that outlives the tree; kept once however often it is used. */
static const char *keep(reader *r, element *e, const char *text) {
    if (!e->kept_name) e->kept_name = dt_arena_copy(&r->kept, text, strlen(text));
    if (!e->kept_name) fail_for_memory(r);
    return e->kept_name ? e->kept_name : "";
}

/* ---- scopes ---- */

static affine own_map(reader *r, const element *e, const own_style *own, const length_base *base) {
    affine map = AFFINE_IDENTITY;
    dt_point origin;
    if (own->transform && !transform_parse(own->transform, base, &map))
        notes_add_lost(&r->notes, e->line, "%s at line %u: the transform \"%s\" cannot be understood; it was left out",
                  notes_title(e).text, e->line, notes_excerpt(own->transform).text);
    if (!own->origin || !transform_origin_parse(own->origin, base, &origin)) return map;
    return affine_compose(affine_shift(origin.x, origin.y), affine_compose(map, affine_shift(-origin.x, -origin.y)));
}

/* Makes the scope of an element; false if it is not displayed or the walk has to end. */
static bool enter(reader *r, element *e, const scope *parent, scope *out, own_style *own) {
    if (r->status != DT_OK) return false;
    if (++r->visits > MOST_VISITS)
        reader_fail(r, DT_TOO_LARGE,
                    "draws more than 1000000 elements once its use references are resolved: simplify it");
    if (parent->depth >= DT_DRAWING_MOST_DEPTH)
        reader_fail(r, DT_TOO_LARGE, "is nested more than %u deep at line %u: ungroup some of it",
                    DT_DRAWING_MOST_DEPTH, e->line);
    if (!style_cascade(e, r->sheet, &r->scratch)) {
        if (sheet_is_exhausted(r->sheet))
            reader_fail(r, DT_TOO_LARGE, "has style sheets that take too long: simplify them");
        fail_for_memory(r);
    }
    r->work += e->weight + 16 * e->cascade_count;
    if (r->work > MOST_WORK)
        reader_fail(r, DT_TOO_LARGE, "takes too long to read: it uses large parts over and over; simplify it");
    if (r->status != DT_OK) return false;
    *out = *parent;
    style_compute(e, &parent->style, &parent->base, &out->style, own);
    if (!own->displayed) return false;
    out->base.font_size = out->style.font_size;
    out->map = affine_compose(parent->map, own_map(r, e, own, &out->base));
    out->opacity *= own->opacity;
    out->depth++;
    out->only |= layer_is_named(e, r->settings->only, r->settings->only_count);
    out->skip |= layer_is_named(e, r->settings->skip, r->settings->skip_count);
    r->uncut.clipped += own->clipped;
    return true;
}

static void walk_children(reader *r, const element *e, const scope *s) {
    for (element *child = e->first; child && r->status == DT_OK; child = child->next) walk_element(r, child, s);
}

/* ---- shapes ---- */

static figure describe(reader *r, const element *e, const scope *s) {
    figure f = {.role = s->role,
                .only = s->only,
                .skip = s->skip,
                .line = e->line,
                .layer = s->layer,
                .nonzero = s->style.nonzero,
                .dashed = s->style.dashed,
                .stroke = DT_NO_COLOUR,
                .fill = DT_NO_COLOUR};
    const style *look = &s->style;
    bool seen = look->visible && s->opacity > 0.0;
    f.stroked = seen && look->stroke_width > 0.0 && look->stroke_opacity > 0.0 &&
                style_paint_is_visible(&look->stroke, look, &r->doc, &f.stroke);
    f.filled = seen && look->fill_opacity > 0.0 && style_paint_is_visible(&look->fill, look, &r->doc, &f.fill);
    return f;
}

/* --only may ask for a stroke by its colour, so then any may be. */
static bool may_be_cut(const reader *r, const scope *s) {
    return !s->skip && (r->settings->only_count > 0 || layer_is_cut(s->role));
}

static void walk_shape(reader *r, element *e, const scope *s, const own_style *own) {
    figure f = describe(r, e, s);
    if (!f.stroked && !f.filled) return;
    range mark = outline_mark(&r->outline);
    size_t noted = r->notes.list.count;
    shape_outline(e, own, &s->base, &r->outline, &r->notes);
    if (!may_be_cut(r, s)) notes_excuse(&r->notes, noted);
    f.part = outline_since(&r->outline, mark);
    if (r->outline.failed) {
        fail_for_memory(r);
        return;
    }
    if (r->outline.points.count > DT_DRAWING_MOST_POINTS)
        reader_fail(r, DT_TOO_LARGE, "has curves of more than %u points: simplify it", DT_DRAWING_MOST_POINTS);
    if (f.part.verb == f.part.verb_end) return;
    outline_transform(&r->outline, f.part, s->map);
    if (!outline_is_within(&r->outline, f.part, FARTHEST)) {
        notes_add_lost(&r->notes, e->line,
                  "%s at line %u lies farther out than can be cut, or its numbers are too large; it was left out",
                  notes_title(e).text, e->line);
        outline_drop(&r->outline, mark);
        return;
    }
    const char *id = element_value(e, WORD_ID);
    f.name = id ? keep(r, e, id) : s->name;
    if (!dt_array_push(&r->figures, f)) fail_for_memory(r);
}

static void count_uncut(reader *r, const element *e, const scope *s) {
    if (!s->style.visible || s->opacity <= 0.0) return;
    if (e->tag == TAG_TEXT || e->tag == TAG_FLOW_ROOT)
        r->uncut.texts++;
    else if (e->tag == TAG_IMAGE)
        r->uncut.images++;
    else
        r->uncut.others++;
}

/* ---- groups ---- */

static void walk_group(reader *r, element *e, scope *s) {
    const char *name = e->tag == TAG_G ? layer_name(e) : NULL;
    if (name && *name) {
        s->layer = keep(r, e, name);
        layer_role(name, &s->role);
    }
    walk_children(r, e, s);
}

/* SVG 1.1, 5.8: no extension is known; of languages English is spoken, so that the answer is the same everywhere. */
static bool conditions_hold(const element *e) {
    const char *extensions = element_value(e, WORD_REQUIRED_EXTENSIONS),
               *languages = element_value(e, WORD_SYSTEM_LANGUAGE);
    if (extensions) return false;
    if (!languages) return true;
    for (scan_separator(&languages); *languages; scan_separator(&languages)) {
        const char *s = languages;
        if (scan_text(&s, "en") && !scan_is_letter(*s)) return true;
        while (*languages && *languages != ',' && !scan_is_space(*languages)) languages++;
    }
    return false;
}

static void walk_switch(reader *r, const element *e, const scope *s) {
    for (element *child = e->first; child; child = child->next) {
        tag_kind kind = tag_kind_of(child->tag);
        if (kind == TAG_IS_NEVER || kind == TAG_IS_OTHER || !conditions_hold(child)) continue;
        walk_element(r, child, s);
        return;
    }
}

/* ---- viewports ---- */

static double size_of(const own_style *own, measure m, length_axis axis, const length_base *base, double otherwise) {
    return own->given[m] ? length_resolve(own->measures[m], axis, base) : otherwise;
}

/* Enters a viewport of this size whose corner is the origin; false if nothing in it is drawn. */
static bool enter_viewport(const element *e, scope *s, double width, double height) {
    const char *text = element_value(e, WORD_VIEW_BOX);
    viewbox box;
    if (!(width > 0.0 && height > 0.0)) return false;
    s->base.width = width;
    s->base.height = height;
    if (!text || !viewbox_parse(text, &box)) return true;
    if (box.width <= 0.0 || box.height <= 0.0) return false;
    affine map = viewbox_map(box, width, height, element_value(e, WORD_PRESERVE_ASPECT_RATIO));
    s->map = affine_compose(s->map, map);
    s->base.width = box.width;
    s->base.height = box.height;
    return true;
}

/* A nested svg, or a symbol: `sized` gives the size where a use overrides it. */
static void walk_viewport(reader *r, const element *e, scope *s, const own_style *own, const own_style *sized) {
    double width = size_of(own, MEASURE_WIDTH, AXIS_X, &s->base, s->base.width);
    double height = size_of(own, MEASURE_HEIGHT, AXIS_Y, &s->base, s->base.height);
    if (sized) {
        width = size_of(sized, MEASURE_WIDTH, AXIS_X, &s->base, width);
        height = size_of(sized, MEASURE_HEIGHT, AXIS_Y, &s->base, height);
    }
    double x = e->tag == TAG_SVG ? size_of(own, MEASURE_X, AXIS_X, &s->base, 0.0) : 0.0;
    double y = e->tag == TAG_SVG ? size_of(own, MEASURE_Y, AXIS_Y, &s->base, 0.0) : 0.0;
    s->map = affine_compose(s->map, affine_shift(x, y));
    if (enter_viewport(e, s, width, height)) walk_children(r, e, s);
}

/* ---- use ---- */

static element *target_of(reader *r, const element *use) {
    const char *href = element_value(use, WORD_HREF);
    if (!href) return NULL;
    scan_spaces(&href);
    if (*href != '#') {
        notes_add_lost(&r->notes, use->line, "line %u: a use points outside the drawing; it was not followed", use->line);
        return NULL;
    }
    element *target = document_find(&r->doc, href + 1, strlen(href + 1));
    if (!target)
        notes_add_lost(&r->notes, use->line,
                  "line %u: a use points to something that is not in the drawing; it was left out", use->line);
    return target;
}

static void walk_target(reader *r, element *target, const scope *s, const own_style *use) {
    if (target->tag != TAG_SYMBOL && target->tag != TAG_SVG) {
        walk_element(r, target, s);
        return;
    }
    scope inner;
    own_style own;
    if (enter(r, target, s, &inner, &own)) walk_viewport(r, target, &inner, &own, use);
}

static void walk_use(reader *r, element *e, scope *s, const own_style *own) {
    element *target = target_of(r, e);
    if (!target) return;
    if (e->in_use) {
        notes_add(&r->notes, e->line, "line %u: a use leads back to itself; it was left out there", e->line);
        return;
    }
    const char *id = element_value(e, WORD_ID);
    if (id) s->name = keep(r, e, id);
    double x = size_of(own, MEASURE_X, AXIS_X, &s->base, 0.0), y = size_of(own, MEASURE_Y, AXIS_Y, &s->base, 0.0);
    s->map = affine_compose(s->map, affine_shift(x, y));
    e->in_use = true;
    walk_target(r, target, s, own);
    e->in_use = false;
}

static void walk_element(reader *r, element *e, const scope *parent) {
    tag_kind kind = tag_kind_of(e->tag);
    scope s;
    own_style own;
    if (kind == TAG_IS_NEVER || !conditions_hold(e) || !enter(r, e, parent, &s, &own)) return;
    if (kind == TAG_IS_SHAPE)
        walk_shape(r, e, &s, &own);
    else if (kind != TAG_IS_GROUP)
        count_uncut(r, e, &s);
    else if (e->tag == TAG_USE)
        walk_use(r, e, &s, &own);
    else if (e->tag == TAG_SVG)
        walk_viewport(r, e, &s, &own, NULL);
    else if (e->tag == TAG_SWITCH)
        walk_switch(r, e, &s);
    else
        walk_group(r, e, &s);
}

/* ---- the outermost svg ---- */

static bool is_absolute(const own_style *own, measure m) {
    return own->given[m] && own->measures[m].unit != UNIT_PERCENT && own->measures[m].value > 0.0;
}

/* The size of the drawing in user units: as given; a size that is missing or a percentage follows from the viewBox. */
static void root_size(reader *r, const own_style *own, const viewbox *box, const length_base *base) {
    bool has_width = is_absolute(own, MEASURE_WIDTH), has_height = is_absolute(own, MEASURE_HEIGHT);
    r->width = has_width ? length_resolve(own->measures[MEASURE_WIDTH], AXIS_X, base) : 0.0;
    r->height = has_height ? length_resolve(own->measures[MEASURE_HEIGHT], AXIS_Y, base) : 0.0;
    r->physical = (has_width && length_is_physical(own->measures[MEASURE_WIDTH])) ||
                  (has_height && length_is_physical(own->measures[MEASURE_HEIGHT]));
    if (!box) return;
    if (!has_width) r->width = has_height ? r->height * box->width / box->height : box->width;
    if (!has_height) r->height = has_width ? r->width * box->height / box->width : box->height;
}

static bool root_box(reader *r, const element *root, viewbox *box) {
    const char *text = element_value(root, WORD_VIEW_BOX);
    if (!text) return false;
    if (viewbox_parse(text, box) && box->width > 0.0 && box->height > 0.0) return true;
    notes_add_lost(&r->notes, root->line, "line %u: the drawing's viewBox makes no sense; it was left out", root->line);
    return false;
}

void reader_walk(reader *r) {
    element *root = r->doc.root;
    /* Percentages in a drawing without any size refer to this, CSS's size of things that have none. */
    const length_base nothing = {300.0, 150.0, 16.0, 16.0};
    scope outside = {.map = AFFINE_IDENTITY,
                     .style = style_initial(),
                     .base = nothing,
                     .opacity = 1.0,
                     .role = DT_ROLE_CUT,
                     .layer = "",
                     .name = ""};
    scope s;
    own_style own;
    viewbox box;
    if (!enter(r, root, &outside, &s, &own)) return;
    bool has_box = root_box(r, root, &box);
    root_size(r, &own, has_box ? &box : NULL, &s.base);
    s.base.root_font_size = s.style.font_size;
    if (r->width > 0.0) s.base.width = r->width;
    if (r->height > 0.0) s.base.height = r->height;
    if (has_box && !enter_viewport(root, &s, r->width, r->height)) return;
    walk_children(r, root, &s);
}
