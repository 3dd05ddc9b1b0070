/* geos_piece.h - pieces as GEOS (libgeos, a general-purpose reference library) sees them, for checks that share no code
 * with src/.
 */
#ifndef DOVETELL_TESTS_GEOS_PIECE_H
#define DOVETELL_TESTS_GEOS_PIECE_H

#include <dovetell/pieces.h>
#include <geos_c.h>

/* A context that keeps its notices to itself. The caller finishes it. */
GEOSContextHandle_t geos_quiet(void);
/* A closed path as a ring, a piece as a polygon with its holes, mm. The caller destroys them. */
GEOSGeometry *geos_ring(GEOSContextHandle_t geos, dt_path path);
GEOSGeometry *geos_piece(GEOSContextHandle_t geos, const dt_piece *piece);

#endif
