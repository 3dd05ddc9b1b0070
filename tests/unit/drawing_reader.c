/* The SVG reader: what each construct gives, in millimetres. Unless a check says otherwise its values follow from the SVG
 * specifications by hand. */
#include <check.h>
#include <dovetell/drawing.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A drawing of 100 x 100 mm whose user unit is a millimetre, around `content`. */
static char *framed(const char *content) {
    static char text[8192];
    snprintf(text, sizeof text,
             "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='100mm' height='100mm' "
             "viewBox='0 0 100 100' fill='none' stroke='#000'>%s</svg>",
             content);
    return text;
}

static dt_drawing *read_text(const char *text) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    dt_drawing *drawing = NULL;
    dt_status status = dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &drawing, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    return drawing;
}

static dt_status failure(const char *text, const dt_settings *settings, dt_error *error) {
    dt_drawing *drawing = NULL;
    dt_status status = dt_drawing_read_memory("test.svg", text, strlen(text), settings, &drawing, error);
    ck_assert_msg(status != DT_OK, "this must not be read: %.60s", text);
    ck_assert_ptr_null(drawing);
    ck_assert_int_eq(error->code, status);
    ck_assert_ptr_nonnull(strstr(error->message, "\"test.svg\""));
    return status;
}

static void expect_point(dt_path path, size_t index, double x, double y) {
    ck_assert_uint_lt(index, path.count);
    ck_assert_double_eq_tol(path.points[index].x, x, 1e-9);
    ck_assert_double_eq_tol(path.points[index].y, y, 1e-9);
}

static void expect_box(const dt_drawing *d, double x1, double y1, double x2, double y2) {
    dt_strokes s = dt_drawing_strokes(d);
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < s.count; i++) box = dt_box_join(box, dt_box_of(s.strokes[i].path));
    ck_assert_double_eq_tol(box.low.x, x1, 1e-9);
    ck_assert_double_eq_tol(box.low.y, y1, 1e-9);
    ck_assert_double_eq_tol(box.high.x, x2, 1e-9);
    ck_assert_double_eq_tol(box.high.y, y2, 1e-9);
}

static bool has_note(const dt_drawing *d, const char *part) {
    for (size_t i = 0; i < dt_drawing_note_count(d); i++)
        if (strstr(dt_drawing_note(d, i).text, part)) return true;
    return false;
}

START_TEST(lines_shapes_and_groups) {
    dt_drawing *d = read_text(framed("<g id='wing' transform='translate(10 20)'><path id='a' d='M0 0 h10 v5 z'/>"
                                     "<line x1='1' y1='2' x2='3' y2='4'/></g><rect x='5' y='6' width='7' height='8'/>"));
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 3);
    ck_assert_uint_eq(s.strokes[0].path.count, 3);
    expect_point(s.strokes[0].path, 0, 10, 20);
    expect_point(s.strokes[0].path, 2, 20, 25);
    ck_assert(s.strokes[0].closed && s.strokes[0].lone);
    ck_assert_str_eq(s.strokes[0].name, "a");
    ck_assert_str_eq(s.strokes[0].layer, "wing");
    ck_assert_uint_eq(s.strokes[0].colour, 0);
    ck_assert_uint_eq(s.strokes[0].line, 1);
    expect_point(s.strokes[1].path, 1, 13, 24);
    ck_assert(!s.strokes[1].closed);
    ck_assert_uint_eq(s.strokes[2].path.count, 4);
    ck_assert_str_eq(s.strokes[2].layer, "");
    ck_assert_double_eq_tol(dt_drawing_width(d), 100.0, 1e-9);
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_PHYSICAL);
    dt_drawing_free(d);
}
END_TEST

START_TEST(nothing_to_cut_is_said) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_int_eq(failure(framed(""), &settings, &error), DT_NO_LINES);
    ck_assert_int_eq(failure("", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("<html/>", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("<svg><g></svg>", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("no drawing", &settings, &error), DT_NOT_SVG);
}
END_TEST

START_TEST(width_scales_the_cut_lines) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.width_mm = 50.0;
    dt_drawing *d = NULL;
    const char *text = framed("<path d='M10 10 h20 v20'/>");
    ck_assert_int_eq(dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &d, NULL), DT_OK);
    expect_box(d, 25, 25, 75, 75);
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_OPTION);
    dt_drawing_free(d);
}
END_TEST

