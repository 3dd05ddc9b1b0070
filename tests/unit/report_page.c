/* The drawing, the picture and the page: true to scale, well formed, and proof against what a draft may hold. Outside
 * views: libxml2 parses what was written, librsvg draws it. */
#include "draft.h"

#include "report/draw.h"

#include <check.h>
#include <dovetell/report.h>
#include <libxml/HTMLparser.h>
#include <libxml/parser.h>
#include <librsvg/rsvg.h>
#include <cairo.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const dt_settings usual = DT_SETTINGS_DEFAULT;

static dt_analysis *analyse_text(const char *name, const char *bytes, size_t count) {
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_status status = dt_analyse_memory(name, bytes, count, &usual, NULL, &analysis, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    return analysis;
}

static dt_analysis *analyse_sheet(unsigned rows, unsigned columns, bool alike) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 30, 3, alike);
    dt_text svg = DT_TEXT_EMPTY;
    draft_svg(d, 5.0, &svg);
    dt_analysis *analysis = analyse_text("reed.svg", svg.bytes, svg.length);
    dt_text_free(&svg);
    draft_free(d);
    return analysis;
}

static const char hostile[] = "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='60mm' viewBox='0 0 60 60'>"
                              "<g id='&lt;/script>&lt;script>alert(1)&lt;/script>'><path id='\"> &lt;img src=x "
                              "onerror=alert(2)>' d='M5,5H55V55H5Z'/>"
                              "<path id=']]>&lt;!--&#x2028;' d='M30,5V54.8'/></g></svg>";
static const char hostile_file[] = "</title><script>alert(4)</script>.svg";

/* ---- drawing ---- */

/* Reads path data as this program writes it back into a signed area, in square millimetres. */
static double area_of_data(const char *d) {
    double area = 0, x = 0, y = 0, x0 = 0, y0 = 0;
    while (*d) {
        char *end;
        if (*d == 'M') {
            x0 = x = strtod(d + 1, &end);
            y0 = y = strtod(end, &end);
            d = end;
        } else if (*d == 'z') {
            area += x * y0 - y * x0;
            d++;
        } else if (*d == 'l' || *d == ' ') {
            d++;
        } else {
            double dx = strtod(d, &end), dy = strtod(end, &end);
            ck_assert_ptr_ne(end, d);
            area += x * (y + dy) - y * (x + dx);
            x += dx;
            y += dy;
            d = end;
        }
    }
    return area / 2;
}

START_TEST(drawn_pieces_keep_their_area_and_differ_from_neighbours) {
    dt_analysis *analysis = analyse_sheet(6, 7, false);
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    const dt_graph *graph = dt_analysis_graph(analysis);
    draw_plan *plan = draw_plan_new(pieces, graph);
    ck_assert_ptr_nonnull(plan);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        dt_text data = DT_TEXT_EMPTY;
        draw_piece_data(plan, (dt_piece_id){i}, &data);
        /* the drawing may stray by 0.01 mm and rounds to 0.01 mm */
        ck_assert_double_eq_tol(area_of_data(data.bytes), piece->area_mm2, 0.02 * piece->perimeter_mm);
        dt_text_free(&data);
        size_t count;
        const dt_piece_id *around = dt_graph_around(graph, (dt_piece_id){i}, &count);
        for (size_t n = 0; n < count; n++)
            ck_assert_uint_ne(draw_tint(plan, (dt_piece_id){i}), draw_tint(plan, around[n]));
    }
    draw_plan_free(plan);
    dt_analysis_free(analysis);
}
END_TEST

