/* Files that want to harm: each ends in a plain sentence or a right answer, with bounded memory. The files are made
 * here. */
#include <check.h>
#include <dovetell/drawing.h>
#include <dovetell/text.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <zlib.h>

#if defined(__SANITIZE_ADDRESS__)
#define WATCH_MEMORY 0
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define WATCH_MEMORY 0
#endif
#endif
#ifndef WATCH_MEMORY
#define WATCH_MEMORY 1
#endif

#define SVG                                                                                                            \
    "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='100' height='100' "     \
    "fill='none' stroke='red'>"

/* Reads the text; the message is kept for the checks that follow. */
static char message[sizeof(((dt_error *)0)->message)];
static dt_drawing *drawing;

static dt_status read_bytes(const void *bytes, size_t count) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    dt_drawing_free(drawing);
    drawing = NULL;
    dt_status status = dt_drawing_read_memory("trap.svg", bytes, count, &settings, &drawing, &error);
    snprintf(message, sizeof message, "%s", error.message);
    struct rusage used;
    getrusage(RUSAGE_SELF, &used);
    if (WATCH_MEMORY) ck_assert_msg(used.ru_maxrss < 500 * 1024, "%ld KiB used", used.ru_maxrss);
    return status;
}

static dt_status read_text(dt_text *text) {
    ck_assert(!text->failed);
    dt_status status = read_bytes(text->bytes, text->length);
    dt_text_free(text);
    return status;
}

static void expect(dt_status got, dt_status wanted, const char *words) {
    ck_assert_msg(got == wanted, "status %d: %s", (int)got, message);
    ck_assert_msg(strstr(message, words) != NULL, "%s", message);
}

static size_t stroke_count(void) {
    return drawing ? dt_drawing_strokes(drawing).count : 0;
}

static void tidy(void) {
    dt_drawing_free(drawing);
    drawing = NULL;
}

static void repeat(dt_text *text, const char *part, size_t times) {
    for (size_t i = 0; i < times; i++) dt_text_add(text, part);
}

/* The well-known bomb: ten levels of entities, ten times each. */
START_TEST(entity_bomb) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, "<!DOCTYPE svg [<!ENTITY a0 'h1h1h1h1h1'>");
    for (int i = 1; i < 10; i++) {
        dt_text_addf(&t, "<!ENTITY a%d '", i);
        for (int j = 0; j < 10; j++) dt_text_addf(&t, "&a%d;", i - 1);
        dt_text_add(&t, "'>");
    }
    dt_text_add(&t, "]>" SVG "<path d='M0 0&a9;'/></svg>");
    expect(read_text(&t), DT_NOT_SVG, "such are never read");
}
END_TEST

/* One large entity used very often: no nesting, still too much. */
START_TEST(entity_flood) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, "<!DOCTYPE svg [<!ENTITY a '");
    repeat(&t, "h1 ", 1000);
    dt_text_add(&t, "'>]>" SVG "<path d='M0 0");
    repeat(&t, "&a;", 100000);
    dt_text_add(&t, "'/></svg>");
    expect(read_text(&t), DT_TOO_LARGE, "entities");
}
END_TEST

/* Nothing besides the draft is read: a file that is surely there does not appear. */
START_TEST(external_entities) {
    static const char *const texts[] = {
        "<!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>" SVG
        "<path id='p' d='M0 0h1'/><style>&x;</style></svg>",
        "<!DOCTYPE svg [<!ENTITY % x SYSTEM 'file:///etc/hostname'> %x;]>" SVG "<path d='M0 0h1'/></svg>",
        "<!DOCTYPE svg SYSTEM 'file:///etc/hostname'>" SVG "<path d='M0 0h1'/></svg>",
        SVG "<xi:include xmlns:xi='http://www.w3.org/2001/XInclude' href='/etc/hostname'/><path d='M0 0h1'/></svg>",
        "<?xml-stylesheet href='file:///etc/hostname'?>" SVG
        "<style>@import '/etc/hostname';</style><path d='M0 0h1'/></svg>",
        SVG "<use xlink:href='file:///etc/hostname#a'/><use xlink:href='http://example.org/x.svg#a'/><path d='M0 "
            "0h1'/></svg>",
    };
    dt_status status = read_bytes(texts[_i], strlen(texts[_i]));
    ck_assert_msg(status == DT_OK || status == DT_NOT_SVG, "%s", message);
    if (status == DT_OK) ck_assert_uint_eq(stroke_count(), 1);
}
END_TEST

