/* librsvg and cairo as the outside judges of the SVG reader: see pixels.h. */
#include "pixels.h"

#include <cairo.h>
#include <librsvg/rsvg.h>
#include <stdio.h>
#include <stdlib.h>

static cairo_surface_t *blank(const dt_drawing *d, double scale) {
    int width = (int)(dt_drawing_width(d) * scale + 0.5), height = (int)(dt_drawing_height(d) * scale + 0.5);
    return cairo_image_surface_create(CAIRO_FORMAT_A8, width < 1 ? 1 : width, height < 1 ? 1 : height);
}

static bool render_original(const char *svg, size_t length, cairo_surface_t *surface) {
    GError *error = NULL;
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg, length, &error);
    bool done = false;
    if (handle) {
        cairo_t *cr = cairo_create(surface);
        RsvgRectangle viewport = {0, 0, cairo_image_surface_get_width(surface),
                                  cairo_image_surface_get_height(surface)};
        rsvg_handle_set_dpi(handle, 96.0);
        done = rsvg_handle_render_document(handle, cr, &viewport, &error);
        cairo_destroy(cr);
        g_object_unref(handle);
    }
    if (error) g_error_free(error);
    return done;
}

static void trace(cairo_t *cr, dt_path path, bool closed) {
    cairo_move_to(cr, path.points[0].x, path.points[0].y);
    for (size_t i = 1; i < path.count; i++) cairo_line_to(cr, path.points[i].x, path.points[i].y);
    if (closed) cairo_close_path(cr);
}

static void draw_strokes(const dt_drawing *d, const pixels_setup *setup, cairo_t *cr) {
    dt_strokes s = dt_drawing_strokes(d);
    cairo_set_line_width(cr, setup->line_px / setup->px_per_mm);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    for (size_t i = 0; i < s.count;
         i++) { /* the subpaths of an element are one line: where they cross nothing doubles */
        trace(cr, s.strokes[i].path, s.strokes[i].closed);
        if (s.strokes[i].lone || i + 1 == s.count || s.strokes[i + 1].lone) cairo_stroke(cr);
    }
}

static void draw_fills(const dt_drawing *d, cairo_t *cr) {
    dt_strokes s = dt_drawing_strokes(d);
    for (size_t i = 0; i < s.fill_count; i++) {
        cairo_set_fill_rule(cr, s.fills[i].nonzero ? CAIRO_FILL_RULE_WINDING : CAIRO_FILL_RULE_EVEN_ODD);
        trace(cr, s.fills[i].path, true);
        if (i + 1 == s.fill_count || s.fills[i + 1].element != s.fills[i].element) cairo_fill(cr);
    }
}

static void draw_ours(const dt_drawing *d, const pixels_setup *setup, cairo_surface_t *surface) {
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, setup->px_per_mm, setup->px_per_mm);
    if (setup->fills)
        draw_fills(d, cr);
    else
        draw_strokes(d, setup, cr);
    cairo_destroy(cr);
}

/* Is any pixel within one of (x, y) covered? */
static bool is_near(const unsigned char *data, int width, int height, int stride, int at) {
    int x = at % stride, y = at / stride;
    for (int v = y > 0 ? y - 1 : 0; v <= y + 1 && v < height; v++)
        for (int u = x > 0 ? x - 1 : 0; u <= x + 1 && u < width; u++)
            if (data[v * stride + u] > 0) return true;
    return false;
}

static pixels_difference difference(cairo_surface_t *a, cairo_surface_t *b) {
    pixels_difference found = {0};
    cairo_surface_flush(a);
    cairo_surface_flush(b);
    const unsigned char *p = cairo_image_surface_get_data(a), *q = cairo_image_surface_get_data(b);
    int width = cairo_image_surface_get_width(a), height = cairo_image_surface_get_height(a);
    int stride = cairo_image_surface_get_stride(a);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            int u = p[y * stride + x], v = q[y * stride + x], apart = abs(u - v);
            if (apart > found.largest) found.largest = apart;
            found.strong += apart > 64;
            found.missing += u > 0 && !is_near(q, width, height, stride, y * stride + x);
            found.extra += v > 0 && !is_near(p, width, height, stride, y * stride + x);
            found.covered += u > 127 || v > 127;
        }
    return found;
}

static void leave(cairo_surface_t *surface, const char *folder, const char *name) {
    char path[512];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    cairo_surface_write_to_png(surface, path);
}

bool pixels_compare(const char *svg, size_t length, const dt_drawing *drawing, const pixels_setup *setup,
                    pixels_difference *out) {
    cairo_surface_t *original = blank(drawing, setup->px_per_mm), *ours = blank(drawing, setup->px_per_mm);
    bool done = render_original(svg, length, original);
    if (done) {
        draw_ours(drawing, setup, ours);
        *out = difference(original, ours);
        if (setup->folder) leave(original, setup->folder, "original.png");
        if (setup->folder) leave(ours, setup->folder, "ours.png");
    }
    cairo_surface_destroy(original);
    cairo_surface_destroy(ours);
    return done;
}
