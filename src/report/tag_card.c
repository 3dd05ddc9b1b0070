/* The card of a tag as SVG (tag.h): on the left the name and what the puzzle is, on the right a tide staff whose six
 * steps are the bands, with the water as high as the points, and the hours below. Text is laid out by estimated widths
 * of wide letters, so that it stays inside with any common font. All positions are units of the 600 x 300 card. */
#include "report/tag.h"

#include <math.h>
#include <string.h>

static const char INK[] = "#20302f", MUTED[] = "#5b6b66", WATER[] = "#2c6e84", SHALLOW[] = "#cbe0e2",
                  PALE[] = "#eaf2ef", PAPER[] = "#fdfcf6", REED[] = "#5c7a3f", LINE[] = "#d6d8cb", ALARM[] = "#7a3b00",
                  ALARM_PALE[] = "#fff0cf";
static const char SANS[] = "'Source Sans 3', 'Open Sans', 'DejaVu Sans', sans-serif";
static const char SERIF[] = "Georgia, 'DejaVu Serif', serif";

enum {
    LEFT = 28,
    RIGHT_FACTS = 202,
    LEFT_END = 376,
    PANEL = 392,
    STAFF_X = 418,
    STAFF_TOP = 48,
    STEP = 24,
    STAFF_WIDTH = 20
};
static const double NAME_SIZE = 27.0, NAME_LEAST = 20.0, NAME_SPLIT = 19.0;

typedef struct ink {
    double x, y, size;
    const char *fill, *family;
    bool bold;
} ink;

/* ---- widths ---- */

static size_t utf8_length(unsigned char first) {
    return first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
}

/* Width of a character in units of the font size: on the wide side for common sans and serif fonts, measured on DejaVu,
 * which is wider than most. From U+1100 on (Hangul, CJK, emoji) a full square. */
static double character_width(const unsigned char *c) {
    if (c[0] >= 0xE1) return 1.05;
    if (c[0] >= 0x80) return 0.72;
    if (strchr("ijl.,:;'|!", c[0])) return 0.36;
    if (strchr(" ft()[]/-r", c[0])) return 0.45;
    if (strchr("mwMW@%&", c[0])) return 1.0;
    return c[0] >= 'A' && c[0] <= 'Z' ? 0.76 : 0.66;
}

static double text_width(const char *text, size_t bytes) {
    double width = 0.0;
    for (size_t i = 0; i < bytes && text[i]; i += utf8_length((unsigned char)text[i]))
        width += character_width((const unsigned char *)text + i);
    return width;
}

/* ---- pieces of SVG ---- */

static void open_text(const ink *s, dt_text *out) {
    dt_text_addf(out, "<text x=\"%g\" y=\"%g\" font-family=\"%s\" font-size=\"%.2f\" fill=\"%s\"%s>", s->x, s->y,
                 s->family, s->size, s->fill, s->bold ? " font-weight=\"bold\"" : "");
}

static void write_at(ink s, const char *text, dt_text *out) {
    open_text(&s, out);
    dt_text_add_escaped(out, text);
    dt_text_add(out, "</text>\n");
}

/* As large as `s.size`, smaller where it would be wider than `room`. */
static void write_within(ink s, double room, const char *text, dt_text *out) {
    double width = text_width(text, strlen(text)) * (s.bold ? 1.1 : 1.0);
    if (width * s.size > room) s.size = room / width;
    write_at(s, text, out);
}

typedef void phrase(const tag_facts *f, dt_text *out);

static void write_phrase(ink s, double room, phrase *say, const tag_facts *f, dt_text *out) {
    dt_text text = DT_TEXT_EMPTY;
    say(f, &text);
    if (text.failed) {
        out->failed = true;
    } else {
        write_within(s, room, text.bytes, out);
    }
    dt_text_free(&text);
}

/* ---- the left side ---- */

static double name_width(const char *text, size_t bytes) {
    return 1.1 * NAME_SPLIT * text_width(text, bytes);
}