START_TEST(deep_nesting) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG);
    repeat(&t, "<g>", 1000000);
    expect(read_text(&t), DT_TOO_LARGE, "nested more than 200 deep");
    dt_text_add(&t, SVG);
    repeat(&t, "<g>", 190);
    dt_text_add(&t, "<path d='M0 0h1'/>");
    repeat(&t, "</g>", 190);
    dt_text_add(&t, "</svg>");
    ck_assert_int_eq(read_text(&t), DT_OK);
}
END_TEST

START_TEST(circles_of_uses) {
    static const char *const texts[] = {
        (SVG "<g id='a'><path d='M0 0h1'/><use xlink:href='#a'/></g></svg>"),
        (SVG "<use id='a' xlink:href='#a'/><path d='M0 0h1'/></svg>"),
        (SVG "<use id='a' xlink:href='#b'/><use id='b' xlink:href='#a'/><path d='M0 0h1'/></svg>"),
        (SVG "<symbol id='a'><use xlink:href='#a'/><path d='M0 0h1'/></symbol><use xlink:href='#a'/></svg>"),
        ("<svg id='a' xmlns='http://www.w3.org/2000/svg' width='9' height='9' stroke='red'><use href='#a'/>"
         "<path d='M0 0h1'/></svg>"),
    };
    ck_assert_int_eq(read_bytes(texts[_i], strlen(texts[_i])), DT_OK);
    ck_assert_uint_ge(stroke_count(), 1);
    ck_assert_uint_le(stroke_count(), 4);
    bool told = false;
    for (size_t i = 0; i < dt_drawing_note_count(drawing); i++)
        told |= strstr(dt_drawing_note(drawing, i).text, "back to itself") != NULL;
    ck_assert(told);
}
END_TEST

static void add_use_bomb(dt_text *t, const char *leaf) {
    dt_text_addf(t, SVG "<defs><g id='u0'>%s</g>", leaf);
    for (int i = 1; i < 12; i++) {
        dt_text_addf(t, "<g id='u%d'>", i);
        for (int j = 0; j < 10; j++) dt_text_addf(t, "<use xlink:href='#u%d'/>", i - 1);
        dt_text_add(t, "</g>");
    }
    dt_text_add(t, "</defs><use xlink:href='#u11'/></svg>");
}

START_TEST(use_bombs) {
    static const char *const leaves[] = {"<path d='M0 0h1'/>", "", "<path d='bad'/>", "<circle r='1000'/>"};
    dt_text t = DT_TEXT_EMPTY;
    add_use_bomb(&t, leaves[_i]);
    expect(read_text(&t), DT_TOO_LARGE, "simplify");
}
END_TEST

/* A large path used very often: many bytes to read again and again. */
START_TEST(heavy_use) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<defs><path id='p' d='M0 0");
    repeat(&t, "h1v1", 100000);
    dt_text_add(&t, "'/></defs>");
    repeat(&t, "<use xlink:href='#p'/>", 100000);
    dt_text_add(&t, "</svg>");
    expect(read_text(&t), DT_TOO_LARGE, "simplify");
}
END_TEST

START_TEST(a_million_segments) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<path d='M0 0");
    for (int i = 0; i < 1000000; i++) dt_text_addf(&t, "L%d.%d,%d.5 ", i % 97, i % 10, i % 89);
    dt_text_add(&t, "'/></svg>");
    ck_assert_int_eq(read_text(&t), DT_OK);
    ck_assert_uint_eq(stroke_count(), 1);
    ck_assert_uint_eq(dt_drawing_strokes(drawing).strokes[0].path.count, 1000001);
}
END_TEST

START_TEST(a_million_elements) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG);
    repeat(&t, "<path d='M0 0h1'/>", 900000);
    dt_text_add(&t, "</svg>");
    ck_assert_int_eq(read_text(&t), DT_OK);
    ck_assert_uint_eq(stroke_count(), 900000);
    dt_text_add(&t, SVG);
    repeat(&t, "<g/>", 1100000);
    expect(read_text(&t), DT_TOO_LARGE, "1000000 elements");
}
END_TEST