START_TEST(fills_without_strokes_are_outlines) {
    dt_drawing *d = read_text("<svg xmlns='http://www.w3.org/2000/svg'><rect width='96' height='48' fill='#fa0'/></svg>");
    expect_box(d, 0, 0, 25.4, 12.7);
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 1);
    ck_assert_uint_eq(s.fill_count, 1);
    ck_assert_uint_eq(s.fills[0].colour, 0xFFAA00);
    ck_assert(has_note(d, "outlines of the filled shapes"));
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_96DPI);
    dt_drawing_free(d);
}
END_TEST

/* ---- layers, names, colours ---- */

/* Reads `content` in the frame with these names for --only and --skip (NULL = none), and lists the names of its strokes. */
static const char *names_of(const char *content, const char *only, const char *skip) {
    static char list[256];
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.only = &only;
    settings.only_count = only != NULL;
    settings.skip = &skip;
    settings.skip_count = skip != NULL;
    dt_drawing *d = NULL;
    dt_error error = {0};
    const char *text = framed(content);
    list[0] = '\0';
    if (dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &d, &error) != DT_OK) return "-";
    dt_strokes s = dt_drawing_strokes(d);
    for (size_t i = 0; i < s.count; i++) snprintf(list + strlen(list), sizeof list - strlen(list), "%s", s.strokes[i].name);
    dt_drawing_free(d);
    return list;
}

static const char layered[] =
    "<g id='l1' inkscape:label='Cut lines' xmlns:inkscape='http://example.org/i'><path id='a' d='M0 0h9'/>"
    "<g id='x'><path id='b' d='M0 1h9' stroke='#f00'/></g></g>"
    "<g id='Whimsy-heron'><path id='c' class='bird tall' d='M0 2h9'/></g><g id='VOID'><path id='d' d='M0 3h9' stroke='blue'/></g>"
    "<g id='guides'><path id='e' d='M0 4h9'/><g id='cut'><path id='f' d='M0 5h9'/></g></g>"
    "<g id='Engrave text'><g id='inner'><path id='g' d='M0 6h9'/></g></g><g id='score'><path id='h' d='M0 7h9'/></g>"
    "<g id='cutlery'><path id='i' d='M0 8h9'/></g>";

START_TEST(roles_of_layers) {
    dt_drawing *d = read_text(framed(layered));
    dt_strokes s = dt_drawing_strokes(d);
    static const struct {
        const char *name, *layer;
        dt_role role;
    } wanted[] = {{"a", "Cut lines", DT_ROLE_CUT}, {"b", "x", DT_ROLE_CUT}, {"c", "Whimsy-heron", DT_ROLE_WHIMSY},
                  {"d", "VOID", DT_ROLE_VOID}, {"f", "cut", DT_ROLE_CUT}, {"i", "cutlery", DT_ROLE_CUT}};
    ck_assert_uint_eq(s.count, sizeof wanted / sizeof wanted[0]);
    for (size_t i = 0; i < s.count; i++) {
        ck_assert_str_eq(s.strokes[i].name, wanted[i].name);
        ck_assert_str_eq(s.strokes[i].layer, wanted[i].layer);
        ck_assert_int_eq(s.strokes[i].role, wanted[i].role);
    }
    ck_assert(has_note(d, "3 lines are not cut"));
    dt_drawing_free(d);
}
END_TEST

