/* An independent check of a witness: it shares nothing with the search, all geometry is done by GEOS.
 *
 * The pieces that moved leave VACATED room, the union of their drawn places; the rest stays where it was drawn. So it is enough
 * that the moved pieces, each made narrower by half the play, stay inside the vacated room made wider by half the play, do not
 * overlap each other, and, made wider by the play, cover it: an outline may be off by the play either way. A puzzle merely turned as a whole is told by trying every
 * motion that carries one of its pieces to where it lies now. */
#include <dovetell/assembly.h>

#include "base/arena.h"

#include <geos_c.h>
#include <math.h>

/* Flattening (0.01 mm) of both borders that meet: the play of a kerf of 0 is not below this. */
static const double SLACK_MM = 0.02;
/* Crumbs that buffering leaves behind, mm^2: a thousandth of the smallest part that a laser can cut. */
static const double CRUMB_MM2 = 1e-4;
/* How exactly c^2 + s^2 = 1 must hold: at 10 m from the origin the error stays below a micrometre. */
static const double RIGID = 1e-7;
enum { QUADRANT_STEPS = 8 };
static const size_t MEMORY_LIMIT = (size_t)1 << 30;

typedef struct check {
    GEOSContextHandle_t geos;
    dt_arena arena;
    const dt_pieces *pieces;
    const dt_settings *settings;
    size_t count;
    dt_pose *poses;          /* per piece; the identity where it did not move */
    bool *moved;
    GEOSGeometry **landed;   /* per moved piece: where it lies now */
    GEOSGeometry **narrow;   /* the same, less half the play */
    GEOSGeometry *vacated;
    double half_play;
} check;

static void quiet(const char *message, void *context) {
    (void)message;
    (void)context;
}

static dt_piece_id id_of(size_t index) {
    return (dt_piece_id){(uint32_t)index};
}

static GEOSGeometry *ring_of(check *c, dt_path path, dt_pose pose) {
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(c->geos, (unsigned)path.count + 1, 2);
    if (!points) return NULL;
    for (size_t i = 0; i <= path.count; i++) {
        dt_point p = dt_pose_apply(pose, path.points[i % path.count]);
        GEOSCoordSeq_setXY_r(c->geos, points, (unsigned)i, p.x, p.y);
    }
    return GEOSGeom_createLinearRing_r(c->geos, points);
}

static GEOSGeometry *polygon_of(check *c, size_t index, dt_pose pose) {
    const dt_piece *piece = dt_pieces_get(c->pieces, id_of(index));
    GEOSGeometry **holes = DT_TAKE(&c->arena, piece->hole_count, GEOSGeometry *);
    GEOSGeometry *shell = holes ? ring_of(c, piece->outline, pose) : NULL;
    if (!shell) return NULL;
    for (size_t h = 0; h < piece->hole_count; h++) holes[h] = ring_of(c, piece->holes[h], pose);
    GEOSGeometry *polygon = GEOSGeom_createPolygon_r(c->geos, shell, holes, (unsigned)piece->hole_count);
    GEOSGeometry *valid = polygon && GEOSisValid_r(c->geos, polygon) != 1 ? GEOSMakeValid_r(c->geos, polygon) : NULL;
    if (!valid) return polygon;
    GEOSGeom_destroy_r(c->geos, polygon);
    return valid;
}

/* The union of clones of the geometries, each widened by `margin`; skips those that are not there. */
static GEOSGeometry *union_of(check *c, GEOSGeometry *const *parts, double margin) {
    GEOSGeometry **copies = DT_TAKE(&c->arena, c->count, GEOSGeometry *);
    unsigned used = 0;
    for (size_t i = 0; copies && i < c->count; i++)
        if (parts[i]) copies[used++] = GEOSBuffer_r(c->geos, parts[i], margin, QUADRANT_STEPS);
    GEOSGeometry *all = copies ? GEOSGeom_createCollection_r(c->geos, GEOS_GEOMETRYCOLLECTION, copies, used) : NULL;
    GEOSGeometry *joined = all ? GEOSUnaryUnion_r(c->geos, all) : NULL;
    GEOSGeom_destroy_r(c->geos, all);
    return joined;
}

/* Is more than crumbs left of `geometry`? Takes it over; a failed operation (NULL) counts as too much. */
static bool is_real(check *c, GEOSGeometry *geometry) {
    double area = INFINITY;
    if (geometry && GEOSArea_r(c->geos, geometry, &area) != 1) area = INFINITY;
    GEOSGeom_destroy_r(c->geos, geometry);
    return area > CRUMB_MM2;
}