/* {content, lines that are cut}: the numbers are too large, no numbers, or break down on the way. */
static const struct odd {
    const char *content;
    size_t strokes;
} odds[] = {
    {"<path d='M0 0h1e300'/>", 0},
    {"<path d='M0 0hnan v5'/>", 0},
    {"<path transform='scale(1e300)' d='M1 1h1'/>", 0},
    {"<path transform='scale(1e200)scale(1e200)' d='M0 0h1'/>", 0},
    {"<g transform='matrix(1e308 1e308 1e308 1e308 1e308 1e308)'><circle r='5'/></g>", 0},
    {"<path transform='matrix(0 0 0 0 0 0)' d='M0 0h1'/>", 0},
    {"<path transform='rotate(1e300)' d='M0 0h1'/>", 1},
    {"<path transform='skewX(90)' d='M0 0h1'/>", 1},
    {"<path transform='scale(inf)' d='M0 0h1'/>", 1},
    {"<rect width='1e999' height='5'/>", 0},
    {"<rect width='1e300' height='1e300'/>", 0},
    {"<rect width='-5' height='5'/>", 0},
    {"<rect width='5' height='5' rx='1e300'/>", 1},
    {"<circle r='1e-320'/>", 0},
    {"<circle r='5' cx='1e15'/>", 0},
    {"<ellipse rx='1e-300' ry='5'/>", 1},
    {"<path d='M0 0a1e-300 1e-300 0 0 0 5 5'/>", 1},
    {"<path d='M0 0a1e12 1e12 0 0 1 5 5'/>", 1},
    {"<path d='M0 0a1e12 1e12 0 1 1 5 5'/>", 0},
    {"<svg viewBox='0 0 1e-300 1e-300'><path d='M1 1h1'/></svg>", 0},
    {"<svg viewBox='0 0 1e300 1e300'><path d='M1 1h1e9'/></svg>", 0},
    {"<svg viewBox='nan nan nan nan'><path d='M0 0h1'/></svg>", 1},
    {"<svg width='0'><path d='M0 0h1'/></svg>", 0},
    {"<path d='M0 0C1e12 1e12 -1e12 -1e12 5 5'/>", 0},
    {"<path style='stroke-width:1e999' d='M0 0h1'/>", 1},
    {"<text font-size='1e999'/><path d='M0 0h1'/>", 1},
    {"<g font-size='1e200em'><g font-size='1e200em'><rect width='1em' height='1ex'/></g></g>", 0},
};

START_TEST(odd_numbers) {
    char text[1024];
    snprintf(text, sizeof text, SVG "<path d='M5 5h5'/>%s</svg>", odds[_i].content);
    dt_status status = read_bytes(text, strlen(text));
    ck_assert_msg(status == DT_OK, "%s: %s", odds[_i].content, message);
    ck_assert_msg(stroke_count() == odds[_i].strokes + 1, "%s: %zu", odds[_i].content, stroke_count());
    dt_strokes s = dt_drawing_strokes(drawing);
    for (size_t i = 0; i < s.count; i++) {
        dt_box box = dt_box_of(s.strokes[i].path);
        ck_assert(box.low.x >= -1e5 && box.high.x <= 1e5 && box.low.y >= -1e5 && box.high.y <= 1e5);
    }
}
END_TEST

