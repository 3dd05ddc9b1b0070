/* Growing pieces by GEOS (grow.h). The context is our own and silent; whatever GEOS makes is freed here. */
#include "grow.h"

#include <geos_c.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/* Chords for a quarter of a round corner: at a kerf of 0.5 mm within 0.0003 mm of the arc. */
enum { QUADRANT_CHORDS = 16 };

static void say_nothing(const char *format, ...) {
    (void)format;
}

static GEOSGeometry *ring_to_geos(GEOSContextHandle_t g, dt_path path) {
    GEOSCoordSequence *c = GEOSCoordSeq_create_r(g, (unsigned)path.count + 1, 2);
    if (!c) return NULL;
    for (unsigned i = 0; i <= path.count; i++) {
        dt_point p = path.points[i % path.count];
        if (!GEOSCoordSeq_setXY_r(g, c, i, p.x, p.y)) {
            GEOSCoordSeq_destroy_r(g, c);
            return NULL;
        }
    }
    return GEOSGeom_createLinearRing_r(g, c);
}

static dt_status piece_to_geos(GEOSContextHandle_t g, const dt_piece *piece, GEOSGeometry **out) {
    GEOSGeometry **rings = calloc(piece->hole_count + 1, sizeof *rings), *polygon = NULL;
    if (!rings) return DT_NO_MEMORY;
    bool whole = (rings[0] = ring_to_geos(g, piece->outline)) != NULL;
    for (size_t h = 0; whole && h < piece->hole_count; h++) whole = (rings[h + 1] = ring_to_geos(g, piece->holes[h])) != NULL;
    if (whole) {
        polygon = GEOSGeom_createPolygon_r(g, rings[0], rings + 1, (unsigned)piece->hole_count); /* takes the rings */
    } else {
        for (size_t i = 0; i <= piece->hole_count; i++)
            if (rings[i]) GEOSGeom_destroy_r(g, rings[i]);
    }
    free(rings);
    *out = polygon;
    return polygon ? DT_OK : DT_LIBRARY;
}

static void reverse(dt_point *points, size_t count) {
    for (size_t i = 0, k = count; i + 1 < k; i++) {
        dt_point moved = points[i];
        points[i] = points[--k];
        points[k] = moved;
    }
}

/* Ring `index` of the polygon (0 = outline), its points put at `to`. */
static bool ring_from_geos(GEOSContextHandle_t g, const GEOSGeometry *polygon, int index, dt_point *to, dt_path *out) {
    const GEOSGeometry *ring = index == 0 ? GEOSGetExteriorRing_r(g, polygon) : GEOSGetInteriorRingN_r(g, polygon, index - 1);
    const GEOSCoordSequence *c = ring ? GEOSGeom_getCoordSeq_r(g, ring) : NULL;
    unsigned size;
    if (!c || !GEOSCoordSeq_getSize_r(g, c, &size) || size < 4) return false;
    for (unsigned i = 0; i + 1 < size; i++)
        if (!GEOSCoordSeq_getXY_r(g, c, i, &to[i].x, &to[i].y)) return false;
    *out = (dt_path){to, size - 1};
    if ((dt_path_area(*out) > 0) != (index == 0)) reverse(to, out->count);
    return true;
}

static dt_status shape_from_geos(GEOSContextHandle_t g, const GEOSGeometry *polygon, grown *out) {
    if (GEOSGeomTypeId_r(g, polygon) != GEOS_POLYGON || GEOSisEmpty_r(g, polygon)) return DT_LIBRARY;
    int holes = GEOSGetNumInteriorRings_r(g, polygon), points = GEOSGetNumCoordinates_r(g, polygon);
    if (holes < 0 || points < 4) return DT_LIBRARY;
    grown shape = {calloc((size_t)holes + 1, sizeof(dt_path)), (size_t)holes + 1, calloc((size_t)points, sizeof(dt_point))};
    dt_status status = shape.rings && shape.points ? DT_OK : DT_NO_MEMORY;
    dt_point *to = shape.points;
    for (int i = 0; status == DT_OK && i <= holes; i++) {
        if (ring_from_geos(g, polygon, i, to, &shape.rings[i])) to += shape.rings[i].count;
        else status = DT_LIBRARY;
    }
    if (status == DT_OK) *out = shape;
    else grown_free(&shape);
    return status;
}

dt_status grow_piece(const dt_piece *piece, double distance, grown *out) {
    GEOSContextHandle_t g = GEOS_init_r();
    if (!g) return DT_NO_MEMORY;
    GEOSContext_setNoticeHandler_r(g, say_nothing);
    GEOSContext_setErrorHandler_r(g, say_nothing);
    GEOSGeometry *polygon = NULL, *larger = NULL;
    dt_status status = piece_to_geos(g, piece, &polygon);
    if (status == DT_OK && distance > 0) larger = GEOSBuffer_r(g, polygon, distance, QUADRANT_CHORDS);
    if (status == DT_OK && distance > 0 && !larger) status = DT_LIBRARY;
    if (status == DT_OK) status = shape_from_geos(g, larger ? larger : polygon, out);
    if (polygon) GEOSGeom_destroy_r(g, polygon);
    if (larger) GEOSGeom_destroy_r(g, larger);
    GEOS_finish_r(g);
    return status;
}

void grown_free(grown *shape) {
    free(shape->rings);
    free(shape->points);
    *shape = (grown){NULL, 0, NULL};
}
