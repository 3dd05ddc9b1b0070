/* The one adapter of librsvg and cairo (raster.h). Nothing outside the document is fetched: it is handed over as bytes
 * without a base address, so librsvg refuses every reference to a file or host. */
#include "report/raster.h"

#include <cairo-pdf.h>
#include <librsvg/rsvg.h>

static const double POINTS_PER_UNIT = 72.0 / 96.0; /* a PDF point is 1/72 inch */

static cairo_status_t add_bytes(void *text, const unsigned char *bytes, unsigned count) {
    dt_text_add_bytes(text, bytes, count);
    return ((const dt_text *)text)->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static dt_status draw(const dt_text *svg, cairo_surface_t *surface, raster_size size, double scale) {
    GError *problem = NULL;
    dt_status status = DT_LIBRARY;
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg->bytes, svg->length, &problem);
    cairo_t *context = cairo_create(surface);
    RsvgRectangle viewport = {0, 0, size.width, size.height};
    cairo_scale(context, scale, scale);
    if (handle && rsvg_handle_render_document(handle, context, &viewport, &problem) &&
        cairo_status(context) == CAIRO_STATUS_SUCCESS)
        status = DT_OK;
    cairo_destroy(context);
    if (handle) g_object_unref(handle);
    g_clear_error(&problem);
    return status;
}

static dt_status status_of(cairo_status_t status) {
    if (status == CAIRO_STATUS_SUCCESS) return DT_OK;
    return status == CAIRO_STATUS_NO_MEMORY ? DT_NO_MEMORY : DT_LIBRARY;
}

dt_status raster_png(const dt_text *svg, raster_size size, dt_text *out) {
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, (int)(size.width * size.scale + 0.5),
                                                          (int)(size.height * size.scale + 0.5));
    dt_status status = draw(svg, surface, size, size.scale);
    if (status == DT_OK) status = status_of(cairo_surface_write_to_png_stream(surface, add_bytes, out));
    cairo_surface_destroy(surface);
    return status;
}

dt_status raster_pdf(const dt_text *svg, raster_size size, dt_text *out) {
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(add_bytes, out, size.width * POINTS_PER_UNIT,
                                                                   size.height * POINTS_PER_UNIT);
    /* A fixed date: the same tag is the same file whenever it is made. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    dt_status status = draw(svg, surface, size, POINTS_PER_UNIT);
    cairo_surface_finish(surface);
    if (status == DT_OK) status = status_of(cairo_surface_status(surface));
    cairo_surface_destroy(surface);
    return status;
}