/* Where nothing is left of a drawing, the sentence says what became of its lines, not that they had no colour. */
START_TEST(sentences_where_no_number_makes_sense) {
    static const char *const texts[][2] = {
        {SVG "<path d='M0 0H1e300V1e300Z'/></svg>", "stops making sense at \"H1e300V1e300Z\""},
        {SVG "<path transform='scale(1e9)' d='M1 1h9'/></svg>", "lies farther out than can be cut"},
        {SVG "<path d='M5 5L5 5'/></svg>", "have no length"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) expect(read_bytes(texts[i][0], strlen(texts[i][0])), DT_NO_LINES, texts[i][1]);
}
END_TEST

/* Every beginning of a drawing is read without harm; only the whole is a drawing. */
START_TEST(truncated_files) {
    const char *text = "<?xml version='1.0' encoding='utf-8'?><!DOCTYPE svg [<!ENTITY a 'h5'>]><!-- c -->" SVG
                       "<style><![CDATA[path{stroke:red}]]></style><g id='\xC3\xA9'><path d='M0 0&a;'/></g></svg>";
    size_t length = strlen(text);
    for (size_t i = 0; i < length; i++) {
        char *part = malloc(i + 1); /* exactly so large, so that reading past its end is seen */
        ck_assert_ptr_nonnull(part);
        memcpy(part, text, i);
        ck_assert_msg(read_bytes(part, i) == DT_NOT_SVG, "%zu bytes", i);
        free(part);
    }
    ck_assert_int_eq(read_bytes(text, length), DT_OK);
}
END_TEST

static size_t pack(const void *bytes, size_t count, unsigned char **out) {
    z_stream z = {0};
    ck_assert_int_eq(deflateInit2(&z, 9, Z_DEFLATED, MAX_WBITS + 16, 9, Z_DEFAULT_STRATEGY), Z_OK);
    size_t room = deflateBound(&z, count);
    *out = malloc(room);
    ck_assert_ptr_nonnull(*out);
    unsigned char *copy = malloc(count ? count : 1);
    ck_assert_ptr_nonnull(copy);
    memcpy(copy, bytes, count);
    z.next_in = copy;
    z.avail_in = (uInt)count;
    z.next_out = *out;
    z.avail_out = (uInt)room;
    ck_assert_int_eq(deflate(&z, Z_FINISH), Z_STREAM_END);
    size_t length = z.total_out;
    deflateEnd(&z);
    free(copy);
    return length;
}

START_TEST(compressed) {
    const char *text = SVG "<path d='M0 0h1'/></svg>";
    unsigned char *packed;
    size_t length = pack(text, strlen(text), &packed);
    ck_assert_int_eq(read_bytes(packed, length), DT_OK);
    for (size_t i = 2; i < length; i += 3) expect(read_bytes(packed, i), DT_NOT_SVG, "cut short");
    packed[length / 2] ^= 0x55;
    ck_assert_int_eq(read_bytes(packed, length), DT_NOT_SVG);
    free(packed);
}
END_TEST

/* 80 MB of spaces in 80 KB. */
START_TEST(compression_bomb) {
    size_t count = 80u << 20;
    char *spaces = malloc(count);
    ck_assert_ptr_nonnull(spaces);
    memset(spaces, ' ', count);
    unsigned char *packed;
    size_t length = pack(spaces, count, &packed);
    free(spaces);
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_int_eq(dt_drawing_read_memory("bomb.svgz", packed, length, &settings, &drawing, &error), DT_TOO_LARGE);
    ck_assert_ptr_nonnull(strstr(error.message, "64 MB"));
    free(packed);
}
END_TEST

START_TEST(endless_tags) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, "<svg xmlns='http://www.w3.org/2000/svg'><g ");
    for (int i = 0; i < 200000; i++) dt_text_addf(&t, "a%d='' ", i);
    dt_text_add(&t, "/></svg>");
    expect(read_text(&t), DT_TOO_LARGE, "256 attributes");
    dt_text_add(&t, "<!DOCTYPE svg [<!ATTLIST g ");
    for (int i = 0; i < 2000; i++) dt_text_addf(&t, "a%d CDATA 'x' ", i);
    dt_text_add(&t, ">]>" SVG);
    repeat(&t, "<g/>", 100000);
    dt_text_add(&t, "</svg>");
    ck_assert_int_eq(read_text(&t), DT_TOO_LARGE);
}
END_TEST

/* Rules against elements: each rule could fit each element and fails only far out. */
START_TEST(rules_against_elements) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<style>");
    for (int i = 0; i < 20000; i++) dt_text_addf(&t, ".x%d g g g > path {stroke:none}", i);
    dt_text_add(&t, "</style>");
    repeat(&t, "<g>", 100);
    repeat(&t, "<path d='M0 0h1'/>", 20000);
    repeat(&t, "</g>", 100);
    dt_text_add(&t, "</svg>");
    expect(read_text(&t), DT_TOO_LARGE, "style sheets");
}
END_TEST

/* One element that 100,000 rules fit, and a style attribute that says the same thing very often. */
START_TEST(rules_that_all_fit) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<style>");
    repeat(&t, "path{stroke:red;fill:none;opacity:1}", 100000);
    dt_text_add(&t, "</style>");
    repeat(&t, "<path d='M0 0h1'/>", 1000);
    dt_text_add(&t, "</svg>");
    expect(read_text(&t), DT_TOO_LARGE, "style sheets");
    dt_text_add(&t, SVG "<path d='M0 0h1' style='");
    repeat(&t, "stroke:blue;", 1000000);
    dt_text_add(&t, "'/></svg>");
    ck_assert_int_eq(read_text(&t), DT_OK);
    ck_assert_uint_eq(dt_drawing_strokes(drawing).strokes[0].colour, 0x0000FF);
}
END_TEST

