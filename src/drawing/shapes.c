/* The basic shapes (SVG 2, chapter 10) and paths as outlines. */
#include "drawing/shapes.h"

#include "drawing/path_data.h"
#include "drawing/scan.h"
#include <math.h>

static const double HALF_PI = 1.57079632679489661923;

typedef struct shape {
    const element *e;
    const own_style *own;
    const length_base *base;
    outline *out;
    notes *notes;
} shape;

static double measured(const shape *s, measure m, length_axis axis) {
    return s->own->given[m] ? length_resolve(s->own->measures[m], axis, s->base) : 0.0;
}

/* A quarter of an ellipse round the centre, from the angle `from` (a multiple of a quarter turn). */
static void quarter(outline *out, dt_point centre, double rx, double ry, int from) {
    static const dt_point corners[5] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}, {1, 0}};
    dt_point end = corners[from + 1];
    dt_arc arc = {centre,         {rx, 0.0}, {0.0, ry},
                  from * HALF_PI, HALF_PI,   {centre.x + rx * end.x, centre.y + ry * end.y}};
    outline_arc(out, &arc);
}

static void whole_ellipse(outline *out, dt_point centre, double rx, double ry) {
    outline_move(out, (dt_point){centre.x + rx, centre.y});
    for (int i = 0; i < 4; i++) quarter(out, centre, rx, ry, i);
    outline_close(out);
}

static void add_circle(const shape *s) {
    double r = measured(s, MEASURE_R, AXIS_BOTH);
    dt_point centre = {measured(s, MEASURE_CX, AXIS_X), measured(s, MEASURE_CY, AXIS_Y)};
    if (r > 0.0) whole_ellipse(s->out, centre, r, r);
}

/* A radius that is not given is the other one (SVG 2, 7.4). */
static void radii(const shape *s, double *rx, double *ry) {
    *rx = measured(s, MEASURE_RX, AXIS_X);
    *ry = measured(s, MEASURE_RY, AXIS_Y);
    if (!s->own->given[MEASURE_RX] || *rx < 0.0) *rx = *ry;
    if (!s->own->given[MEASURE_RY] || *ry < 0.0) *ry = *rx;
}

static void add_ellipse(const shape *s) {
    double rx, ry;
    radii(s, &rx, &ry);
    dt_point centre = {measured(s, MEASURE_CX, AXIS_X), measured(s, MEASURE_CY, AXIS_Y)};
    if (rx > 0.0 && ry > 0.0) whole_ellipse(s->out, centre, rx, ry);
}

static void rounded(outline *out, dt_box box, double rx, double ry) {
    double left = box.low.x, top = box.low.y, right = box.high.x, bottom = box.high.y;
    outline_move(out, (dt_point){left + rx, top});
    if (right - rx > left + rx) outline_line(out, (dt_point){right - rx, top});
    quarter(out, (dt_point){right - rx, top + ry}, rx, ry, 3);
    if (bottom - ry > top + ry) outline_line(out, (dt_point){right, bottom - ry});
    quarter(out, (dt_point){right - rx, bottom - ry}, rx, ry, 0);
    if (right - rx > left + rx) outline_line(out, (dt_point){left + rx, bottom});
    quarter(out, (dt_point){left + rx, bottom - ry}, rx, ry, 1);
    if (bottom - ry > top + ry) outline_line(out, (dt_point){left, top + ry});
    quarter(out, (dt_point){left + rx, top + ry}, rx, ry, 2);
    outline_close(out);
}

static void add_rect(const shape *s) {
    double x = measured(s, MEASURE_X, AXIS_X), y = measured(s, MEASURE_Y, AXIS_Y);
    double width = measured(s, MEASURE_WIDTH, AXIS_X), height = measured(s, MEASURE_HEIGHT, AXIS_Y), rx, ry;
    if (!(width > 0.0 && height > 0.0)) return;
    radii(s, &rx, &ry);
    rx = fmin(rx, 0.5 * width);
    ry = fmin(ry, 0.5 * height);
    if (rx > 0.0 && ry > 0.0) {
        rounded(s->out, (dt_box){{x, y}, {x + width, y + height}}, rx, ry);
        return;
    }
    outline_move(s->out, (dt_point){x, y});
    outline_line(s->out, (dt_point){x + width, y});
    outline_line(s->out, (dt_point){x + width, y + height});
    outline_line(s->out, (dt_point){x, y + height});
    outline_close(s->out);
}