START_TEST(only_and_skip) {
    static const struct {
        const char *only, *skip, *names;
    } cases[] = {
        {NULL, NULL, "abcdfi"},     {"Cut lines", NULL, "ab"}, {"cut lines", NULL, "ab"}, {"l1", NULL, "ab"},
        {"x", NULL, "b"},           {"b", NULL, "b"},          {"red", NULL, "b"},        {"#f00", NULL, "b"},
        {"#FF0000", NULL, "b"},     {"bird", NULL, "c"},       {"guides", NULL, "ef"},    {"guides", "cut", "e"},
        {NULL, "blue", "abcfi"},    {NULL, "Cut lines", "cdfi"}, {"Engrave text", NULL, "g"}, {"nothing", NULL, "-"},
        {NULL, "black", "bd"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        ck_assert_str_eq(names_of(layered, cases[i].only, cases[i].skip), cases[i].names);
}
END_TEST

START_TEST(names_that_find_nothing_are_told) {
    static const char *const none[] = {"harbour"}, *const some[] = {"x"};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    settings.only = none;
    settings.only_count = 1;
    ck_assert_int_eq(failure(framed(layered), &settings, &error), DT_NO_LINES);
    ck_assert_ptr_nonnull(strstr(error.message, "--only"));
    ck_assert_ptr_nonnull(strstr(error.message, "\"Cut lines\""));
    ck_assert_ptr_nonnull(strstr(error.message, "#ff0000"));
    settings.only = some;
    settings.skip = none;
    settings.skip_count = 1;
    dt_drawing *d = NULL;
    const char *text = framed(layered);
    ck_assert_int_eq(dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &d, NULL), DT_OK);
    ck_assert(has_note(d, "nothing in the drawing is called \"harbour\""));
    dt_drawing_free(d);
}
END_TEST

START_TEST(only_uncut_layers) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_int_eq(failure(framed("<g id='Engrave'><path d='M0 0h9'/></g>"), &settings, &error), DT_NO_LINES);
    ck_assert_ptr_nonnull(strstr(error.message, "guide, engrave or score"));
    ck_assert_int_eq(failure(framed("<text>wren</text>"), &settings, &error), DT_NO_LINES);
    ck_assert_ptr_nonnull(strstr(error.message, "text only"));
}
END_TEST

START_TEST(used_things_keep_a_name) {
    dt_drawing *d = read_text(framed("<defs><path id='p' d='M0 0h9'/><g id='q'><path d='M0 0h9'/></g></defs>"
                                     "<use id='one' xlink:href='#p'/><use id='two' xlink:href='#q'/>"));
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 2);
    ck_assert_str_eq(s.strokes[0].name, "p");
    ck_assert_str_eq(s.strokes[1].name, "two");
    ck_assert_str_eq(s.strokes[1].layer, "q");
    dt_drawing_free(d);
}
END_TEST

START_TEST(colours) {
    static const struct {
        const char *text;
        uint32_t rgb;
    } cases[] = {{"#1a2B3c", 0x1A2B3C}, {"#1bf", 0x11BBFF}, {"#1bf8", 0x11BBFF}, {"#1a2b3c80", 0x1A2B3C}, {"Tomato", 0xFF6347},
                 {"rgb(1,2,300)", 0x0102FF}, {"rgb(100%, 0%, 50%)", 0xFF0080}, {"rgb(1 2 3 / 50%)", 0x010203},
                 {"rgba(9,8,7,.5)", 0x090807}, {"hsl(120,100%,50%)", 0x00FF00}, {"hsl(-120deg 100% 25%)", 0x000080},
                 {"RebeccaPurple", 0x663399}, {"red icc-color(x, 1)", 0xFF0000}, {"currentColor", 0x123456}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char content[256];
        snprintf(content, sizeof content, "<path color='#123456' stroke='%s' d='M0 0h9'/>", cases[i].text);
        dt_drawing *d = read_text(framed(content));
        ck_assert_msg(dt_drawing_strokes(d).strokes[0].colour == cases[i].rgb, "%s: %06x", cases[i].text,
                      dt_drawing_strokes(d).strokes[0].colour);
        dt_drawing_free(d);
    }
    dt_drawing *d = read_text(framed("<linearGradient id='g'/><path stroke='url(#g)' d='M0 0h9'/>"));
    ck_assert_uint_eq(dt_drawing_strokes(d).strokes[0].colour, DT_NO_COLOUR);
    dt_drawing_free(d);
}
END_TEST