/* Where to break a name into two lines: at the space nearest to the middle that still lets the first line fit; 0 =
 * nowhere. */
static size_t name_break(const char *name) {
    double whole = name_width(name, strlen(name)), best = INFINITY;
    size_t at = 0;
    for (size_t i = 1; name[i]; i++) {
        double first = name_width(name, i), off = fabs(first - whole / 2);
        if (name[i] != ' ' || first > LEFT_END - LEFT || off >= best) continue;
        best = off;
        at = i;
    }
    return at;
}

/* So many of the first `count` bytes as are whole words; all where that would leave less than half. */
static size_t whole_words(const char *text, size_t count) {
    size_t end = count;
    if (text[end] == ' ') return count;
    while (end > count / 2 && text[end - 1] != ' ') end--;
    while (end > count / 2 && text[end - 1] == ' ') end--;
    return end > count / 2 ? end : count;
}

/* A line of a name: cut with an ellipsis where it would not fit. */
static void write_line(ink s, const char *text, size_t bytes, dt_text *out) {
    const double room = (LEFT_END - LEFT) / (1.1 * s.size);
    size_t kept = 0;
    dt_text line = DT_TEXT_EMPTY;
    bool fits = text_width(text, bytes) <= room + 1e-9;
    for (size_t next = 0; next < bytes && (fits || text_width(text, next) <= room - 1.0);) {
        kept = next;
        next += utf8_length((unsigned char)text[next]);
        if (fits) kept = bytes;
    }
    if (!fits) kept = whole_words(text, kept);
    dt_text_add_bytes(&line, text, kept);
    if (!fits) dt_text_add(&line, "\xE2\x80\xA6");
    if (line.failed) {
        out->failed = true;
    } else {
        write_at(s, line.bytes, out);
    }
    dt_text_free(&line);
}

/* One line as large as it fits, or two smaller ones. Returns the baseline of the last. */
static double write_name(const tag_facts *f, dt_text *out) {
    size_t length = strlen(f->name), half = name_break(f->name);
    double size = fmin(NAME_SIZE, (LEFT_END - LEFT) / (1.1 * text_width(f->name, length)));
    ink s = {LEFT, 50, fmax(size, NAME_SPLIT), INK, SERIF, true};
    if (size >= NAME_LEAST || half == 0) {
        write_line(s, f->name, length, out);
        return s.y;
    }
    s.size = NAME_SPLIT;
    s.y = 42;
    write_line(s, f->name, half, out);
    s.y = 66;
    write_line(s, f->name + half + 1, length - half - 1, out);
    return s.y;
}

static void write_fact(double x, double y, const char *label, phrase *say, const tag_facts *f, dt_text *out) {
    double room = x > LEFT ? LEFT_END - x : RIGHT_FACTS - x - 8;
    write_at((ink){x, y, 11, MUTED, SANS, false}, label, out);
    write_phrase((ink){x, y + 17, 14, INK, SANS, false}, room, say, f, out);
}

/* Two pieces of which one's dovetail sits in the other: there is one place for it. */
static void draw_seal(double x, double y, dt_text *out) {
    dt_text_addf(
        out,
        "<g transform=\"translate(%g %g)\"><circle cx=\"9\" cy=\"9\" r=\"9\" fill=\"%s\"/>"
        "<path d=\"M3.4 6.2H6.6L5.5 11.6H12.5L11.4 6.2H14.6\" fill=\"none\" stroke=\"%s\" stroke-width=\"1.7\" "
        "stroke-linejoin=\"round\" stroke-linecap=\"round\"/></g>\n",
        x, y, REED, PAPER);
}