/* A hub that touches many: smallest-last order still needs no more than the tints there are. */
START_TEST(a_ring_of_odd_length_round_a_hub_is_tinted) {
    for (int spokes = 3; spokes <= 9; spokes++) {
        draft *d = draft_new();
        draft_circle(d, 50, 50, 40);
        draft_circle(d, 50, 50, 15);
        for (int i = 0; i < spokes; i++) {
            double a = 6.283185307179586 * i / spokes;
            draft_segment(d, 50 + 15 * cos(a), 50 + 15 * sin(a), 50 + 40 * cos(a), 50 + 40 * sin(a));
        }
        dt_text svg = DT_TEXT_EMPTY;
        draft_svg(d, 5.0, &svg);
        dt_analysis *analysis = analyse_text("wheel.svg", svg.bytes, svg.length);
        const dt_graph *graph = dt_analysis_graph(analysis);
        draw_plan *plan = draw_plan_new(dt_analysis_pieces(analysis), graph);
        ck_assert_uint_eq(dt_graph_pair_count(graph), 2 * (size_t)spokes);
        for (size_t i = 0; i < dt_graph_pair_count(graph); i++)
            ck_assert_uint_ne(draw_tint(plan, dt_graph_pair(graph, i)->a), draw_tint(plan, dt_graph_pair(graph, i)->b));
        draw_plan_free(plan);
        dt_analysis_free(analysis);
        dt_text_free(&svg);
        draft_free(d);
    }
}
END_TEST

/* ---- picture ---- */

static xmlDoc *parse_xml(const dt_text *text) {
    xmlDoc *doc = xmlReadMemory(text->bytes, (int)text->length, "picture.svg", NULL, XML_PARSE_NONET);
    ck_assert_msg(doc != NULL, "the picture is no XML");
    return doc;
}

static size_t count_of(const char *text, const char *what) {
    size_t count = 0;
    for (const char *at = strstr(text, what); at; at = strstr(at + 1, what)) count++;
    return count;
}

/* Share of the pixels of the picture that are not white, drawn by librsvg. */
static double inked_share(const dt_text *svg, double *width_mm) {
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg->bytes, svg->length, NULL);
    ck_assert_ptr_nonnull(handle);
    gboolean has_width, has_height, has_box;
    RsvgLength width, height;
    RsvgRectangle box;
    rsvg_handle_get_intrinsic_dimensions(handle, &has_width, &width, &has_height, &height, &has_box, &box);
    ck_assert(has_width && has_height && has_box);
    ck_assert_double_eq_tol(width.length, box.width, 0.02); /* millimetre for millimetre */
    *width_mm = width.length;
    int w = 400, h = (int)ceil(400 * box.height / box.width);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, w, h);
    cairo_t *cr = cairo_create(surface);
    ck_assert(rsvg_handle_render_document(handle, cr, &(RsvgRectangle){0, 0, w, h}, NULL));
    cairo_surface_flush(surface);
    const unsigned char *pixels = cairo_image_surface_get_data(surface);
    size_t inked = 0, stride = (size_t)cairo_image_surface_get_stride(surface);
    for (size_t y = 0; y < (size_t)h; y++)
        for (size_t x = 0; x < (size_t)w; x++) {
            const unsigned char *p = pixels + y * stride + 4 * x;
            inked += p[0] != 255 || p[1] != 255 || p[2] != 255;
        }
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    g_object_unref(handle);
    return (double)inked / ((double)w * h);
}

START_TEST(the_picture_is_true_to_scale_and_drawn_by_others) {
    dt_analysis *analysis = analyse_sheet(4, 5, false);
    dt_text svg = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_svg(analysis, &svg), DT_OK);
    xmlFreeDoc(parse_xml(&svg));
    double width, share = inked_share(&svg, &width);
    ck_assert_double_ge(width, 150.0);
    ck_assert_double_le(width, 170.0);
    ck_assert_double_ge(share, 0.6); /* 150 x 120 mm of pieces on a sheet with a margin and a legend */
    ck_assert_uint_eq(count_of(svg.bytes, "<path class=\"t"), 20);
    dt_text_free(&svg);
    dt_analysis_free(analysis);
}
END_TEST

