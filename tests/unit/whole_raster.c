/* Pieces against an independent path: the drawing rendered by librsvg, its white regions found by flood fill. Every piece and every
 * void is one region, and its area is the piece's less the half line width that was painted along its border. */
#include <check.h>
#include <dovetell/analysis.h>
#include <librsvg/rsvg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct raster {
    int width, height;
    double scale;          /* pixels to the mm */
    uint8_t *grey;         /* 0 = line */
    int *region;           /* by pixel: 0 = line, else number of its region */
    size_t *area;          /* by region, pixels */
    int regions;
} raster;

static void paint(raster *r, const char *path) {
    GError *error = NULL;
    RsvgHandle *handle = rsvg_handle_new_from_file(path, &error);
    ck_assert_ptr_nonnull(handle);
    const char *plain = "#engrave{display:none} path{stroke:#000;fill:none}";
    ck_assert(rsvg_handle_set_stylesheet(handle, (const guint8 *)plain, strlen(plain), &error));
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, r->width, r->height);
    cairo_t *cairo = cairo_create(surface);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    RsvgRectangle viewport = {0, 0, r->width, r->height};
    ck_assert(rsvg_handle_render_document(handle, cairo, &viewport, &error));
    cairo_surface_flush(surface);
    const unsigned char *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (int y = 0; y < r->height; y++)
        for (int x = 0; x < r->width; x++) r->grey[y * r->width + x] = data[(size_t)y * stride + (size_t)x * 4];
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    g_object_unref(handle);
}

static void fill_region(raster *r, int start, int number, int *stack) {
    int top = 0;
    stack[top++] = start;
    r->region[start] = number;
    while (top > 0) {
        int at = stack[--top], x = at % r->width, y = at / r->width;
        r->area[number]++;
        const int next[4] = {x > 0 ? at - 1 : -1, x + 1 < r->width ? at + 1 : -1, y > 0 ? at - r->width : -1,
                             y + 1 < r->height ? at + r->width : -1};
        for (int i = 0; i < 4; i++) {
            if (next[i] < 0 || r->region[next[i]] || r->grey[next[i]] < 128) continue;
            r->region[next[i]] = number;
            stack[top++] = next[i];
        }
    }
}

static raster raster_of(const char *path, double width_mm, double height_mm, double scale) {
    raster r = {.width = (int)(width_mm * scale), .height = (int)(height_mm * scale), .scale = scale};
    size_t pixels = (size_t)r.width * (size_t)r.height;
    r.grey = malloc(pixels);
    r.region = calloc(pixels, sizeof *r.region);
    r.area = calloc(20000, sizeof *r.area);
    int *stack = malloc(pixels * sizeof *stack);
    ck_assert(r.grey && r.region && r.area && stack);
    paint(&r, path);
    for (size_t i = 0; i < pixels; i++)
        if (!r.region[i] && r.grey[i] >= 128) fill_region(&r, (int)i, ++r.regions, stack);
    free(stack);
    return r;
}

static int region_at(const raster *r, dt_point p) {
    return r->region[(int)(p.y * r->scale) * r->width + (int)(p.x * r->scale)];
}

/* Where two lines part at a sharp angle their pixels leave specks between them; no piece is as small as SPECK_MM2. */
static const double SPECK_MM2 = 1.0;

static int large_regions(const raster *r) {
    int count = 0;
    for (int i = 1; i <= r->regions; i++) count += (double)r->area[i] > SPECK_MM2 * r->scale * r->scale;
    return count;
}

typedef struct drawn {
    const char *path;
    double scale;  /* pixels to the mm: fine enough that the narrowest neck stays open */
    int voids;
} drawn;

static const drawn DRAFTS[] = {{"corpus/demo/heron-3.svg", 12, 1}, {"corpus/knobbed-500.svg", 6, 0}};
static const double LINE_MM = 0.2; /* as these files paint it */

START_TEST(pieces_are_the_white_regions) {
    const drawn *draft = &DRAFTS[_i];
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = 1;
    dt_analysis *a = NULL;
    dt_error error = {0};
    ck_assert_msg(dt_analyse(draft->path, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    const dt_pieces *pieces = dt_analysis_pieces(a);
    const dt_drawing *drawing = dt_analysis_drawing(a);
    raster r = raster_of(draft->path, dt_drawing_width(drawing), dt_drawing_height(drawing), draft->scale);
    ck_assert_int_eq((int)dt_pieces_void_count(pieces), draft->voids);
    ck_assert_int_eq(large_regions(&r), (int)dt_pieces_count(pieces) + draft->voids + 1); /* and the outside */
    bool *taken = calloc((size_t)r.regions + 1, sizeof *taken);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        int region = region_at(&r, piece->inside);
        ck_assert_int_gt(region, 0);
        ck_assert(!taken[region]);
        taken[region] = true;
        double painted = piece->perimeter_mm * LINE_MM / 2, seen = (double)r.area[region] / (r.scale * r.scale);
        ck_assert_double_eq_tol(seen, piece->area_mm2 - painted, 0.01 * piece->area_mm2 + 0.2);
    }
    free(taken);
    free(r.grey);
    free(r.region);
    free(r.area);
    dt_analysis_free(a);
}
END_TEST

Suite *suite_whole_raster(void);
Suite *suite_whole_raster(void) {
    Suite *suite = suite_create("whole_raster");
    TCase *cases = tcase_create("raster");
    tcase_add_loop_test(cases, pieces_are_the_white_regions, 0, (int)(sizeof DRAFTS / sizeof *DRAFTS));
    suite_add_tcase(suite, cases);
    return suite;
}
