/* What an element looks like. Declarations are applied weakest first; one that cannot be read changes nothing, so that
 * the next weaker one stands, as CSS asks. */
#include "drawing/style.h"

#include "drawing/scan.h"
#include <dovetell/strokes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The medium font size, in px (CSS Fonts: the user agent's choice; 16 is the custom). */
static const double MEDIUM_FONT = 16.0;

typedef struct target {
    style *s;
    own_style *own;
    const style *parent;
    const length_base *base;
} target;

style style_initial(void) {
    const paint black = {.kind = PAINT_COLOUR, .colour = {0, 1.0}}, none = {.kind = PAINT_NONE};
    return (style){.fill = black,
                   .stroke = none,
                   .color = {0, 1.0},
                   .fill_opacity = 1.0,
                   .stroke_opacity = 1.0,
                   .stroke_width = 1.0,
                   .font_size = MEDIUM_FONT,
                   .visible = true,
                   .nonzero = true};
}

/* ---- paints ---- */

static bool scan_plain_paint(const char **at, paint_kind *kind, colour *out) {
    scan_spaces(at);
    if (scan_word(at, "none"))
        *kind = PAINT_NONE;
    else if (scan_word(at, "currentcolor") || scan_word(at, "context-stroke") || scan_word(at, "context-fill"))
        *kind = PAINT_CURRENT;
    else if (colour_scan(at, out))
        *kind = PAINT_COLOUR;
    else
        return false;
    return true;
}

/* url(#id), url("#id"): the id's place in the text. */
static bool scan_reference(const char **at, const char **id, size_t *id_length) {
    const char *s = *at;
    if (!scan_text(&s, "url(")) return false;
    scan_spaces(&s);
    const char *start = s;
    size_t count = strcspn(s, ")");
    if (s[count] == '\0') return false;
    *at = s + count + 1;
    while (count && (scan_is_space(start[count - 1]) || strchr("\"'", start[count - 1]))) count--;
    while (count && strchr("\"' ", *start)) start++, count--;
    bool local = count > 0 && *start == '#';
    *id = local ? start + 1 : start;
    *id_length = local ? count - 1 : 0;
    return true;
}

static bool parse_paint(const char *text, paint *out) {
    paint p = {.fallback = PAINT_NONE};
    scan_spaces(&text);
    if (scan_reference(&text, &p.server, &p.server_length)) {
        p.kind = PAINT_SERVER;
        scan_plain_paint(&text, &p.fallback, &p.colour);
    } else if (!scan_plain_paint(&text, &p.kind, &p.colour)) {
        return false;
    }
    scan_spaces(&text);
    if (*text && !scan_text(&text, "icc-color(")) return false;
    *out = p;
    return true;
}

bool style_paint_is_visible(const paint *p, const style *s, const document *doc, uint32_t *rgb) {
    paint_kind kind = p->kind;
    *rgb = DT_NO_COLOUR;
    if (kind == PAINT_SERVER) {
        if (document_find(doc, p->server, p->server_length)) return true;
        kind = p->fallback;
    }
    const colour c = kind == PAINT_CURRENT ? s->color : p->colour;
    if (kind == PAINT_NONE || c.alpha <= 0.0) return false;
    *rgb = c.rgb;
    return true;
}

/* ---- one property each ---- */

static void apply_fill(target *t, const char *value) {
    parse_paint(value, &t->s->fill);
}

static void apply_stroke(target *t, const char *value) {
    parse_paint(value, &t->s->stroke);
}

static void apply_color(target *t, const char *value) {
    if (scan_is_word(value, "currentcolor"))
        t->s->color = t->parent->color;
    else
        colour_parse(value, &t->s->color);
}

static void parse_share(const char *text, double *out) {
    length l;
    if (!length_parse(text, &l) || (l.unit != UNIT_PX && l.unit != UNIT_PERCENT)) return;
    double share = l.unit == UNIT_PERCENT ? l.value / 100.0 : l.value;
    *out = fmin(1.0, fmax(0.0, share));
}