START_TEST(every_fault_is_ringed_and_explained) {
    dt_analysis *analysis = analyse_text(hostile_file, hostile, sizeof hostile - 1);
    size_t faults = dt_pieces_fault_count(dt_analysis_pieces(analysis));
    dt_text svg = DT_TEXT_EMPTY;
    ck_assert_uint_ge(faults, 1);
    ck_assert_int_eq(dt_report_svg(analysis, &svg), DT_OK);
    xmlFreeDoc(parse_xml(&svg));
    ck_assert_uint_eq(count_of(svg.bytes, "class=\"f\""), faults);
    ck_assert_uint_eq(count_of(svg.bytes, "1  Gap of 0.20 mm"), 1);
    ck_assert_uint_eq(count_of(svg.bytes, "<script"), 0);
    ck_assert_uint_eq(count_of(svg.bytes, "<img"), 0);
    dt_text_free(&svg);
    dt_analysis_free(analysis);
}
END_TEST

/* Lines that bound no piece are drawn too, in the picture and on the page, and nothing else is. */
START_TEST(loose_lines_are_drawn) {
    for (unsigned loose = 0; loose < 2; loose++) {
        draft *d = draft_new();
        draft_straight_sheet(d, 2, 2, 30, 30);
        if (loose) draft_segment(d, 12, 40, 21, 45);
        if (loose) draft_segment(d, 30, 15, 31.5, 15);
        dt_text drawn = DT_TEXT_EMPTY, picture = DT_TEXT_EMPTY, page = DT_TEXT_EMPTY;
        draft_svg(d, 5.0, &drawn);
        dt_analysis *analysis = analyse_text("reed.svg", drawn.bytes, drawn.length);
        ck_assert_int_eq(dt_report_svg(analysis, &picture), DT_OK);
        ck_assert_int_eq(dt_report_html(analysis, &page), DT_OK);
        ck_assert_uint_eq(count_of(picture.bytes, "<path class=\"o\" d=\"M"), loose);
        ck_assert_uint_eq(count_of(page.bytes, "<path class=\"o\" d=\"M"), loose);
        xmlFreeDoc(parse_xml(&picture));
        dt_text_free(&drawn);
        dt_text_free(&picture);
        dt_text_free(&page);
        dt_analysis_free(analysis);
        draft_free(d);
    }
}
END_TEST

/* ---- page ---- */

static bool is_one_of(const xmlChar *word, const char *const *words) {
    for (; *words; words++)
        if (strcmp((const char *)word, *words) == 0) return true;
    return false;
}

/* No element or attribute in the page that could load, run or submit anything. */
static void check_node(const xmlNode *node, size_t *scripts) {
    static const char *const allowed[] = {"html",   "head",    "meta", "title", "style", "script", "body", "header",
                                          "p",      "h1",      "main", "div",   "svg",   "g",      "path", "text",
                                          "circle", "section", "dl",   "dt",    "dd",    NULL};
    static const char *const attributes[] = {
        "lang",    "charset", "http-equiv", "content",      "name", "id", "class", "type",
        "viewbox", "viewBox", "role",       "aria-label",   "d",    "x",  "y",     "font-size",
        "cx",      "cy",      "r",          "stroke-width", NULL};
    for (; node; node = node->next) {
        if (node->type != XML_ELEMENT_NODE) continue;
        ck_assert_msg(is_one_of(node->name, allowed), "element %s", node->name);
        *scripts += strcmp((const char *)node->name, "script") == 0;
        for (const xmlAttr *a = node->properties; a; a = a->next)
            ck_assert_msg(is_one_of(a->name, attributes), "attribute %s of %s", a->name, node->name);
        check_node(node->children, scripts);
    }
}

static const char *text_between(const char *text, const char *before, const char *after, size_t *length) {
    const char *start = strstr(text, before);
    ck_assert_msg(start != NULL, "no %s", before);
    start += strlen(before);
    const char *end = strstr(start, after);
    ck_assert_ptr_nonnull(end);
    *length = (size_t)(end - start);
    return start;
}

