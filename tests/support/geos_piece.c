/* Pieces as GEOS polygons: see geos_piece.h. */
#include "geos_piece.h"

#include <stdlib.h>

static void say_nothing(const char *format, ...) {
    (void)format;
}

GEOSContextHandle_t geos_quiet(void) {
    GEOSContextHandle_t geos = GEOS_init_r();
    GEOSContext_setNoticeHandler_r(geos, say_nothing);
    return geos;
}

GEOSGeometry *geos_ring(GEOSContextHandle_t geos, dt_path path) {
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(geos, (unsigned)path.count + 1, 2);
    for (unsigned i = 0; i <= path.count; i++) {
        dt_point p = path.points[i % path.count];
        GEOSCoordSeq_setXY_r(geos, points, i, p.x, p.y);
    }
    return GEOSGeom_createLinearRing_r(geos, points);
}

GEOSGeometry *geos_piece(GEOSContextHandle_t geos, const dt_piece *piece) {
    GEOSGeometry **holes = calloc(piece->hole_count + 1, sizeof *holes);
    for (size_t h = 0; h < piece->hole_count; h++) holes[h] = geos_ring(geos, piece->holes[h]);
    GEOSGeometry *polygon =
        GEOSGeom_createPolygon_r(geos, geos_ring(geos, piece->outline), holes, (unsigned)piece->hole_count);
    free(holes);
    return polygon;
}
