/* Rendering by librsvg, flooding by hand: see flooded.h. */
#include "flooded.h"

#include <check.h>
#include <dovetell/drawing.h>
#include <dovetell/pieces.h>
#include <dovetell/text.h>
#include <librsvg/rsvg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct raster {
    cairo_surface_t *surface;
    const unsigned char *bytes;
    int width, height, stride;
    uint32_t *region;  /* [pixel] 0 = line or not reached yet, else a number from 1 */
    uint32_t *queue;
    double scale;      /* pixels to the millimetre */
} raster;

/* What is engraved is no cut and must not divide anything. */
static char *without_engraving(const char *svg, size_t length) {
    static const char hide[] = "<style>#engrave{display:none}</style>";
    const char *end = memchr(svg, '>', length);
    char *out = calloc(length + sizeof hide, 1);
    size_t head = (size_t)(end + 1 - svg);
    memcpy(out, svg, head);
    memcpy(out + head, hide, sizeof hide - 1);
    memcpy(out + head + sizeof hide - 1, end + 1, length - head);
    return out;
}

static raster render(const char *svg, size_t length, const dt_drawing *drawing, double scale) {
    raster r = {.scale = scale};
    r.width = (int)ceil(dt_drawing_width(drawing) * scale) + 2;
    r.height = (int)ceil(dt_drawing_height(drawing) * scale) + 2;
    r.surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, r.width, r.height);
    cairo_t *cairo = cairo_create(r.surface);
    char *text = without_engraving(svg, length);
    RsvgHandle *handle = rsvg_handle_new_from_data((const unsigned char *)text, strlen(text), NULL);
    ck_assert_ptr_nonnull(handle);
    RsvgRectangle view = {0, 0, dt_drawing_width(drawing) * scale, dt_drawing_height(drawing) * scale};
    ck_assert(rsvg_handle_render_document(handle, cairo, &view, NULL));
    g_object_unref(handle);
    free(text);
    cairo_destroy(cairo);
    cairo_surface_flush(r.surface);
    r.bytes = cairo_image_surface_get_data(r.surface);
    r.stride = cairo_image_surface_get_stride(r.surface);
    r.region = calloc((size_t)r.width * (size_t)r.height, sizeof *r.region);
    r.queue = calloc((size_t)r.width * (size_t)r.height, sizeof *r.queue);
    return r;
}

static void forget(raster *r) {
    cairo_surface_destroy(r->surface);
    free(r->region);
    free(r->queue);
}

/* Less than half covered by a line? */
static bool is_open(const raster *r, int x, int y) {
    return r->bytes[(size_t)y * (size_t)r->stride + 4 * (size_t)x + 3] < 128;
}

static bool enter(raster *r, int x, int y, uint32_t number, size_t *end) {
    if (x < 0 || y < 0 || x >= r->width || y >= r->height || !is_open(r, x, y)) return false;
    size_t at = (size_t)y * (size_t)r->width + (size_t)x;
    if (r->region[at]) return false;
    r->region[at] = number;
    r->queue[(*end)++] = (uint32_t)at;
    return true;
}

/* Floods from a pixel in four directions; the number of pixels, 0 when that one is taken or on a line. */
static size_t flood(raster *r, int x, int y, uint32_t number) {
    size_t end = 0;
    enter(r, x, y, number, &end);
    for (size_t i = 0; i < end; i++) {
        int px = (int)(r->queue[i] % (uint32_t)r->width), py = (int)(r->queue[i] / (uint32_t)r->width);
        enter(r, px - 1, py, number, &end);
        enter(r, px + 1, py, number, &end);
        enter(r, px, py - 1, number, &end);
        enter(r, px, py + 1, number, &end);
    }
    return end;
}

static void compare_region(raster *r, dt_point inside, double area, double perimeter, const flooded_sheet *what,
                           uint32_t number) {
    int x = (int)floor(inside.x * r->scale), y = (int)floor(inside.y * r->scale);
    size_t pixels = flood(r, x, y, number);
    ck_assert_msg(pixels > 0, "no region of its own at %.2f, %.2f", inside.x, inside.y);
    double seen = (double)pixels / (r->scale * r->scale), expected = area - perimeter * what->line / 2;
    double tolerance =
        0.15 * perimeter / r->scale + 0.5 + what->ragged * area; /* a seventh of a pixel along the border; corners */
    ck_assert_msg(fabs(seen - expected) <= tolerance, "%.2f mm2 seen, %.2f expected at %.2f, %.2f", seen, expected,
                  inside.x, inside.y);
}

void flooded_compare(const flooded_sheet *what) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    char *svg = NULL;
    size_t length = 0;
    dt_drawing *drawing = NULL;
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    ck_assert_msg(dt_file_read(what->file, 100u << 20, &svg, &length, &error) == DT_OK, "%s", error.message);
    ck_assert_int_eq(dt_drawing_read_memory(what->file, svg, length, &settings, &drawing, &error), DT_OK);
    ck_assert_int_eq(dt_net_new(dt_drawing_strokes(drawing), &settings, &net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, dt_drawing_strokes(drawing), &settings, &pieces, &error), DT_OK);
    ck_assert_uint_eq(dt_pieces_void_count(pieces), what->voids);
    raster r = render(svg, length, drawing, what->scale);
    uint32_t number = 1;
    flood(&r, 0, 0, number++);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        if (piece->inradius_mm < what->least)
            flood(&r, (int)floor(piece->inside.x * r.scale), (int)floor(piece->inside.y * r.scale), number++);
        else compare_region(&r, piece->inside, piece->area_mm2, piece->perimeter_mm, what, number++);
    }
    for (size_t v = 0; v < dt_pieces_void_count(pieces); v++) {
        const dt_void *hole = dt_pieces_void(pieces, v);
        compare_region(&r, hole->inside, hole->area_mm2, dt_path_perimeter(hole->outline), what, number++);
    }
    for (int y = 0; y < r.height; y++) /* and nothing large is left over */
        for (int x = 0; x < r.width; x++) {
            size_t pixels = r.region[(size_t)y * (size_t)r.width + (size_t)x] ? 0 : flood(&r, x, y, UINT32_MAX);
            double room = 3.2 * what->least * what->least * r.scale * r.scale;
            ck_assert_msg((double)pixels < 4 * room, "a region of %zu pixels at %d, %d is no piece", pixels, x, y);
        }
    forget(&r);
    dt_pieces_free(pieces);
    dt_net_free(net);
    dt_drawing_free(drawing);
    free(svg);
}