static const char *read_moves(check *c, const dt_move *moves, size_t count) {
    for (size_t i = 0; i < c->count; i++) c->poses[i] = DT_POSE_IDENTITY;
    for (size_t i = 0; i < count; i++) {
        size_t piece = moves[i].piece.v;
        dt_pose pose = moves[i].pose;
        if (piece >= c->count) return "a move names a piece that the drawing does not have";
        if (c->moved[piece]) return "a piece is moved twice";
        if (pose.flipped && !c->settings->two_sided) return "a piece is turned over, though the pieces have a face";
        if (!(fabs(pose.c * pose.c + pose.s * pose.s - 1.0) < RIGID)) return "a move stretches its piece";
        if (!isfinite(pose.shift.x) || !isfinite(pose.shift.y)) return "a move goes nowhere";
        c->poses[piece] = pose;
        c->moved[piece] = true;
    }
    return count ? NULL : "no piece moved";
}

static const char *lay_pieces(check *c) {
    GEOSGeometry **drawn = DT_TAKE(&c->arena, c->count, GEOSGeometry *);
    if (!drawn) return dt_assembly_unverified;
    bool whole = true;
    for (size_t i = 0; i < c->count; i++) {
        if (!c->moved[i]) continue;
        drawn[i] = polygon_of(c, i, DT_POSE_IDENTITY);
        c->landed[i] = polygon_of(c, i, c->poses[i]);
        c->narrow[i] = c->landed[i] ? GEOSBuffer_r(c->geos, c->landed[i], -c->half_play, QUADRANT_STEPS) : NULL;
        whole = whole && drawn[i] && c->narrow[i];
    }
    if (whole) c->vacated = union_of(c, drawn, 0.0);
    for (size_t i = 0; i < c->count; i++) GEOSGeom_destroy_r(c->geos, drawn[i]);
    return whole && c->vacated ? NULL : "the geometry library cannot lay the pieces";
}

static const char *check_room(check *c) {
    GEOSGeometry *room = GEOSBuffer_r(c->geos, c->vacated, c->half_play, QUADRANT_STEPS);
    const char *fault = room ? NULL : "the geometry library cannot lay the pieces";
    for (size_t i = 0; i < c->count && !fault; i++)
        if (c->narrow[i] && is_real(c, GEOSDifference_r(c->geos, c->narrow[i], room)))
            fault = "a moved piece overlaps a piece that stayed, or the outside";
    GEOSGeom_destroy_r(c->geos, room);
    return fault;
}

typedef struct overlap_search {
    check *c;
    size_t index;
    bool found;
} overlap_search;

static void compare_with(void *item, void *context) {
    overlap_search *search = context;
    check *c = search->c;
    size_t other = (size_t)((GEOSGeometry **)item - c->narrow);
    if (other <= search->index || search->found) return;
    search->found = is_real(c, GEOSIntersection_r(c->geos, c->narrow[search->index], c->narrow[other]));
}

static const char *check_overlaps(check *c) {
    GEOSSTRtree *tree = GEOSSTRtree_create_r(c->geos, 8);
    if (!tree) return "the geometry library cannot lay the pieces";
    for (size_t i = 0; i < c->count; i++)
        if (c->narrow[i]) GEOSSTRtree_insert_r(c->geos, tree, c->narrow[i], &c->narrow[i]);
    overlap_search search = {c, 0, false};
    for (; search.index < c->count && !search.found; search.index++)
        if (c->narrow[search.index])
            GEOSSTRtree_query_r(c->geos, tree, c->narrow[search.index], compare_with, &search);
    GEOSSTRtree_destroy_r(c->geos, tree);
    return search.found ? "two moved pieces overlap" : NULL;
}

static const char *check_cover(check *c) {
    GEOSGeometry *cover = union_of(c, c->landed, 2.0 * c->half_play);
    GEOSGeometry *bare = cover ? GEOSDifference_r(c->geos, c->vacated, cover) : NULL;
    GEOSGeom_destroy_r(c->geos, cover);
    return is_real(c, bare) ? "a part of the puzzle is left bare" : NULL;
}

/* Where the centres lie apart the outlines do, too. */
static bool centre_goes_with(check *c, size_t index, dt_pose whole) {
    dt_point centre = dt_path_centroid(dt_pieces_get(c->pieces, id_of(index))->outline);
    return dt_point_distance(dt_pose_apply(whole, centre), dt_pose_apply(c->poses[index], centre)) <= 2.0 * c->half_play;
}

/* Does piece `index`, where it lies now, cover the same ground as it would if the whole were moved by `whole`? */
static bool goes_with(check *c, size_t index, dt_pose whole) {
    double play = 2.0 * c->half_play;
    GEOSGeometry *here = polygon_of(c, index, c->poses[index]), *there = polygon_of(c, index, whole);
    double distance = INFINITY;
    if (here && there && GEOSHausdorffDistance_r(c->geos, here, there, &distance) != 1) distance = INFINITY;
    GEOSGeom_destroy_r(c->geos, here);
    GEOSGeom_destroy_r(c->geos, there);
    return distance <= play;
}

static bool all_go_with(check *c, uint32_t puzzle, dt_pose whole) {
    typedef bool question(check *, size_t, dt_pose);
    question *const questions[] = {centre_goes_with, goes_with}; /* the cheap one of all pieces first */
    for (int q = 0; q < 2; q++)
        for (size_t i = 0; i < c->count; i++)
            if (dt_pieces_get(c->pieces, id_of(i))->puzzle == puzzle && !questions[q](c, i, whole)) return false;
    return true;
}