static void write_caution(dt_text *out) {
    dt_text_addf(out, "<rect x=\"%d\" y=\"244\" width=\"%d\" height=\"40\" rx=\"6\" fill=\"%s\"/>\n", LEFT - 10,
                 LEFT_END - LEFT + 16, ALARM_PALE);
    dt_text_addf(
        out,
        "<path d=\"M28 251.5L36 265.5H20Z\" transform=\"translate(4 0)\" fill=\"%s\"/>"
        "<path d=\"M32 256.5V260.6M32 262.6V263.4\" stroke=\"%s\" stroke-width=\"1.6\" stroke-linecap=\"round\"/>\n",
        ALARM, ALARM_PALE);
    write_within((ink){48, 261, 12, ALARM, SANS, true}, LEFT_END - 50, TAG_CAUTION, out);
    write_within((ink){LEFT, 278, 10.5, ALARM, SANS, false}, LEFT_END - LEFT, TAG_CAUTION_LAW, out);
}

static void write_left(const tag_facts *f, dt_text *out) {
    double y = write_name(f, out);
    write_phrase((ink){LEFT, y + 27, 17, REED, SANS, true}, LEFT_END - LEFT, tag_pieces, f, out);
    write_fact(LEFT, 122, "Finished size", tag_size, f, out);
    write_fact(RIGHT_FACTS, 122, "Sheet", tag_sheet, f, out);
    write_fact(LEFT, 166, "Edge pieces", tag_edge, f, out);
    write_fact(RIGHT_FACTS, 166, "Face", tag_face, f, out);
    if (f->one_place) {
        draw_seal(LEFT, 206, out);
        write_at((ink){LEFT + 26, 220, 13, REED, SANS, true}, TAG_ONE_PLACE, out);
    }
    if (f->small_parts) write_caution(out);
}

/* ---- the staff ---- */

/* Height of the water: each band one step, within it by the points; the last band fills over another 16 points. */
static double water_top(const tag_facts *f) {
    static const double starts[DT_BANDS + 1] = {0, 32, 48, 64, 80, 96, 112};
    double from = starts[f->band], to = starts[f->band + 1], share = (f->points - from) / (to - from);
    double steps = (double)f->band + fmin(fmax(share, 0.12), 0.94);
    return STAFF_TOP + DT_BANDS * STEP - steps * STEP;
}

/* From x = left to right, filled down to `bottom`, with a rippled surface at `top`. */
static void draw_water(double left, double right, double top, double bottom, const char *fill, const char *clip,
                       dt_text *out) {
    const double ripple = 12.0;
    dt_text_addf(out, "<path d=\"M%g %.2f", left, top);
    for (double x = left; x < right; x += 2 * ripple) dt_text_addf(out, "q%g -4 %g 0t%g 0", ripple / 2, ripple, ripple);
    dt_text_addf(out, "V%gH%gZ\" fill=\"%s\" clip-path=\"url(#%s)\"/>\n", bottom, left, fill, clip);
}

/* Two stalks with their heads, out of the way of the words. */
static void draw_reeds(dt_text *out) {
    dt_text_addf(
        out,
        "<g fill=\"none\" stroke=\"%s\" stroke-width=\"1.6\" stroke-linecap=\"round\" clip-path=\"url(#panel)\">"
        "<path d=\"M591 300C590 240 588 170 580 120M595 300C595 250 595 200 592 160M589 250C588 238 587 230 583 222\"/>"
        "<path d=\"M579.4 118L577 103M591.6 157L589.6 145\" stroke-width=\"5\"/></g>\n",
        REED);
}

/* Notches of the staff: a long one at each step, a short one half way, light where the water stands. */
static void draw_notches(const tag_facts *f, dt_text *out) {
    double top = water_top(f);
    for (int i = 1; i < 2 * DT_BANDS; i++) {
        double y = STAFF_TOP + i * STEP / 2.0;
        int length = i % 2 ? 6 : 12;
        dt_text_addf(out, "<path d=\"M%d %gh%d\" stroke=\"%s\" stroke-width=\"1.2\"/>\n", STAFF_X, y, length,
                     y > top + 3 ? PALE : MUTED);
    }
}