START_TEST(the_page_holds_nothing_that_could_run_or_load) {
    dt_analysis *analysis = analyse_text(hostile_file, hostile, sizeof hostile - 1);
    dt_text page = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_html(analysis, &page), DT_OK);
    htmlDocPtr doc = htmlReadMemory(page.bytes, (int)page.length, NULL, "utf-8",
                                    HTML_PARSE_NOERROR | HTML_PARSE_NOWARNING | HTML_PARSE_NONET);
    size_t scripts = 0;
    check_node(xmlDocGetRootElement(doc), &scripts);
    ck_assert_uint_eq(scripts, count_of(page.bytes, "<script"));
    ck_assert_uint_eq(count_of(page.bytes, "</script"), scripts);
    ck_assert_uint_eq(count_of(page.bytes, "innerHTML"), 0);
    ck_assert_ptr_nonnull(strstr(page.bytes, "default-src 'none'"));
    ck_assert_ptr_null(strstr(page.bytes, "unsafe-"));
    xmlFreeDoc(doc);
    dt_text_free(&page);
    dt_analysis_free(analysis);
}
END_TEST

/* Each inline script and style is let in by its own digest, computed here anew by GLib. */
START_TEST(the_policy_names_every_script) {
    dt_analysis *analysis = analyse_sheet(2, 2, false);
    dt_text page = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_html(analysis, &page), DT_OK);
    size_t policy_length, length, found = 0;
    const char *policy = text_between(page.bytes, "Content-Security-Policy\" content=\"", "\"", &policy_length);
    char *policy_text = g_strndup(policy, policy_length);
    for (const char *at = page.bytes; (at = strstr(at, "<script>")) != NULL; at += length) {
        const char *code = text_between(at, "<script>", "</script>", &length);
        guint8 digest[32];
        gsize digest_length = sizeof digest;
        GChecksum *sum = g_checksum_new(G_CHECKSUM_SHA256);
        g_checksum_update(sum, (const guchar *)code, (gssize)length);
        g_checksum_get_digest(sum, digest, &digest_length);
        char *base64 = g_base64_encode(digest, digest_length);
        ck_assert_msg(strstr(policy_text, base64) != NULL, "script %zu is not in the policy", found);
        g_free(base64);
        g_checksum_free(sum);
        found++;
    }
    ck_assert_uint_ge(found, 4);
    g_free(policy_text);
    dt_text_free(&page);
    dt_analysis_free(analysis);
}
END_TEST

START_TEST(the_data_of_the_page_survives_hostile_names) {
    dt_analysis *analysis = analyse_text(hostile_file, hostile, sizeof hostile - 1);
    dt_text page = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_html(analysis, &page), DT_OK);
    size_t length;
    const char *json = text_between(page.bytes, "<script type=\"application/json\" id=\"data\">", "</script>", &length);
    ck_assert_ptr_null(memchr(json, '<', length));
    ck_assert_ptr_null(memchr(json, '>', length));
    ck_assert_ptr_null(memchr(json, '&', length));
    json_error_t error;
    json_t *root = json_loadb(json, length, 0, &error);
    ck_assert_msg(root != NULL, "%s", error.text);
    ck_assert_str_eq(json_string_value(json_object_get(root, "file")), hostile_file);
    const char *text = json_string_value(json_object_get(json_array_get(json_object_get(root, "faults"), 0), "text"));
    ck_assert_ptr_nonnull(strstr(text, "</script><script>alert(1)</script>"));
    json_decref(root);
    dt_text_free(&page);
    dt_analysis_free(analysis);
}
END_TEST

Suite *suite_report_page(void);
Suite *suite_report_page(void) {
    Suite *suite = suite_create("report_page");
    TCase *cases = tcase_create("report_page");
    tcase_add_test(cases, drawn_pieces_keep_their_area_and_differ_from_neighbours);
    tcase_add_test(cases, a_ring_of_odd_length_round_a_hub_is_tinted);
    tcase_add_test(cases, the_picture_is_true_to_scale_and_drawn_by_others);
    tcase_add_test(cases, loose_lines_are_drawn);
    tcase_add_test(cases, every_fault_is_ringed_and_explained);
    tcase_add_test(cases, the_page_holds_nothing_that_could_run_or_load);
    tcase_add_test(cases, the_policy_names_every_script);
    tcase_add_test(cases, the_data_of_the_page_survives_hostile_names);
    suite_add_tcase(suite, cases);
    return suite;
}