/* The piece that is least like a disc: it has the fewest symmetries that would have to be tried. */
static size_t least_round(check *c, uint32_t puzzle) {
    size_t best = SIZE_MAX;
    double least = INFINITY;
    for (size_t i = 0; i < c->count; i++) {
        const dt_piece *piece = dt_pieces_get(c->pieces, id_of(i));
        double round = piece->area_mm2 / (piece->perimeter_mm * piece->perimeter_mm);
        if (piece->puzzle != puzzle || !(round < least)) continue;
        least = round;
        best = i;
    }
    return best;
}

/* The motion about `centre` that carries point a to the direction of b, turned over or not. */
static dt_pose symmetry_of(dt_point centre, dt_point a, dt_point b, bool flipped) {
    dt_point u = dt_point_sub(a, centre), v = dt_point_sub(b, centre);
    if (flipped) u.x = -u.x;
    double turn = atan2(v.y, v.x) - atan2(u.y, u.x);
    dt_pose pose = {cos(turn), sin(turn), {0.0, 0.0}, flipped};
    pose.shift = dt_point_sub(centre, dt_pose_apply(pose, centre));
    return pose;
}

static bool is_puzzle_turned(check *c, uint32_t puzzle) {
    size_t key = least_round(c, puzzle);
    if (key == SIZE_MAX) return true;
    dt_path outline = dt_pieces_get(c->pieces, id_of(key))->outline;
    dt_point centre = dt_path_centroid(outline), first = outline.points[0];
    for (size_t i = 0; i < outline.count; i++)
        for (int flip = 0; flip <= (c->settings->two_sided ? 1 : 0); flip++) {
            double difference = dt_point_distance(centre, outline.points[i]) - dt_point_distance(centre, first);
            if (fabs(difference) > 2.0 * c->half_play) continue;
            dt_pose whole = dt_pose_compose(c->poses[key], symmetry_of(centre, first, outline.points[i], flip));
            if (all_go_with(c, puzzle, whole)) return true;
        }
    return false;
}

const char dt_assembly_turned[] = "it is the same assembly, only turned as a whole";

/* A puzzle of which no piece moved is as it was: it is not looked at, since there may be thousands. */
static const char *check_turned(check *c) {
    size_t puzzles = dt_pieces_puzzle_count(c->pieces);
    bool *moved = DT_TAKE(&c->arena, puzzles, bool);
    if (!moved) return dt_assembly_unverified;
    for (size_t r = 0; r < puzzles; r++) moved[r] = false;
    for (size_t i = 0; i < c->count; i++)
        if (c->moved[i]) moved[dt_pieces_get(c->pieces, id_of(i))->puzzle] = true;
    for (size_t r = 0; r < puzzles; r++)
        if (moved[r] && !is_puzzle_turned(c, (uint32_t)r)) return NULL;
    return dt_assembly_turned;
}

static const char *run(check *c, const dt_move *moves, size_t count) {
    const char *fault = read_moves(c, moves, count);
    if (!fault) fault = lay_pieces(c);
    if (!fault) fault = check_room(c);
    if (!fault) fault = check_overlaps(c);
    if (!fault) fault = check_cover(c);
    return fault ? fault : check_turned(c);
}

static void release(check *c) {
    for (size_t i = 0; c->landed && c->narrow && i < c->count; i++) {
        GEOSGeom_destroy_r(c->geos, c->landed[i]);
        GEOSGeom_destroy_r(c->geos, c->narrow[i]);
    }
    GEOSGeom_destroy_r(c->geos, c->vacated);
    GEOS_finish_r(c->geos);
    dt_arena_free(&c->arena);
}

const char dt_assembly_unverified[] = "no memory left for the check";

const char *dt_assembly_verify(const dt_pieces *pieces, const dt_settings *settings, const dt_move *moves, size_t count) {
    check c = {.geos = GEOS_init_r(), .arena = DT_ARENA(MEMORY_LIMIT), .pieces = pieces, .settings = settings};
    if (!c.geos) return "the geometry library cannot be started";
    GEOSContext_setErrorMessageHandler_r(c.geos, quiet, NULL);
    GEOSContext_setNoticeMessageHandler_r(c.geos, quiet, NULL);
    c.count = dt_pieces_count(pieces);
    c.half_play = settings->kerf_mm / 2.0 + SLACK_MM;
    c.poses = DT_TAKE(&c.arena, c.count, dt_pose);
    c.moved = DT_TAKE(&c.arena, c.count, bool);
    c.landed = DT_TAKE(&c.arena, c.count, GEOSGeometry *);
    c.narrow = DT_TAKE(&c.arena, c.count, GEOSGeometry *);
    bool ready = c.poses && c.moved && c.landed && c.narrow;
    const char *fault = ready ? run(&c, moves, count) : dt_assembly_unverified;
    release(&c);
    return fault;
}