START_TEST(classes_by_the_million) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<style>.a.b{stroke:blue}</style><path d='M0 0h1' class='");
    repeat(&t, "a ", 1000000);
    dt_text_add(&t, "'/></svg>");
    dt_status status = read_text(&t);
    ck_assert(status == DT_OK || status == DT_TOO_LARGE);
}
END_TEST

/* A million different names, and a broken file that goes on for long: both cost the library the square of their size.
 */
START_TEST(what_the_library_does_slowly) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG);
    for (int i = 0; i < 900000; i++) dt_text_addf(&t, "<a%d/>", i);
    dt_text_add(&t, "</svg>");
    ck_assert_int_ne(read_text(&t), DT_OK);
    dt_text_add(&t, SVG);
    repeat(&t, "x<", 10000000);
    expect(read_text(&t), DT_NOT_SVG, "goes wrong");
}
END_TEST

START_TEST(notes_do_not_grow_without_end) {
    dt_text t = DT_TEXT_EMPTY;
    dt_text_add(&t, SVG "<path d='M0 0h1'/>");
    repeat(&t, "<path d='M0 0 L5 5 x'/>\n", 100000);
    dt_text_add(&t, "</svg>");
    ck_assert_int_eq(read_text(&t), DT_OK);
    size_t count = dt_drawing_note_count(drawing);
    ck_assert_uint_le(count, 250);
    ck_assert_ptr_nonnull(strstr(dt_drawing_note(drawing, count - 1).text, "more notes"));
}
END_TEST

/* Bytes that are no text at all: a picture, zeros, every byte value. */
START_TEST(no_text) {
    static const char png[] = "\x89PNG\r\n\x1A\n\0\0\0\rIHDR";
    expect(read_bytes(png, sizeof png - 1), DT_NOT_SVG, "trap.svg");
    char zeros[256] = {0};
    expect(read_bytes(zeros, sizeof zeros), DT_NOT_SVG, "trap.svg");
    for (int i = 0; i < 256; i++) zeros[i] = (char)i;
    expect(read_bytes(zeros, sizeof zeros), DT_NOT_SVG, "trap.svg");
}
END_TEST

/* Names that try to write into the maker's terminal do not reach the message as they are. */
START_TEST(names_in_messages_are_plain) {
    const char *text = SVG "<g><path id='a&#x202E;b' d='M0 0h1 L5'/></g></svg>";
    ck_assert_int_eq(read_bytes(text, strlen(text)), DT_OK);
    ck_assert_ptr_null(strstr(dt_drawing_note(drawing, 0).text, "\xE2\x80\xAE"));
}
END_TEST

Suite *suite_drawing_hostile(void);
Suite *suite_drawing_hostile(void) {
    Suite *suite = suite_create("drawing_hostile");
    TCase *tests = tcase_create("hostile");
    tcase_add_checked_fixture(tests, NULL, tidy);
    tcase_add_test(tests, entity_bomb);
    tcase_add_test(tests, entity_flood);
    tcase_add_loop_test(tests, external_entities, 0, 6);
    tcase_add_test(tests, deep_nesting);
    tcase_add_loop_test(tests, circles_of_uses, 0, 5);
    tcase_add_loop_test(tests, use_bombs, 0, 4);
    tcase_add_test(tests, heavy_use);
    tcase_add_test(tests, a_million_segments);
    tcase_add_test(tests, a_million_elements);
    tcase_add_loop_test(tests, odd_numbers, 0, sizeof odds / sizeof odds[0]);
    tcase_add_test(tests, sentences_where_no_number_makes_sense);
    tcase_add_test(tests, truncated_files);
    tcase_add_test(tests, compressed);
    tcase_add_test(tests, compression_bomb);
    tcase_add_test(tests, endless_tags);
    tcase_add_test(tests, rules_against_elements);
    tcase_add_test(tests, rules_that_all_fit);
    tcase_add_test(tests, classes_by_the_million);
    tcase_add_test(tests, what_the_library_does_slowly);
    tcase_add_test(tests, notes_do_not_grow_without_end);
    tcase_add_test(tests, no_text);
    tcase_add_test(tests, names_in_messages_are_plain);
    suite_add_tcase(suite, tests);
    return suite;
}