static void write_steps(const tag_facts *f, dt_text *out) {
    for (int band = 0; band < DT_BANDS; band++) {
        bool here = band == (int)f->band;
        double y = STAFF_TOP + (DT_BANDS - band - 0.5) * STEP;
        if (here) dt_text_addf(out, "<path d=\"M%d %gl7 -5v10z\" fill=\"%s\"/>\n", STAFF_X + STAFF_WIDTH + 4, y, WATER);
        write_at((ink){STAFF_X + STAFF_WIDTH + 18, y + (here ? 6 : 4), here ? 17 : 11.5, here ? INK : MUTED,
                       here ? SERIF : SANS, here},
                 dt_band_name((dt_band)band), out);
    }
}

static void draw_clips(dt_text *out) {
    dt_text_addf(out,
                 "<clipPath id=\"staff\"><rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"4\"/></clipPath>\n",
                 STAFF_X, STAFF_TOP, STAFF_WIDTH, DT_BANDS * STEP);
    dt_text_addf(out,
                 "<clipPath id=\"panel\"><path d=\"M%d 0.5H585.5a14 14 0 0 1 14 14V285.5a14 14 0 0 1 -14 "
                 "14H%dZ\"/></clipPath>\n",
                 PANEL, PANEL);
}

static void draw_scene(const tag_facts *f, dt_text *out) {
    double top = water_top(f);
    dt_text_addf(out, "<rect x=\"%d\" width=\"208\" height=\"300\" fill=\"%s\" clip-path=\"url(#panel)\"/>\n", PANEL,
                 PALE);
    draw_water(PANEL, TAG_WIDTH, top, TAG_HEIGHT, SHALLOW, "panel", out);
    draw_reeds(out);
    dt_text_addf(out, "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"4\" fill=\"%s\"/>\n", STAFF_X, STAFF_TOP,
                 STAFF_WIDTH, DT_BANDS * STEP, PAPER);
    draw_water(PANEL, STAFF_X + STAFF_WIDTH, top, STAFF_TOP + DT_BANDS * STEP, WATER, "staff", out);
    draw_notches(f, out);
    dt_text_addf(out,
                 "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"4\" fill=\"none\" stroke=\"%s\" "
                 "stroke-width=\"1.2\"/>\n",
                 STAFF_X, STAFF_TOP, STAFF_WIDTH, DT_BANDS * STEP, INK);
}

static void write_points(const tag_facts *f, dt_text *out) {
    dt_text_addf(out, "%.0f points; an estimate", f->points);
}

static void write_right(const tag_facts *f, dt_text *out) {
    const double room = TAG_WIDTH - STAFF_X - 24;
    draw_clips(out);
    draw_scene(f, out);
    write_at((ink){STAFF_X, 34, 11.5, MUTED, SANS, false}, "How hard it is", out);
    write_steps(f, out);
    write_phrase((ink){STAFF_X, 225, 19, INK, SERIF, true}, room, tag_hours, f, out);
    write_within((ink){STAFF_X, 244, 11.5, INK, SANS, false}, room, TAG_FOR_WHOM, out);
    write_phrase((ink){STAFF_X, 262, 11.5, INK, SANS, false}, room, write_points, f, out);
}

void tag_svg(const tag_facts *f, dt_text *out) {
    dt_text_addf(out,
                 "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\" "
                 "role=\"img\">\n<title>",
                 TAG_WIDTH, TAG_HEIGHT, TAG_WIDTH, TAG_HEIGHT);
    dt_text_add_escaped(out, f->name);
    dt_text_addf(out, "</title>\n<rect x=\"0.5\" y=\"0.5\" width=\"599\" height=\"299\" rx=\"14\" fill=\"%s\"/>\n",
                 PAPER);
    write_right(f, out);
    write_left(f, out);
    dt_text_addf(
        out, "<rect x=\"0.5\" y=\"0.5\" width=\"599\" height=\"299\" rx=\"14\" fill=\"none\" stroke=\"%s\"/>\n</svg>\n",
        LINE);
}
