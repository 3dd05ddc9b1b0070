/* Transform lists. Angles are degrees unless a unit says otherwise; lengths may carry units, as in CSS. */
#include "drawing/transform.h"

#include "drawing/scan.h"
#include <math.h>

static const double PI = 3.14159265358979323846;

typedef enum argument { PLAIN, ANGLE, LENGTH_X, LENGTH_Y } argument;

enum { MOST_ARGUMENTS = 6 };

typedef struct call {
    double a[MOST_ARGUMENTS];
    int count;
} call;

static affine make_matrix(const call *c) {
    return (affine){c->a[0], c->a[1], c->a[2], c->a[3], c->a[4], c->a[5]};
}

static affine make_translate(const call *c) {
    return affine_shift(c->a[0], c->count > 1 ? c->a[1] : 0.0);
}

static affine make_translate_y(const call *c) {
    return affine_shift(0.0, c->a[0]);
}

static affine make_scale(const call *c) {
    return affine_scale(c->a[0], c->count > 1 ? c->a[1] : c->a[0]);
}

static affine make_scale_x(const call *c) {
    return affine_scale(c->a[0], 1.0);
}

static affine make_scale_y(const call *c) {
    return affine_scale(1.0, c->a[0]);
}

/* Quarter turns are exact, so that a rotated straight edge stays straight on the grid. */
static affine turned(double radians) {
    double quarters = radians / (PI / 2.0), whole = nearbyint(quarters);
    double c = cos(radians), s = sin(radians);
    if (fabs(quarters - whole) < 1e-15 * fmax(1.0, fabs(whole))) {
        c = nearbyint(c);
        s = nearbyint(s);
    }
    return (affine){c, s, -s, c, 0.0, 0.0};
}

static affine make_rotate(const call *c) {
    affine turn = turned(c->a[0]);
    if (c->count == 1) return turn;
    return affine_compose(affine_shift(c->a[1], c->a[2]), affine_compose(turn, affine_shift(-c->a[1], -c->a[2])));
}

static affine make_skew_x(const call *c) {
    return (affine){1.0, 0.0, tan(c->a[0]), 1.0, 0.0, 0.0};
}

static affine make_skew_y(const call *c) {
    return (affine){1.0, tan(c->a[0]), 0.0, 1.0, 0.0, 0.0};
}

static affine make_skew(const call *c) {
    return (affine){1.0, c->count > 1 ? tan(c->a[1]) : 0.0, tan(c->a[0]), 1.0, 0.0, 0.0};
}

static const struct function {
    const char *name;
    affine (*make)(const call *c);
    unsigned counts; /* bit n: n arguments are right */
    argument kinds[MOST_ARGUMENTS];
} functions[] = {
    {"matrix", make_matrix, 1u << 6, {PLAIN, PLAIN, PLAIN, PLAIN, LENGTH_X, LENGTH_Y}},
    {"translatex", make_translate, 1u << 1, {LENGTH_X}},
    {"translatey", make_translate_y, 1u << 1, {LENGTH_Y}},
    {"translate", make_translate, 1u << 1 | 1u << 2, {LENGTH_X, LENGTH_Y}},
    {"scalex", make_scale_x, 1u << 1, {PLAIN}},
    {"scaley", make_scale_y, 1u << 1, {PLAIN}},
    {"scale", make_scale, 1u << 1 | 1u << 2, {PLAIN, PLAIN}},
    {"rotate", make_rotate, 1u << 1 | 1u << 3, {ANGLE, LENGTH_X, LENGTH_Y}},
    {"skewx", make_skew_x, 1u << 1, {ANGLE}},
    {"skewy", make_skew_y, 1u << 1, {ANGLE}},
    {"skew", make_skew, 1u << 1 | 1u << 2, {ANGLE, ANGLE}},
};

static bool scan_angle(const char **at, double *radians) {
    double value;
    if (!scan_number(at, &value) || !isfinite(value)) return false;
    if (scan_word(at, "rad")) {
        *radians = value;
    } else if (scan_word(at, "grad")) {
        *radians = fmod(value, 400.0) * (PI / 200.0);
    } else if (scan_word(at, "turn")) {
        *radians = fmod(value, 1.0) * (2.0 * PI);
    } else {
        scan_word(at, "deg");
        *radians = fmod(value, 360.0) * (PI / 180.0);
    }
    return true;
}

static bool scan_argument(const char **at, argument kind, const length_base *base, double *out) {
    if (kind == ANGLE) return scan_angle(at, out);
    length l;
    if (!length_scan(at, &l) || (kind == PLAIN && l.unit != UNIT_PX)) return false;
    *out = length_resolve(l, kind == LENGTH_Y ? AXIS_Y : AXIS_X, base);
    return true;
}

static const struct function *scan_function(const char **at) {
    for (size_t i = 0; i < sizeof functions / sizeof functions[0]; i++)
        if (scan_word(at, functions[i].name)) return &functions[i];
    return NULL;
}

static bool scan_call(const char **at, const length_base *base, affine *out) {
    const struct function *f = scan_function(at);
    scan_spaces(at);
    if (!f || !scan_char(at, '(')) return false;
    call c = {.count = 0};
    scan_spaces(at);
    while (c.count < MOST_ARGUMENTS && scan_argument(at, f->kinds[c.count], base, &c.a[c.count])) {
        c.count++;
        scan_separator(at);
    }
    if (!(f->counts & 1u << c.count) || !scan_char(at, ')')) return false;
    *out = affine_compose(*out, f->make(&c));
    return true;
}

bool transform_parse(const char *text, const length_base *base, affine *out) {
    affine map = AFFINE_IDENTITY;
    scan_spaces(&text);
    if (!scan_is_word(text, "none"))
        while (*text) {
            if (!scan_call(&text, base, &map)) return false;
            scan_separator(&text);
        }
    *out = map;
    return true;
}

static bool scan_origin(const char **at, length_axis axis, const length_base *base, double *out) {
    static const struct {
        const char *name;
        double share;
        int axis; /* 0 x, 1 y, 2 either */
    } words[] = {{"left", 0.0, 0}, {"right", 1.0, 0}, {"top", 0.0, 1}, {"bottom", 1.0, 1}, {"center", 0.5, 2}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if ((words[i].axis == 2 || words[i].axis == (axis == AXIS_Y)) && scan_word(at, words[i].name)) {
            *out = words[i].share * (axis == AXIS_X ? base->width : base->height);
            return true;
        }
    length l;
    if (!length_scan(at, &l)) return false;
    *out = length_resolve(l, axis, base);
    return true;
}

bool transform_origin_parse(const char *text, const length_base *base, dt_point *out) {
    const char *s = text;
    dt_point origin = {0.5 * base->width, 0.5 * base->height};
    scan_spaces(&s);
    bool x_first = scan_origin(&s, AXIS_X, base, &origin.x);
    scan_separator(&s);
    bool y_found = *s && scan_origin(&s, AXIS_Y, base, &origin.y);
    scan_separator(&s);
    if (!x_first && y_found && *s) scan_origin(&s, AXIS_X, base, &origin.x);
    scan_spaces(&s);
    if (*s || !(x_first || y_found)) return false;
    *out = origin;
    return true;
}