START_TEST(fills_are_regions) {
    dt_drawing *d = read_text(framed("<path fill='#0a0' fill-rule='evenodd' d='M0 0h9v9zM2 1h3v3z'/><rect fill='blue' stroke='none' width='5' height='5'/>"
                                     "<path fill='url(#x)' d='M0 0h9v9z'/><path fill='red' fill-opacity='0' d='M0 0h9v9z'/>"));
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 4);
    ck_assert_uint_eq(s.fill_count, 3);
    ck_assert_uint_eq(s.fills[0].element, s.fills[1].element);
    ck_assert_uint_lt(s.fills[1].element, s.fills[2].element);
    ck_assert_uint_eq(s.fills[2].colour, 0x0000FF);
    ck_assert(!s.fills[0].nonzero && s.fills[2].nonzero);
    dt_drawing_free(d);
}
END_TEST

/* ---- what is told ---- */

START_TEST(path_errors_are_quoted) {
    dt_drawing *d = read_text(framed("\n\n<path\n id='wing-3'\n d='M10,10 L20,20 L12,,4 L5 5'/>"));
    ck_assert_uint_eq(dt_drawing_note_count(d), 1);
    dt_note note = dt_drawing_note(d, 0);
    ck_assert_uint_eq(note.line, 3); /* where the element begins */
    ck_assert_str_eq(note.text, "stroke \"wing-3\" at line 3: the path stops making sense at \"L12,,4 L5 5\"; the part before it was kept");
    dt_drawing_free(d);
    d = read_text(framed("<path d='M10,10 L20,20,30'/><polyline points='1,1 2,2 x'/><rect width='wide' height='5'/>"));
    ck_assert_uint_eq(dt_drawing_strokes(d).count, 2);
    ck_assert(has_note(d, "at \"30\""));
    ck_assert(has_note(d, "points stop making sense at \"x\""));
    ck_assert(has_note(d, "\"wide\" is no length"));
    dt_drawing_free(d);
}
END_TEST

START_TEST(what_cannot_be_cut_is_counted) {
    dt_drawing *d = read_text(framed("<defs><text>no</text></defs><g display='none'><text>no</text></g><text>1</text><g><text>2</text></g>"
                                     "<image/><foreignObject/><thing/><path d='M0 0h9'/><path d='M5 5'/><path d='M5 5h0'/>"
                                     "<path stroke-dasharray='1 2' d='M0 9h9'/><path clip-path='url(#c)' d='M0 8h9'/>"));
    ck_assert_uint_eq(dt_drawing_strokes(d).count, 3);
    ck_assert(has_note(d, "2 texts cannot be cut: turn them into paths"));
    ck_assert(has_note(d, "1 picture cannot be cut"));
    ck_assert(has_note(d, "2 other things"));
    ck_assert(has_note(d, "1 line of no length"));
    ck_assert(has_note(d, "1 dashed line"));
    ck_assert(has_note(d, "1 clipped or masked thing"));
    dt_drawing_free(d);
}
END_TEST

START_TEST(sheets_tell_what_they_leave_out) {
    dt_drawing *d = read_text(framed("<style>path:hover{stroke:none}path:last-child{stroke:none}a + path, .k{stroke:blue}@import 'x.css';@media print{path{stroke:none}}"
                                     "@font-face{font-family:x}g::before{}</style><path class='k' d='M0 0h9'/>"));
    ck_assert_uint_eq(dt_drawing_strokes(d).strokes[0].colour, 0x0000FF);
    ck_assert(!has_note(d, "\"path:hover"));
    ck_assert(has_note(d, "\"path:last-child"));
    ck_assert(has_note(d, "@import"));
    ck_assert(has_note(d, "other media"));
    dt_drawing_free(d);
}
END_TEST

START_TEST(lines_are_those_of_the_file) {
    dt_drawing *d = read_text("<?xml version='1.0'?>\n<svg xmlns='http://www.w3.org/2000/svg'\n width='9' height='9' stroke='red'>\n"
                              "<!-- a\n comment --><path d='M0 0h1'/>\n\n<g>\n<path\n\nd='M0 0h2'\n/>\n<path d='M0 0h3'/></g></svg>");
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.strokes[0].line, 5);
    ck_assert_uint_eq(s.strokes[1].line, 8);
    ck_assert_uint_eq(s.strokes[2].line, 12);
    dt_drawing_free(d);
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_int_eq(failure("<svg>\n<g>\n</h></svg>", &settings, &error), DT_NOT_SVG);
    ck_assert_uint_eq(error.line, 3);
}
END_TEST