static double coordinate(const shape *s, word w, length_axis axis) {
    const char *text = element_value(s->e, w);
    length l;
    if (!text) return 0.0;
    if (length_parse(text, &l)) return length_resolve(l, axis, s->base);
    notes_add_lost(s->notes, s->e->line, "%s at line %u: \"%s\" is no length; 0 was taken", notes_title(s->e).text,
              s->e->line, notes_excerpt(text).text);
    return 0.0;
}

static void add_line(const shape *s) {
    outline_move(s->out, (dt_point){coordinate(s, WORD_X1, AXIS_X), coordinate(s, WORD_Y1, AXIS_Y)});
    outline_line(s->out, (dt_point){coordinate(s, WORD_X2, AXIS_X), coordinate(s, WORD_Y2, AXIS_Y)});
}

static bool scan_point(const char **at, dt_point *out) {
    if (!scan_number(at, &out->x)) return false;
    scan_separator(at);
    return scan_number(at, &out->y) && fabs(out->x) <= PATH_MOST_COORDINATE && fabs(out->y) <= PATH_MOST_COORDINATE;
}

static void add_polyline(const shape *s) {
    const char *text = element_value(s->e, WORD_POINTS), *start = text;
    if (!text) return;
    dt_point p;
    size_t count = 0;
    scan_spaces(&text);
    for (start = text; *text && scan_point(&text, &p); start = text) {
        if (count++)
            outline_line(s->out, p);
        else
            outline_move(s->out, p);
        scan_separator(&text);
    }
    if (count && s->e->tag == TAG_POLYGON) outline_close(s->out);
    if (*start)
        notes_add_lost(s->notes, s->e->line,
                  "%s at line %u: its points stop making sense at \"%s\"; the part before it was kept",
                  notes_title(s->e).text, s->e->line, notes_excerpt(start).text);
}

static void add_path(const shape *s) {
    const char *d = element_value(s->e, WORD_D);
    path_error error;
    if (!d || path_data_parse(d, s->out, &error)) return;
    bool at_end = *error.segment == '\0';
    notes_add_lost(s->notes, s->e->line, "%s at line %u: the path stops making sense at %s%s%s; the part before it was kept",
              notes_title(s->e).text, s->e->line, at_end ? "its end" : "\"",
              at_end ? "" : notes_excerpt(error.segment).text, at_end ? "" : "\"");
}

/* Measures that stand there but cannot be read. */
static void note_bad_measures(const shape *s) {
    static const struct {
        word word;
        measure measure;
    } all[] = {{WORD_X, MEASURE_X},           {WORD_Y, MEASURE_Y},   {WORD_WIDTH, MEASURE_WIDTH},
               {WORD_HEIGHT, MEASURE_HEIGHT}, {WORD_CX, MEASURE_CX}, {WORD_CY, MEASURE_CY},
               {WORD_R, MEASURE_R},           {WORD_RX, MEASURE_RX}, {WORD_RY, MEASURE_RY}};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        const char *text = element_value(s->e, all[i].word);
        if (text && !s->own->given[all[i].measure] && !scan_is_word(text, "auto"))
            notes_add_lost(s->notes, s->e->line, "%s at line %u: \"%s\" is no length; it was left out",
                      notes_title(s->e).text, s->e->line, notes_excerpt(text).text);
    }
}

void shape_outline(const element *e, const own_style *own, const length_base *base, outline *out, notes *n) {
    const shape s = {e, own, base, out, n};
    note_bad_measures(&s);
    switch (e->tag) {
    case TAG_CIRCLE:
        add_circle(&s);
        break;
    case TAG_ELLIPSE:
        add_ellipse(&s);
        break;
    case TAG_LINE:
        add_line(&s);
        break;
    case TAG_PATH:
        add_path(&s);
        break;
    case TAG_POLYGON:
    case TAG_POLYLINE:
        add_polyline(&s);
        break;
    case TAG_RECT:
        add_rect(&s);
        break;
    default:
        break;
    }
}
