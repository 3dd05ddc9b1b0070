/* Noding by GEOS, on coordinates rounded to the grid. The strokes of each cut are not known afterwards. */
#include "node.h"

#include <geos_c.h>

static GEOSGeometry *line_of(GEOSContextHandle_t geos, const dt_stroke *stroke) {
    size_t count = stroke->path.count + (stroke->closed ? 1 : 0);
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(geos, (unsigned)count, 2);
    if (!sequence) return NULL;
    for (size_t i = 0; i < count; i++) {
        dt_point p = dt_gp_mm(dt_gp_of(stroke->path.points[i % stroke->path.count]));
        GEOSCoordSeq_setXY_r(geos, sequence, (unsigned)i, p.x, p.y);
    }
    return GEOSGeom_createLineString_r(geos, sequence);
}

static bool take_line(GEOSContextHandle_t geos, const GEOSGeometry *line, dt_cuts *out) {
    const GEOSCoordSequence *sequence = GEOSGeom_getCoordSeq_r(geos, line);
    unsigned count = 0;
    GEOSCoordSeq_getSize_r(geos, sequence, &count);
    dt_gp before = {0, 0};
    for (unsigned i = 0; i < count; i++) {
        dt_point p;
        GEOSCoordSeq_getXY_r(geos, sequence, i, &p.x, &p.y);
        dt_gp now = dt_gp_of(p);
        if (i && !dt_array_push(out, ((dt_cut){before, now, DT_NO_INDEX}))) return false;
        before = now;
    }
    return true;
}

dt_status dt_node_strokes(dt_strokes strokes, dt_cuts *out) {
    dt_status status = DT_NO_MEMORY;
    GEOSContextHandle_t geos = GEOS_init_r();
    GEOSGeometry **lines = calloc(strokes.count + 1, sizeof *lines);
    GEOSGeometry *noded = NULL, *all = NULL;
    if (!geos || !lines) goto done;
    for (size_t i = 0; i < strokes.count; i++) lines[i] = line_of(geos, &strokes.strokes[i]);
    all = GEOSGeom_createCollection_r(geos, GEOS_MULTILINESTRING, lines, (unsigned)strokes.count);
    if (all) noded = GEOSNode_r(geos, all);
    if (!noded) goto done;
    status = DT_OK;
    int count = GEOSGetNumGeometries_r(geos, noded);
    for (int i = 0; i < count && status == DT_OK; i++)
        if (!take_line(geos, GEOSGetGeometryN_r(geos, noded, i), out)) status = DT_NO_MEMORY;
done:
    if (geos) {
        GEOSGeom_destroy_r(geos, noded);
        GEOSGeom_destroy_r(geos, all);
        GEOS_finish_r(geos);
    }
    free(lines);
    return status;
}