START_TEST(missing_files) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *d = NULL;
    dt_error error = {0};
    ck_assert_int_eq(dt_drawing_read("no/such.svg", &settings, &d, &error), DT_CANNOT_READ);
    ck_assert_ptr_nonnull(strstr(error.message, "no/such.svg"));
    ck_assert_int_eq(dt_drawing_read("tests", &settings, &d, &error), DT_CANNOT_READ);
    ck_assert_ptr_null(d);
}
END_TEST

/* ---- sizes ---- */

/* {attributes of the svg, width and height in mm, x of the right end of `M0 0H10` in mm, physical}. */
static const struct size {
    const char *attributes;
    double width, height, ten;
    bool physical;
} sizes[] = {
    {"width='50mm' height='20mm'", 50, 20, 10 * 25.4 / 96, true},
    {"width='5cm' height='20mm' viewBox='0 0 50 20'", 50, 20, 10, true},
    {"width='2in' height='1in' viewBox='0 0 20 10'", 50.8, 25.4, 25.4, true},
    {"width='72pt' height='6pc' viewBox='0 0 10 10'", 25.4, 25.4, 25.4, true},
    {"width='400Q' height='100mm'", 100, 100, 10 * 25.4 / 96, true},
    {"width='96' height='96px'", 25.4, 25.4, 10 * 25.4 / 96, false},
    {"viewBox='0 0 96 192'", 25.4, 50.8, 10 * 25.4 / 96, false},
    {"width='100%' height='100%' viewBox='0 0 96 192'", 25.4, 50.8, 10 * 25.4 / 96, false},
    {"width='100mm' viewBox='0 0 50 20'", 100, 40, 20, true},
    {"height='100mm' viewBox='0 0 50 20'", 250, 100, 50, true},
    {"width='100mm' height='100mm' viewBox='0 0 50 20'", 100, 100, 20, true},
    {"width='100mm' height='100mm' viewBox='0 0 50 20' preserveAspectRatio='xMinYMin slice'", 100, 100, 50, true},
    {"width='100mm' height='100mm' viewBox='0 0 50 0'", 100, 100, 10 * 25.4 / 96, true},
    {"width='10em' height='96' font-size='9.6'", 25.4, 25.4, 10 * 25.4 / 96, false},
};

START_TEST(physical_size) {
    const struct size *z = &sizes[_i];
    char text[512];
    snprintf(text, sizeof text, "<svg xmlns='http://www.w3.org/2000/svg' %s stroke='red'><path d='M0 0H10'/></svg>", z->attributes);
    dt_drawing *d = read_text(text);
    ck_assert_double_eq_tol(dt_drawing_width(d), z->width, 1e-9);
    ck_assert_double_eq_tol(dt_drawing_height(d), z->height, 1e-9);
    dt_path path = dt_drawing_strokes(d).strokes[0].path;
    ck_assert_double_eq_tol(path.points[1].x - path.points[0].x, z->ten, 1e-9);
    ck_assert_int_eq(dt_drawing_unit_source(d), z->physical ? DT_UNITS_PHYSICAL : DT_UNITS_96DPI);
    dt_drawing_free(d);
}
END_TEST

/* SVG 1.1, 5.6: a use gives its size to the svg that it uses (librsvg 2.54 does not do this, so no pixels here). */
START_TEST(use_gives_its_size_to_an_svg) {
    dt_drawing *d = read_text(framed("<defs><svg id='v' viewBox='0 0 10 10' width='10' height='10'><path d='M1 1H9V9'/></svg></defs>"
                                     "<use href='#v' x='20' y='20' width='50' height='50'/>"));
    expect_box(d, 25, 25, 65, 65);
    dt_drawing_free(d);
}
END_TEST

/* SVG 1.1, 9.6 and 9.7: points with a number too many are drawn up to there. */
START_TEST(points_with_a_number_too_many) {
    dt_drawing *d = read_text(framed("<polygon points='10,10 20,40-5-5 50'/>"));
    ck_assert_uint_eq(dt_drawing_strokes(d).strokes[0].path.count, 3);
    ck_assert(has_note(d, "at \"50\""));
    dt_drawing_free(d);
}
END_TEST

/* ---- encodings ---- */

