/* The finished outline: see outline.h. A side faces the outside with its piece on the left; where several border lines leave the same
 * junction (two pieces that touch in a point), the walk takes the one of its own region that keeps to the same bit of outside. */
#include "outline.h"

#include "assembly/line.h"
#include "assembly/map.h"
#include "assembly/vector.h"

typedef struct border {
    dt_path path;            /* in the piece's walking direction, both ends included unless closed */
    uint32_t from, to, region;
    uint32_t same_start;     /* the next border line from the same junction, or DT_NONE */
    uint32_t same_region;    /* the next one of the same region, or DT_NONE */
    bool closed, used;
} border;

typedef struct outline {
    dt_arena *arena;
    border *lines;
    size_t count;
    dt_map starts;           /* junction + 1 -> first border line that starts there */
    uint32_t *first;         /* by region: its first border line, or DT_NONE */
} outline;

static bool add_border(outline *o, uint32_t region, const dt_side *side, const dt_seam *seam) {
    border line = {.path = side->reversed ? dt_path_backwards(o->arena, seam->path) : seam->path,
                   .region = region,
                   .same_region = o->first[region],
                   .closed = seam->closed};
    line.from = side->reversed ? seam->to : seam->from;
    line.to = side->reversed ? seam->from : seam->to;
    line.same_start = DT_NONE;
    if (!line.path.points) return false;
    if (!line.closed) {
        uint32_t *first = dt_map_get(&o->starts, (uint64_t)line.from + 1);
        if (first) line.same_start = *first;
        if (!dt_map_put(&o->starts, (uint64_t)line.from + 1, (uint32_t)o->count)) return false;
    }
    o->first[region] = (uint32_t)o->count;
    o->lines[o->count++] = line;
    return true;
}

/* The borders of `regions` regions: one for each puzzle; or, where some pieces lie (by piece; NULL = none) and are no part of
 * what the borders surround, only one. */
static bool collect_borders(const dt_pieces *pieces, const bool *lies, size_t regions, outline *o) {
    o->lines = DT_TAKE(o->arena, dt_pieces_seam_count(pieces), border);
    o->first = DT_TAKE(o->arena, regions, uint32_t);
    if (!o->lines || !o->first) return false;
    for (size_t r = 0; r < regions; r++) o->first[r] = DT_NONE;
    for (uint32_t i = (uint32_t)dt_pieces_count(pieces); i-- > 0;) { /* so that the first come first */
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        for (size_t k = lies && lies[i] ? 0 : piece->side_count; k-- > 0;) {
            dt_piece_id across = dt_pieces_across(pieces, (dt_piece_id){i}, &piece->sides[k]);
            if (DT_IS_PIECE(across) && !(lies && lies[across.v])) continue;
            const dt_seam *seam = dt_pieces_seam(pieces, piece->sides[k].seam);
            if (!add_border(o, lies ? 0 : piece->puzzle, &piece->sides[k], seam)) return false;
        }
    }
    return true;
}

/* The outside lies to the right of a border line: the next one turns the most to the right. */
static uint32_t next_line(const outline *o, const border *line) {
    const uint32_t *first = dt_map_get(&o->starts, (uint64_t)line->to + 1);
    dt_point in = dt_point_sub(line->path.points[line->path.count - 1], line->path.points[line->path.count - 2]);
    uint32_t best = DT_NONE;
    double most = INFINITY;
    for (uint32_t i = first ? *first : DT_NONE; i != DT_NONE; i = o->lines[i].same_start) {
        dt_point out = dt_point_sub(o->lines[i].path.points[1], o->lines[i].path.points[0]);
        double turn = atan2(dt_point_cross(in, out), dt_point_dot(in, out));
        if (o->lines[i].used || o->lines[i].region != line->region || !(turn < most)) continue;
        most = turn;
        best = i;
    }
    return best;
}

static bool add_points(dt_point *points, size_t room, size_t *count, dt_path path, bool closed) {
    size_t n = closed ? path.count : path.count - 1; /* an open line's end is the next one's start */
    if (*count + n > room) return false;
    for (size_t i = 0; i < n; i++) points[(*count)++] = path.points[i];
    return true;
}

static bool walk_ring(outline *o, uint32_t start, dt_path *ring) {
    size_t room = 0, count = 0;
    for (uint32_t i = start; i != DT_NONE; i = o->lines[i].same_region)
        if (!o->lines[i].used) room += o->lines[i].path.count;
    dt_point *points = malloc(room * sizeof *points);
    bool whole = points != NULL;
    for (uint32_t i = start; whole;) {
        o->lines[i].used = true;
        whole = add_points(points, room, &count, o->lines[i].path, o->lines[i].closed);
        if (o->lines[i].closed || o->lines[i].to == o->lines[start].from) break;
        i = next_line(o, &o->lines[i]);
        whole = whole && i != DT_NONE;
    }
    dt_point *kept = whole ? DT_TAKE(o->arena, count, dt_point) : NULL;
    for (size_t i = 0; kept && i < count; i++) kept[i] = points[i];
    free(points);
    *ring = (dt_path){kept, count};
    return kept != NULL;
}

static bool walk_region(outline *o, uint32_t region, dt_region *out) {
    size_t count = 0;
    for (uint32_t i = o->first[region]; i != DT_NONE; i = o->lines[i].same_region) count++;
    dt_path *rings = DT_TAKE(o->arena, count, dt_path);
    if (!rings) return false;
    count = 0;
    for (uint32_t i = o->first[region]; i != DT_NONE; i = o->lines[i].same_region)
        if (!o->lines[i].used && !walk_ring(o, i, &rings[count++])) return false;
    for (size_t i = 1; i < count && dt_path_area(rings[0]) < 0.0; i++) { /* a void may have come first */
        dt_path first = rings[0];
        rings[0] = rings[i];
        rings[i] = first;
    }
    *out = (dt_region){rings, count};
    return count > 0;
}

bool dt_outline_regions(const dt_pieces *pieces, dt_arena *arena, dt_region **regions, size_t *count) {
    outline o = {.arena = arena};
    size_t puzzles = dt_pieces_puzzle_count(pieces);
    dt_region *made = DT_TAKE(arena, puzzles, dt_region);
    bool whole = made && collect_borders(pieces, NULL, puzzles, &o);
    for (uint32_t r = 0; whole && r < puzzles; r++) whole = walk_region(&o, r, &made[r]);
    dt_map_free(&o.starts);
    if (!whole) return false;
    *regions = made;
    *count = puzzles;
    return true;
}

bool dt_outline_rest(const dt_pieces *pieces, const bool *lies, dt_arena *arena, dt_region *region) {
    outline o = {.arena = arena};
    bool whole = collect_borders(pieces, lies, 1, &o) && walk_region(&o, 0, region);
    dt_map_free(&o.starts);
    return whole;
}
