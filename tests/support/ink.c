/* Rendered pictures: see ink.h. */
#include "ink.h"

#include <check.h>
#include <string.h>

static cairo_status_t take(void *context, unsigned char *bytes, unsigned count) {
    dt_text *rest = context; /* length counts what was taken */
    memcpy(bytes, rest->bytes + rest->length, count);
    rest->length += count;
    return CAIRO_STATUS_SUCCESS;
}

cairo_surface_t *ink_render(const dt_text *svg, raster_size size) {
    dt_text png = DT_TEXT_EMPTY;
    ck_assert_int_eq(raster_png(svg, size, &png), DT_OK);
    dt_text reader = png;
    reader.length = 0;
    cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(take, &reader);
    ck_assert_int_eq(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
    dt_text_free(&png);
    return surface;
}

bool ink_is_plain(cairo_surface_t *surface, int x0, int y0, int x1, int y1) {
    const unsigned char *data = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            if (memcmp(data + y * stride + 4 * x, data + y0 * stride + 4 * x0, 4) != 0) return false;
    return true;
}