/* UTF-16 from ASCII, with its byte order mark or without. */
static size_t widen(const char *text, bool big, bool marked, char *out) {
    size_t count = 0;
    if (marked) {
        out[count++] = (char)(big ? 0xFE : 0xFF);
        out[count++] = (char)(big ? 0xFF : 0xFE);
    }
    for (; *text; text++) {
        out[count + big] = *text;
        out[count + !big] = '\0';
        count += 2;
    }
    return count;
}

START_TEST(encodings) {
    const char *plain = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9' stroke='red'><path id='reed' d='M0 0h9'/></svg>";
    char bytes[6][512];
    size_t counts[6];
    counts[0] = widen(plain, false, true, bytes[0]);
    counts[1] = widen(plain, true, true, bytes[1]);
    counts[4] = widen(plain, false, false, bytes[4]);
    counts[5] = widen(plain, true, false, bytes[5]);
    counts[2] = (size_t)snprintf(bytes[2], sizeof bytes[2], "\xEF\xBB\xBF%s", plain);
    counts[3] = (size_t)snprintf(bytes[3], sizeof bytes[3], "<?xml version='1.0' encoding='ISO-8859-1'?>%s", plain);
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    for (int i = 0; i < 6; i++) {
        dt_drawing *d = NULL;
        dt_error error = {0};
        ck_assert_msg(dt_drawing_read_memory("test.svg", bytes[i], counts[i], &settings, &d, &error) == DT_OK, "%s", error.message);
        ck_assert_str_eq(dt_drawing_strokes(d).strokes[0].name, "reed");
        dt_drawing_free(d);
    }
}
END_TEST

/* Names that a drawing program declares at the top and uses for namespaces, data and styles (no pixels here: librsvg 2.54
 * leaks the memory of each entity). */
START_TEST(plain_entities) {
    dt_drawing *d = read_text("<?xml version='1.0'?><!DOCTYPE svg [<!ENTITY far 'h80'><!ENTITY ns 'http://www.w3.org/2000/svg'>"
                              "<!ENTITY rule '.k{stroke:blue}'>]><svg xmlns='&ns;' width='100mm' height='100mm' "
                              "viewBox='0 0 100 100'><style>&rule;</style>\n<path class='k' d='M10 10 &far; v20'/></svg>");
    expect_box(d, 10, 10, 90, 30);
    ck_assert_uint_eq(dt_drawing_strokes(d).strokes[0].colour, 0x0000FF);
    ck_assert_uint_eq(dt_drawing_strokes(d).strokes[0].line, 2);
    dt_drawing_free(d);
}
END_TEST

/* ---- laws ---- */

static const char curves[] = "M10 10C40 0 60 90 80 20S90 90 50 60Q20 90 10 50A20 30 20 1 1 40 60L15 15";

static dt_drawing *read_scaled(const char *size, double box, const char *path, const char *transform) {
    char text[1024];
    snprintf(text, sizeof text, "<svg xmlns='http://www.w3.org/2000/svg' width='%s' height='%s' viewBox='0 0 %.17g %.17g' stroke='red'>"
             "<path transform='%s' d='%s'/></svg>", size, size, box, box, transform, path);
    return read_text(text);
}

static void expect_same(const dt_drawing *a, const dt_drawing *b, bool backwards) {
    dt_path p = dt_drawing_strokes(a).strokes[0].path, q = dt_drawing_strokes(b).strokes[0].path;
    ck_assert_uint_eq(p.count, q.count);
    for (size_t i = 0; i < p.count; i++)
        ck_assert_double_le(dt_point_distance(p.points[i], q.points[backwards ? q.count - 1 - i : i]), 1e-9);
}

/* The same lines in other units are the same lines. */
START_TEST(units_change_nothing) {
    dt_drawing *plain = read_scaled("100mm", 100, curves, "");
    static const struct {
        const char *size, *transform;
        double box;
    } same[] = {{"10cm", "", 100}, {"100mm", "scale(3.7795275590551185)", 377.95275590551185}, {"400Q", "scale(10)", 1000},
                {"377.95275590551185", "", 100}, {"100mm", "scale(.001)", 0.1}, {"100mm", "rotate(90)rotate(-90)", 100}};
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        dt_drawing *other = read_scaled(same[i].size, same[i].box, curves, same[i].transform);
        expect_same(plain, other, false);
        dt_drawing_free(other);
    }
    dt_drawing_free(plain);
}
END_TEST