static void apply_fill_opacity(target *t, const char *value) {
    parse_share(value, &t->s->fill_opacity);
}

static void apply_stroke_opacity(target *t, const char *value) {
    parse_share(value, &t->s->stroke_opacity);
}

static void apply_opacity(target *t, const char *value) {
    parse_share(value, &t->own->opacity);
}

static void apply_fill_rule(target *t, const char *value) {
    if (scan_is_word(value, "nonzero")) t->s->nonzero = true;
    if (scan_is_word(value, "evenodd")) t->s->nonzero = false;
}

static void apply_stroke_width(target *t, const char *value) {
    length l;
    if (length_parse(value, &l) && l.value >= 0.0) t->s->stroke_width = l.value;
}

static void apply_dashes(target *t, const char *value) {
    t->s->dashed = !scan_is_word(value, "none") && strpbrk(value, "123456789") != NULL;
}

static void apply_visibility(target *t, const char *value) {
    if (scan_is_word(value, "visible")) t->s->visible = true;
    if (scan_is_word(value, "hidden") || scan_is_word(value, "collapse")) t->s->visible = false;
}

static void apply_font_size(target *t, const char *value) {
    length l;
    length_base base = *t->base;
    base.font_size = t->parent->font_size;
    base.width = base.height = t->parent->font_size; /* percentages of the font size around */
    if (length_parse(value, &l) && l.value >= 0.0) t->s->font_size = length_resolve(l, AXIS_X, &base);
    if (scan_is_word(value, "medium")) t->s->font_size = MEDIUM_FONT;
}

static void apply_display(target *t, const char *value) {
    t->own->displayed = !scan_is_word(value, "none");
}

static void apply_clip(target *t, const char *value) {
    t->own->clipped |= !scan_is_word(value, "none");
}

static void apply_transform(target *t, const char *value) {
    t->own->transform = value;
}

static void apply_origin(target *t, const char *value) {
    t->own->origin = value;
}

static void apply_measure(target *t, measure m, const char *value) {
    length l;
    if (length_parse(value, &l)) {
        t->own->measures[m] = l;
        t->own->given[m] = true;
    } else if (scan_is_word(value, "auto")) {
        t->own->given[m] = false;
    }
}

#define MEASURE_APPLIER(name, which)                                                                                   \
    static void name(target *t, const char *value) {                                                                   \
        apply_measure(t, which, value);                                                                                \
    }
MEASURE_APPLIER(apply_x, MEASURE_X)
MEASURE_APPLIER(apply_y, MEASURE_Y)
MEASURE_APPLIER(apply_width, MEASURE_WIDTH)
MEASURE_APPLIER(apply_height, MEASURE_HEIGHT)
MEASURE_APPLIER(apply_cx, MEASURE_CX)
MEASURE_APPLIER(apply_cy, MEASURE_CY)
MEASURE_APPLIER(apply_r, MEASURE_R)
MEASURE_APPLIER(apply_rx, MEASURE_RX)
MEASURE_APPLIER(apply_ry, MEASURE_RY)
#undef MEASURE_APPLIER

static void (*const appliers[WORD_COUNT])(target *t, const char *value) = {
    [WORD_CLIP_PATH] = apply_clip,
    [WORD_COLOR] = apply_color,
    [WORD_CX] = apply_cx,
    [WORD_CY] = apply_cy,
    [WORD_DISPLAY] = apply_display,
    [WORD_FILL] = apply_fill,
    [WORD_FILL_OPACITY] = apply_fill_opacity,
    [WORD_FILL_RULE] = apply_fill_rule,
    [WORD_FONT_SIZE] = apply_font_size,
    [WORD_HEIGHT] = apply_height,
    [WORD_MASK] = apply_clip,
    [WORD_OPACITY] = apply_opacity,
    [WORD_R] = apply_r,
    [WORD_RX] = apply_rx,
    [WORD_RY] = apply_ry,
    [WORD_STROKE] = apply_stroke,
    [WORD_STROKE_DASHARRAY] = apply_dashes,
    [WORD_STROKE_OPACITY] = apply_stroke_opacity,
    [WORD_STROKE_WIDTH] = apply_stroke_width,
    [WORD_TRANSFORM] = apply_transform,
    [WORD_TRANSFORM_ORIGIN] = apply_origin,
    [WORD_VISIBILITY] = apply_visibility,
    [WORD_WIDTH] = apply_width,
    [WORD_X] = apply_x,
    [WORD_Y] = apply_y,
};

