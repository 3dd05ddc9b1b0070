/* dt_pieces_check: the invariants of pieces.h, one after another, without any code shared with the steps that establish them. */
#include "stage.h"

#include <math.h>

/* Sums of n lengths of up to a metre in double: 1e-9 relative leaves room for millions of them. */
#define SUM_TOLERANCE 1e-9

static bool nearly(double a, double b) {
    return fabs(a - b) <= SUM_TOLERANCE * (1.0 + fabs(a) + fabs(b));
}

static bool same_point(dt_point a, dt_point b) {
    return a.x == b.x && a.y == b.y;
}

static dt_path ring_path(const dt_piece *piece, uint32_t ring) {
    return ring == 0 ? piece->outline : piece->holes[ring - 1];
}

static const char *check_side(const dt_pieces *pieces, uint32_t id, const dt_side *side) {
    if (side->seam.v >= pieces->seams.count) return "a side names a seam that is not there";
    if (side->ring > pieces->pieces[id].hole_count) return "a side names a ring that is not there";
    const dt_seam *seam = &pieces->seams.items[side->seam.v];
    if ((side->reversed ? seam->b.v : seam->a.v) != id) return "a side is not one of its seam's two";
    dt_path ring = ring_path(&pieces->pieces[id], side->ring);
    if (seam->path.count != side->count) return "a side has not as many points as its seam";
    if (seam->closed && (side->count != ring.count || side->start != 0)) return "a closed seam is not the whole of its ring";
    for (size_t i = 0; i < side->count; i++) {
        size_t k = !side->reversed ? i : seam->closed ? (side->count - i) % side->count : side->count - 1 - i;
        if (!same_point(ring.points[(side->start + i) % ring.count], seam->path.points[k]))
            return "a side does not follow its seam";
    }
    return NULL;
}

static const char *check_sides(const dt_pieces *pieces, uint32_t id) {
    const dt_piece *piece = &pieces->pieces[id];
    uint32_t ring = 0;
    size_t at = 0;
    for (size_t i = 0; i < piece->side_count; i++) {
        const dt_side *side = &piece->sides[i];
        const char *wrong = check_side(pieces, id, side);
        if (wrong) return wrong;
        if (side->ring != ring || side->start != at) return "the sides of a piece are not in walking order";
        at += pieces->seams.items[side->seam.v].closed ? side->count : side->count - 1;
        if (at < ring_path(piece, ring).count) continue;
        if (at > ring_path(piece, ring).count) return "the sides of a ring overlap";
        ring++;
        at = 0;
    }
    return ring == piece->hole_count + 1 ? NULL : "the sides of a piece leave some of its rings out";
}

static const char *check_seams(const dt_pieces *pieces) {
    size_t sides = 0, expected = 0;
    for (size_t p = 0; p < pieces->piece_count; p++) sides += pieces->pieces[p].side_count;
    for (size_t i = 0; i < pieces->seams.count; i++) {
        const dt_seam *seam = &pieces->seams.items[i];
        if (seam->a.v >= pieces->piece_count) return "a seam's first side is no piece";
        if (DT_IS_PIECE(seam->b) && seam->b.v >= pieces->piece_count) return "a seam's second side is no piece";
        if (seam->a.v >= seam->b.v) return "a seam's sides are out of order";
        if (!(seam->length > 0)) return "a seam has no length";
        expected += DT_IS_PIECE(seam->b) ? 2 : 1;
    }
    return sides == expected ? NULL : "a seam is a side of a piece more than once, or never";
}

static const char *check_piece(const dt_pieces *pieces, uint32_t id) {
    const dt_piece *piece = &pieces->pieces[id];
    double area = dt_path_area(piece->outline);
    if (!(area > 0)) return "an outline has no positive area";
    for (size_t h = 0; h < piece->hole_count; h++) {
        double hole = dt_path_area(piece->holes[h]);
        if (!(hole < 0)) return "a hole has no negative area";
        area += hole;
        if (dt_path_contains(piece->holes[h], piece->inside)) return "the inside point of a piece lies in a hole";
    }
    if (!nearly(area, piece->area_mm2)) return "the area of a piece is not that of its rings";
    if (!dt_path_contains(piece->outline, piece->inside)) return "the inside point of a piece lies outside";
    if (piece->corner && !piece->edge) return "a corner piece is no edge piece";
    if (piece->puzzle >= pieces->puzzle_count) return "a piece belongs to no puzzle";
    if (piece->width_mm > piece->length_mm) return "a piece is wider than long";
    if (2 * piece->inradius_mm > piece->width_mm * (1 + SUM_TOLERANCE)) return "a circle within a piece is wider than the piece";
    return check_sides(pieces, id);
}

static const char *check_sums(const dt_pieces *pieces) {
    double area = 0.0, perimeter = 0.0;
    for (size_t p = 0; p < pieces->piece_count; p++) {
        area += pieces->pieces[p].area_mm2;
        perimeter += pieces->pieces[p].perimeter_mm;
    }
    for (size_t v = 0; v < pieces->void_count; v++) area += pieces->voids[v].area_mm2;
    if (!nearly(area, pieces->net_area)) return "the areas of pieces and voids do not add up to the net's";
    if (!nearly(perimeter, pieces->net_border + 2 * pieces->net_inner))
        return "the perimeters do not add up to the border and twice the inner cuts";
    return NULL;
}

const char *dt_pieces_check(const dt_pieces *pieces) {
    for (size_t p = 0; p < pieces->piece_count; p++) {
        const char *wrong = check_piece(pieces, (uint32_t)p);
        if (wrong) return wrong;
    }
    const char *wrong = check_seams(pieces);
    return wrong ? wrong : check_sums(pieces);
}