/* A path drawn backwards has the same points backwards; a path cut in two at a node has the same points. */
START_TEST(direction_and_division_change_nothing) {
    dt_drawing *there = read_scaled("100mm", 100, "M10 10C40 0 60 90 80 20A20 30 20 0 1 40 60", "");
    dt_drawing *back = read_scaled("100mm", 100, "M40 60A20 30 20 0 0 80 20C60 90 40 0 10 10", "");
    expect_same(there, back, true);
    dt_drawing *halves = read_scaled("100mm", 100, "M10 10C40 0 60 90 80 20M80 20A20 30 20 0 1 40 60", "");
    dt_strokes s = dt_drawing_strokes(halves), whole = dt_drawing_strokes(there);
    ck_assert_uint_eq(s.count, 2);
    ck_assert_uint_eq(s.strokes[0].path.count + s.strokes[1].path.count, whole.strokes[0].path.count + 1);
    dt_drawing_free(there);
    dt_drawing_free(back);
    dt_drawing_free(halves);
}
END_TEST

/* --width spans the curves themselves, not their control points, whatever the units: a circle tells. */
START_TEST(width_measures_curves) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.width_mm = 80.0;
    const char *text = framed("<g transform='rotate(33) scale(.3)'><circle cx='50' cy='-20' r='7'/></g>");
    dt_drawing *d = NULL;
    ck_assert_int_eq(dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &d, NULL), DT_OK);
    dt_path path = dt_drawing_strokes(d).strokes[0].path;
    dt_box box = dt_box_of(path);
    ck_assert_double_le(fabs(box.high.x - box.low.x - 80.0), 2 * DT_DRAWING_FLATNESS_MM);
    dt_point centre = {0.5 * (box.low.x + box.high.x), 0.5 * (box.low.y + box.high.y)};
    for (size_t i = 0; i < path.count; i++) ck_assert_double_le(fabs(dt_point_distance(path.points[i], centre) - 40.0), 0.011);
    dt_drawing_free(d);
}
END_TEST

Suite *suite_drawing_reader(void);
Suite *suite_drawing_reader(void) {
    Suite *suite = suite_create("drawing_reader");
    TCase *tests = tcase_create("reader");
    tcase_add_test(tests, lines_shapes_and_groups);
    tcase_add_test(tests, nothing_to_cut_is_said);
    tcase_add_test(tests, width_scales_the_cut_lines);
    tcase_add_test(tests, fills_without_strokes_are_outlines);
    tcase_add_test(tests, missing_files);
    tcase_add_loop_test(tests, physical_size, 0, sizeof sizes / sizeof sizes[0]);
    tcase_add_test(tests, use_gives_its_size_to_an_svg);
    tcase_add_test(tests, points_with_a_number_too_many);
    tcase_add_test(tests, encodings);
    tcase_add_test(tests, plain_entities);
    suite_add_tcase(suite, tests);
    TCase *names = tcase_create("layers and colours");
    tcase_add_test(names, roles_of_layers);
    tcase_add_test(names, only_and_skip);
    tcase_add_test(names, names_that_find_nothing_are_told);
    tcase_add_test(names, only_uncut_layers);
    tcase_add_test(names, used_things_keep_a_name);
    tcase_add_test(names, colours);
    tcase_add_test(names, fills_are_regions);
    suite_add_tcase(suite, names);
    TCase *told = tcase_create("what is told");
    tcase_add_test(told, path_errors_are_quoted);
    tcase_add_test(told, what_cannot_be_cut_is_counted);
    tcase_add_test(told, sheets_tell_what_they_leave_out);
    tcase_add_test(told, lines_are_those_of_the_file);
    suite_add_tcase(suite, told);
    TCase *laws = tcase_create("laws");
    tcase_add_test(laws, units_change_nothing);
    tcase_add_test(laws, direction_and_division_change_nothing);
    tcase_add_test(laws, width_measures_curves);
    suite_add_tcase(suite, laws);
    return suite;
}
