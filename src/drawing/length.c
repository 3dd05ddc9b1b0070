/* Lengths with units. */
#include "drawing/length.h"

#include "drawing/scan.h"
#include <math.h>

static const struct {
    const char *name;
    length_unit unit;
} units[] = {{"px", UNIT_PX}, {"mm", UNIT_MM}, {"cm", UNIT_CM},   {"in", UNIT_IN}, {"pt", UNIT_PT},
             {"pc", UNIT_PC}, {"q", UNIT_Q},   {"rem", UNIT_REM}, {"em", UNIT_EM}, {"ex", UNIT_EX}};

static bool scan_unit(const char **at, length_unit *out) {
    if (scan_char(at, '%')) {
        *out = UNIT_PERCENT;
        return true;
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (scan_word(at, units[i].name)) {
            *out = units[i].unit;
            return true;
        }
    *out = UNIT_PX;
    return !scan_is_letter(**at);
}

bool length_scan(const char **at, length *out) {
    const char *s = *at;
    length found;
    scan_spaces(&s);
    if (!scan_number(&s, &found.value) || !isfinite(found.value) || !scan_unit(&s, &found.unit)) return false;
    *out = found;
    *at = s;
    return true;
}

bool length_parse(const char *text, length *out) {
    length found;
    if (!length_scan(&text, &found)) return false;
    scan_spaces(&text);
    if (*text) return false;
    *out = found;
    return true;
}

static double reference(length_axis axis, const length_base *base) {
    if (axis == AXIS_X) return base->width;
    if (axis == AXIS_Y) return base->height;
    return sqrt((base->width * base->width + base->height * base->height) / 2.0);
}

double length_resolve(length l, length_axis axis, const length_base *base) {
    switch (l.unit) {
    case UNIT_PX:
        return l.value;
    case UNIT_MM:
        return l.value * PX_PER_INCH / MM_PER_INCH;
    case UNIT_CM:
        return l.value * 10.0 * PX_PER_INCH / MM_PER_INCH;
    case UNIT_IN:
        return l.value * PX_PER_INCH;
    case UNIT_PT:
        return l.value * PX_PER_INCH / 72.0;
    case UNIT_PC:
        return l.value * PX_PER_INCH / 6.0;
    case UNIT_Q:
        return l.value * PX_PER_INCH / MM_PER_INCH / 4.0;
    case UNIT_EM:
        return l.value * base->font_size;
    case UNIT_EX:
        return l.value * base->font_size / 2.0;
    case UNIT_REM:
        return l.value * base->root_font_size;
    case UNIT_PERCENT:
        return l.value / 100.0 * reference(axis, base);
    }
    return l.value;
}

bool length_is_physical(length l) {
    return l.unit == UNIT_MM || l.unit == UNIT_CM || l.unit == UNIT_IN || l.unit == UNIT_PT || l.unit == UNIT_PC ||
           l.unit == UNIT_Q;
}