bool style_is_property(word w) {
    return w < WORD_COUNT && appliers[w] != NULL;
}

/* Copies one inherited property; the others are left. */
static void copy_property(word property, const style *from, style *to) {
    switch ((int)property) {
    case WORD_COLOR:
        to->color = from->color;
        break;
    case WORD_FILL:
        to->fill = from->fill;
        break;
    case WORD_FILL_OPACITY:
        to->fill_opacity = from->fill_opacity;
        break;
    case WORD_FILL_RULE:
        to->nonzero = from->nonzero;
        break;
    case WORD_FONT_SIZE:
        to->font_size = from->font_size;
        break;
    case WORD_STROKE:
        to->stroke = from->stroke;
        break;
    case WORD_STROKE_DASHARRAY:
        to->dashed = from->dashed;
        break;
    case WORD_STROKE_OPACITY:
        to->stroke_opacity = from->stroke_opacity;
        break;
    case WORD_STROKE_WIDTH:
        to->stroke_width = from->stroke_width;
        break;
    case WORD_VISIBILITY:
        to->visible = from->visible;
        break;
    default:
        break;
    }
}

static own_style own_initial(void) {
    return (own_style){.displayed = true, .opacity = 1.0};
}

static void apply(target *t, const declaration *d) {
    if (scan_is_word(d->value, "inherit") || scan_is_word(d->value, "unset")) {
        copy_property(d->property, t->parent, t->s);
    } else if (scan_is_word(d->value, "initial")) {
        const style initial = style_initial();
        copy_property(d->property, &initial, t->s);
        if (d->property == WORD_DISPLAY) t->own->displayed = true;
    } else {
        appliers[d->property](t, d->value);
    }
}

void style_compute(const element *e, const style *parent, const length_base *base, style *out, own_style *own) {
    style s = *parent;
    *own = own_initial();
    target t = {&s, own, parent, base};
    for (unsigned i = 0; i < e->cascade_count; i++) apply(&t, &e->cascade[i]);
    *out = s;
}

/* ---- the cascade ---- */

static bool push_attributes(const element *e, declarations *out) {
    for (unsigned i = 0; i < e->attribute_count; i++) {
        const attribute *a = &e->attributes[i];
        if (style_is_property(a->word) && !dt_array_push(out, (declaration){a->word, false, a->value})) return false;
    }
    return true;
}

/* The important ones behind the others, each in the order that they had. */
static void put_important_last(const declarations *from, declaration *to) {
    size_t count = 0;
    for (int important = 0; important < 2; important++)
        for (size_t i = 0; i < from->count; i++)
            if (from->items[i].important == (important == 1)) to[count++] = from->items[i];
}

bool style_cascade(element *e, sheet *rules, dt_arena *arena) {
    if (e->cascaded) return true;
    declarations all = {0};
    bool done = false;
    const char *text = element_value(e, WORD_STYLE);
    if (!push_attributes(e, &all) || !sheet_match(rules, e, &all)) goto done;
    if (text && !css_read_declarations(&text, arena, &all)) goto done;
    declaration *kept = DT_TAKE(arena, all.count, declaration);
    if (!kept) goto done;
    put_important_last(&all, kept);
    e->cascade = kept;
    e->cascade_count = (unsigned)all.count;
    for (size_t i = 0; i < all.count; i++) e->weight += strlen(kept[i].value);
    e->cascaded = done = true;
done:
    dt_array_free(&all);
    return done;
}
