/* The board: see board.h. */
#include "board.h"

#include "assembly/vector.h"
#include <string.h>

static const double PI = 3.14159265358979323846;
enum { MOST_MESH_CELLS = 1 << 22, MESH_PER_PIECE = 256, MOST_PROBES = 400 };
/* Probes along a line, mm: near enough that no overlap of the size of a knob slips between two of them. */
static const double PROBE_MM = 1.5;
/* Corners nearer than this are one spot, mm. Corners that noise has moved farther apart make spots of their own; each sees the others. */
static const double SPOT_MM = 0.002, SPOT_CELL_MM = 0.02;
/* Lines that run along each other but lie farther apart than this were not drawn as one, mm. */
static const double ROUGH_MM = 0.005;

dt_laid dt_board_laid(const dt_board *board, uint32_t placement) {
    return (dt_laid){dt_board_body(board, placement), board->placements.items[placement].pose};
}

/* ---- probes ---- */

/* A ring has this many probes, at arc positions (i + 1/2) / count of its length. */
static uint32_t ring_probes(const dt_body *body, uint32_t ring) {
    double step = fmax(PROBE_MM, body->perimeter / MOST_PROBES);
    return (uint32_t)fmax(4.0, floor(body->ring_length[ring] / step));
}

static bool probe_body(dt_board *board, uint32_t slot, const dt_body *body) {
    double step = fmax(PROBE_MM, body->perimeter / MOST_PROBES);
    size_t most = (size_t)(body->perimeter / step) + body->ring_count * 4 + 4;
    dt_point *points = malloc(most * sizeof *points), *normals = malloc(most * sizeof *normals);
    board->probes[slot] = points;
    board->probe_normals[slot] = normals;
    if (!points || !normals) return false;
    uint32_t used = 0;
    for (uint32_t r = 0; r < body->ring_count; r++) {
        uint32_t count = ring_probes(body, r);
        for (uint32_t i = 0; i < count; i++) {
            double s = body->ring_length[r] * (i + 0.5) / count;
            dt_point before = dt_body_at(body, r, s - 0.1), after = dt_body_at(body, r, s + 0.1);
            dt_point along = dt_point_sub(after, before);
            double length = hypot(along.x, along.y);
            points[used] = dt_body_at(body, r, s);
            normals[used++] = length > 0.0 ? (dt_point){-along.y / length, along.x / length} : (dt_point){0.0, 0.0};
        }
    }
    board->probe_count[slot] = used;
    return true;
}

static uint32_t probe_slot(const dt_board *board, uint32_t placement) {
    uint32_t body = board->placements.items[placement].body;
    return body == DT_NONE ? board->problem->body_count : body;
}

static bool make_probes(dt_board *board) {
    size_t slots = board->problem->body_count + 1;
    board->probes = calloc(slots, sizeof *board->probes);
    board->probe_normals = calloc(slots, sizeof *board->probe_normals);
    board->probe_count = calloc(slots, sizeof *board->probe_count);
    if (!board->probes || !board->probe_normals || !board->probe_count) return false;
    for (uint32_t b = 0; b < board->problem->body_count; b++)
        if (!probe_body(board, b, &board->problem->bodies[b])) return false;
    return true; /* the container is only ever probed from the pieces' side */
}

/* ---- the mesh ---- */

static dt_point mesh_point(const dt_board *board, uint32_t column, uint32_t row) {
    return (dt_point){board->mesh_low.x + (column + 0.5) * board->mesh_step, board->mesh_low.y + (row + 0.5) * board->mesh_step};
}

static bool make_mesh(dt_board *board) {
    const dt_problem *p = board->problem;
    dt_box box = p->container.box;
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    double step = sqrt(p->area / p->tile_count / MESH_PER_PIECE);
    step = fmax(step, sqrt(width * height / MOST_MESH_CELLS));
    board->mesh_step = step;
    board->mesh_low = box.low;
    board->mesh_columns = (uint32_t)ceil(width / step) + 1;
    board->mesh_rows = (uint32_t)ceil(height / step) + 1;
    board->mesh_words = (board->mesh_columns * board->mesh_rows + 63) / 64;
    board->taken = calloc(board->mesh_words, sizeof *board->taken);
    if (!board->taken) return false;
    for (uint32_t r = 0; r < board->mesh_rows; r++)
        for (uint32_t c = 0; c < board->mesh_columns; c++) {
            uint32_t cell = r * board->mesh_columns + c;
            if (dt_body_holds(&p->container, mesh_point(board, c, r), p->loose))
                board->taken[cell / 64] |= (uint64_t)1 << (cell % 64);
        }
    return true;
}

static uint32_t mesh_index(double position, uint32_t count) {
    if (!(position > 0.0)) return 0;
    return position >= count ? count - 1 : (uint32_t)position;
}

uint32_t dt_board_cell(const dt_board *board, dt_point p) {
    double x = (p.x - board->mesh_low.x) / board->mesh_step, y = (p.y - board->mesh_low.y) / board->mesh_step;
    if (!(x >= 0.0 && y >= 0.0 && x < board->mesh_columns && y < board->mesh_rows)) return DT_NONE;
    return (uint32_t)y * board->mesh_columns + (uint32_t)x;
}

static bool add_cell(dt_board *board, dt_placement *placement, uint32_t cell) {
    size_t last = board->cells.count;
    if (placement->cells_count > 0 && board->cells.items[last - 1].word == cell / 64) {
        board->cells.items[last - 1].mask |= (uint64_t)1 << (cell % 64);
        return true;
    }
    placement->cells_count++;
    return dt_array_push(&board->cells, ((dt_cells){cell / 64, (uint64_t)1 << (cell % 64)}));
}

/* The cells well inside; *leaves is set where one of them is the container's. */
static bool cover_mesh(dt_board *board, dt_placement *placement, dt_laid laid, bool *leaves) {
    dt_box box = placement->box;
    double step = board->mesh_step, loose = board->problem->loose + placement->slack;
    uint32_t c0 = mesh_index((box.low.x - board->mesh_low.x) / step, board->mesh_columns);
    uint32_t c1 = mesh_index((box.high.x - board->mesh_low.x) / step, board->mesh_columns);
    uint32_t r0 = mesh_index((box.low.y - board->mesh_low.y) / step, board->mesh_rows);
    uint32_t r1 = mesh_index((box.high.y - board->mesh_low.y) / step, board->mesh_rows);
    dt_pose back = dt_pose_inverse(laid.pose);
    placement->first_cells = (uint32_t)board->cells.count;
    for (uint32_t r = r0; r <= r1; r++)
        for (uint32_t c = c0; c <= c1; c++) {
            if (!dt_body_holds(laid.body, carry(back, mesh_point(board, c, r)), loose)) continue;
            uint32_t cell = r * board->mesh_columns + c;
            *leaves = *leaves || (board->taken[cell / 64] >> (cell % 64) & 1);
            if (!add_cell(board, placement, cell)) return false;
        }
    return true;
}

/* ---- placements ---- */

static const double CENTRE_CELL_MM = 0.05;

bool dt_board_covers_same(const dt_board *board, uint32_t body, dt_pose p, dt_pose q, double same_mm) {
    const dt_turns *turns = &board->problem->turns[body];
    double radius = board->problem->bodies[body].radius;
    if (turns->any) return true; /* the centres have been compared */
    for (size_t i = 0; i < turns->count; i++) {
        dt_pose t = dt_pose_compose(p, turns->poses[i]);
        if (hypot(t.c - q.c, t.s - q.s) * radius <= same_mm) return true;
    }
    return false;
}

uint32_t dt_board_find(const dt_board *board, uint32_t body, dt_pose pose, double same_mm) {
    dt_point centre = carry(pose, board->problem->bodies[body].centre);
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            if (!dt_cell_reaches(centre.x, CENTRE_CELL_MM, same_mm, dx) || !dt_cell_reaches(centre.y, CENTRE_CELL_MM, same_mm, dy)) continue;
            uint32_t *head = dt_map_get(&board->by_centre, dt_cell_key(centre.x, centre.y, CENTRE_CELL_MM, dx, dy));
            for (uint32_t i = head ? *head : DT_NONE; i != DT_NONE; i = board->placements.items[i].chain) {
                const dt_placement *old = &board->placements.items[i];
                if (old->body != body || dt_point_distance(old->centre, centre) > same_mm) continue;
                if (dt_board_covers_same(board, body, pose, old->pose, same_mm)) return i;
            }
        }
    return DT_NONE;
}

static bool add_to_chain(dt_map *map, uint64_t key, uint32_t index, uint32_t *chain) {
    uint32_t *head = dt_map_get(map, key);
    *chain = head ? *head : DT_NONE;
    return dt_map_put(map, key, index);
}

/* What two lines drawn 0.01 mm off at either end turn a piece by, times the length of the line, mm; overlaps that are none yet have room for
 * some of it. */
static const double LINE_ERRORS_MM = 0.04, IN_LOOSE_MM = 0.1;
/* Beyond this nothing is known of a pose. */
static const double MOST_SLACK_MM = 1.5;

double dt_board_slack(const dt_body *body, double span) {
    double slack = LINE_ERRORS_MM * 2.0 * body->radius / fmax(span, 1e-3) - IN_LOOSE_MM;
    return fmin(fmax(slack, 0.0), MOST_SLACK_MM);
}

static bool leaves_outline(const dt_board *board, uint32_t body, dt_stand stand) {
    double loose = board->problem->loose + stand.slack;
    dt_pose pose = stand.pose;
    for (uint32_t i = 0; i < board->probe_count[body]; i++)
        if (dt_body_holds(&board->problem->container, carry(pose, board->probes[body][i]), loose)) return true;
    return false;
}

static bool add_corner_spots(dt_board *board, dt_placement *placement, const dt_body *body) {
    placement->first_spot = (uint32_t)board->corner_spots.count;
    for (uint32_t k = 0; k < body->break_count; k++) {
        uint32_t spot = DT_NONE;
        dt_point at = carry(placement->pose, body->breaks[k].at);
        if (body->breaks[k].corner && !dt_board_spot(board, at, &spot)) return false;
        if (!dt_array_push(&board->corner_spots, spot)) return false;
    }
    return true;
}

static dt_box laid_box(const dt_body *body, dt_pose pose) {
    dt_box box = DT_BOX_EMPTY;
    for (uint32_t i = 0; i < body->point_count; i++) {
        dt_point p = carry(pose, body->points[i]);
        box = dt_box_join(box, (dt_box){p, p});
    }
    return box;
}

/* Looks at a pose: does it leave the outline? Else its cells are noted. */
static bool look_at(dt_board *board, dt_placement *placement, const dt_body *body, dt_stand stand) {
    size_t cells = board->cells.count;
    board->looked++;
    placement->refused = leaves_outline(board, placement->body, stand);
    if (!placement->refused && !cover_mesh(board, placement, (dt_laid){body, stand.pose}, &placement->refused)) return false;
    if (!placement->refused) return true;
    board->cells.count = cells;
    placement->cells_count = 0;
    return true;
}

static bool add_placement(dt_board *board, uint32_t body_index, dt_stand stand, uint32_t *out) {
    const dt_body *body = &board->problem->bodies[body_index];
    dt_pose pose = stand.pose;
    dt_placement placement = {.body = body_index, .pose = pose, .slack = stand.slack, .rank = DT_NONE};
    placement.centre = carry(pose, body->centre);
    placement.box = laid_box(body, pose);
    if (!look_at(board, &placement, body, stand)) return false;
    *out = placement.refused ? DT_NONE : (uint32_t)board->placements.count;
    if (placement.refused && !board->keeps_refused) return true;
    if (!placement.refused && !add_corner_spots(board, &placement, body)) return false;
    uint64_t key = dt_cell_key(placement.centre.x, placement.centre.y, CENTRE_CELL_MM, 0, 0);
    if (!add_to_chain(&board->by_centre, key, (uint32_t)board->placements.count, &placement.chain)) return false;
    return dt_array_push(&board->placements, placement);
}

bool dt_board_place(dt_board *board, uint32_t body, dt_stand stand, uint32_t *out) {
    uint32_t old = dt_board_find(board, body, stand.pose, DT_SAME_MM);
    bool refused = old != DT_NONE && board->placements.items[old].refused;
    *out = refused ? DT_NONE : old;
    if (old != DT_NONE && (!refused || stand.slack <= board->placements.items[old].slack)) return true;
    return add_placement(board, body, stand, out);
}

/* ---- pairs ---- */

static dt_probe probe_of(const dt_board *board, uint32_t slot, uint32_t k) {
    return (dt_probe){board->probes[slot][k], board->probe_normals[slot][k]};
}

/* How deep does each probe of a body lie in another? most: how deep it may. */
static void walk_bodies(const dt_board *board, dt_laid self, uint32_t slot, dt_laid other, dt_box room, double most, dt_pair *facts) {
    double loose = board->problem->loose;
    for (uint32_t k = 0; k < board->probe_count[slot] && !facts->clash; k++) {
        dt_point p = carry(self.pose, board->probes[slot][k]);
        if (!(p.x >= room.low.x && p.y >= room.low.y && p.x <= room.high.x && p.y <= room.high.y)) continue;
        dt_depth hit = dt_laid_depth(other, p);
        facts->clash = hit.depth > most;
        facts->tight = facts->tight || hit.depth > loose;
        if (fabs(hit.depth) > most || fabs(hit.depth) <= ROUGH_MM) continue;
        if (!facts->rough) facts->rough = dt_runs_along(self, probe_of(board, slot, k), other.body, &hit, loose);
    }
}

static void walk_pair(const dt_board *board, uint32_t a, uint32_t b, dt_pair *facts) {
    double most = board->problem->loose + board->placements.items[a].slack + board->placements.items[b].slack;
    dt_box room = dt_box_grown(board->placements.items[b == DT_CONTAINER ? a : b].box, 2.0 * most);
    walk_bodies(board, dt_board_laid(board, a), probe_slot(board, a), dt_board_laid(board, b), room, most, facts);
}

dt_pair dt_board_bodies(const dt_board *board, dt_laid a, uint32_t slot_a, dt_laid b, uint32_t slot_b, double slack) {
    static const dt_box EVERYWHERE = {{-INFINITY, -INFINITY}, {INFINITY, INFINITY}};
    dt_pair facts = {false, false, false};
    double most = board->problem->loose + slack;
    walk_bodies(board, a, slot_a, b, EVERYWHERE, most, &facts); /* the container has no probes */
    if (!facts.clash) walk_bodies(board, b, slot_b, a, EVERYWHERE, most, &facts);
    return facts;
}

static bool share_cells(const dt_board *board, const dt_placement *a, const dt_placement *b) {
    const dt_cells *x = board->cells.items + a->first_cells, *y = board->cells.items + b->first_cells;
    for (uint32_t i = 0, j = 0; i < a->cells_count && j < b->cells_count;) {
        if (x[i].word == y[j].word && (x[i].mask & y[j].mask)) return true;
        if (x[i].word < y[j].word) i++;
        else j++;
    }
    return false;
}

static dt_pair pair_of(const dt_board *board, uint32_t a, uint32_t b) {
    dt_pair facts = {false, false, false};
    const dt_placement *pa = &board->placements.items[a], *pb = &board->placements.items[b];
    if (a != DT_CONTAINER && b != DT_CONTAINER) {
        if (!dt_box_meets(pa->box, dt_box_grown(pb->box, board->problem->loose))) return facts;
        facts.clash = share_cells(board, pa, pb);
    }
    if (!facts.clash && a != DT_CONTAINER) walk_pair(board, a, b, &facts);
    if (!facts.clash && b != DT_CONTAINER) walk_pair(board, b, a, &facts);
    return facts;
}

static uint64_t pair_key(uint32_t a, uint32_t b) {
    return a < b ? (uint64_t)b << 32 | a : (uint64_t)a << 32 | b;
}

bool dt_board_note_pair(dt_board *board, uint32_t a, uint32_t b, dt_pair facts) {
    uint32_t value = (uint32_t)facts.clash | (uint32_t)facts.tight << 1 | (uint32_t)facts.rough << 2;
    return dt_map_put(&board->pairs, pair_key(a, b), value);
}

bool dt_board_pair(dt_board *board, uint32_t a, uint32_t b, dt_pair *out) {
    uint64_t key = pair_key(a, b);
    uint32_t *known = dt_map_get(&board->pairs, key);
    if (!known) {
        if (!dt_board_note_pair(board, a, b, pair_of(board, a < b ? a : b, a < b ? b : a))) return false;
        known = dt_map_get(&board->pairs, key);
    }
    *out = (dt_pair){*known & 1, *known >> 1 & 1, *known >> 2 & 1};
    return true;
}

/* A hundredth: lines that say where the piece lies move it there all but a hundredth of the way. */
static const double HOLD = 0.01;

/* How far apart the probes lie that now lie along other lines. */
static double contact_span(const dt_board *board, uint32_t slot, dt_laid own, const dt_laid *others, size_t count) {
    dt_box box = DT_BOX_EMPTY;
    for (uint32_t i = 0; i < board->probe_count[slot]; i++) {
        dt_point p = carry(own.pose, board->probes[slot][i]);
        for (size_t k = 0; k < count; k++) {
            dt_depth hit = dt_laid_depth(others[k], p);
            if (fabs(hit.depth) > board->problem->seat) continue;
            if (!dt_runs_along(own, probe_of(board, slot, i), others[k].body, &hit, board->problem->loose)) continue;
            box = dt_box_join(box, (dt_box){p, p});
            break;
        }
    }
    return dt_box_is_empty(box) ? 0.0 : dt_point_distance(box.low, box.high);
}

dt_stand dt_board_settled(const dt_board *board, uint32_t placement, const uint32_t *others, size_t count) {
    enum { MOST_OTHERS = 32 };
    dt_laid laid[MOST_OTHERS];
    size_t used = count < MOST_OTHERS ? count : MOST_OTHERS;
    for (size_t i = 0; i < used; i++) laid[i] = dt_board_laid(board, others[i]);
    uint32_t slot = probe_slot(board, placement);
    dt_pose pose = board->placements.items[placement].pose;
    const dt_body *body = dt_board_body(board, placement);
    dt_settling s = {.body = body, .points = board->probes[slot], .normals = board->probe_normals[slot],
                     .point_count = board->probe_count[slot], .others = laid, .other_count = used,
                     .contact_mm = board->problem->loose + board->placements.items[placement].slack, .hold = HOLD};
    dt_settle(&s, &pose);
    return (dt_stand){pose, dt_board_slack(body, contact_span(board, slot, (dt_laid){body, pose}, laid, used))};
}

/* ---- spots and sectors ---- */

bool dt_board_spot(dt_board *board, dt_point at, uint32_t *out) {
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            if (!dt_cell_reaches(at.x, SPOT_CELL_MM, SPOT_MM, dx) || !dt_cell_reaches(at.y, SPOT_CELL_MM, SPOT_MM, dy)) continue;
            uint32_t *head = dt_map_get(&board->by_point, dt_cell_key(at.x, at.y, SPOT_CELL_MM, dx, dy));
            for (uint32_t i = head ? *head : DT_NONE; i != DT_NONE; i = board->spots.items[i].chain)
                if (dt_point_distance(board->spots.items[i].at, at) <= SPOT_MM) {
                    *out = i;
                    return true;
                }
        }
    dt_spot spot = {at, DT_NONE};
    *out = (uint32_t)board->spots.count;
    if (!add_to_chain(&board->by_point, dt_cell_key(at.x, at.y, SPOT_CELL_MM, 0, 0), *out, &spot.chain)) return false;
    return dt_array_push(&board->spots, spot);
}

static double direction(dt_pose pose, dt_point v) {
    double angle = atan2(pose.s * v.x + pose.c * v.y, pose.c * v.x - pose.s * v.y);
    return angle < 0.0 ? angle + 2.0 * PI : angle;
}

static dt_sector corner_sector(dt_pose pose, const dt_break *corner) {
    double from = direction(pose, corner->out);
    return (dt_sector){DT_CORNER, corner->sharp, from, from + corner->angle, corner->ring, corner->arc};
}

static dt_sector passing_sector(const dt_body *body, dt_pose pose, const dt_depth *hit) {
    static const double HALF_BASE_MM = 0.5;
    dt_sector sector = {.kind = DT_PASSING};
    sector.arc = dt_body_arc(body, hit, &sector.ring);
    dt_point along = dt_point_sub(dt_body_at(body, sector.ring, sector.arc + HALF_BASE_MM),
                                  dt_body_at(body, sector.ring, sector.arc - HALF_BASE_MM));
    sector.from = direction(pose, along);
    sector.to = sector.from + PI;
    return sector;
}

static dt_sector find_sector(const dt_board *board, uint32_t placement, uint32_t spot) {
    const dt_body *body = dt_board_body(board, placement);
    dt_pose pose = board->placements.items[placement].pose;
    dt_point at = carry(dt_pose_inverse(pose), board->spots.items[spot].at);
    double near = board->problem->seat;
    dt_depth hit = dt_body_depth(body, at);
    if (hit.depth < -near) return (dt_sector){.kind = DT_AWAY};
    if (hit.depth > near) return (dt_sector){.kind = DT_COVERING};
    const dt_break *corner = NULL;
    for (uint32_t k = 0; k < body->break_count; k++) {
        if (!body->breaks[k].corner || dt_point_distance(body->breaks[k].at, at) > near) continue;
        if (corner) return (dt_sector){.kind = DT_UNSURE};
        corner = &body->breaks[k];
    }
    return corner ? corner_sector(pose, corner) : passing_sector(body, pose, &hit);
}

const dt_sector *dt_board_sector(dt_board *board, uint32_t placement, uint32_t spot) {
    uint64_t key = ((uint64_t)placement << 32 | spot) + 1;
    uint32_t *known = dt_map_get(&board->sector_of, key);
    if (known) return &board->sectors.items[*known];
    uint32_t index = (uint32_t)board->sectors.count;
    if (!dt_array_push(&board->sectors, find_sector(board, placement, spot))) return NULL;
    if (!dt_map_put(&board->sector_of, key, index)) return NULL;
    return &board->sectors.items[index];
}

/* ---- making ---- */

static bool add_container(dt_board *board) {
    const dt_body *body = &board->problem->container;
    dt_placement placement = {.body = DT_NONE, .pose = DT_POSE_IDENTITY, .box = body->box, .centre = body->centre,
                              .chain = DT_NONE, .rank = DT_NONE};
    return add_corner_spots(board, &placement, body) && dt_array_push(&board->placements, placement);
}

bool dt_board_make(const dt_problem *problem, dt_board *board) {
    *board = (dt_board){.problem = problem};
    return make_probes(board) && make_mesh(board) && add_container(board);
}

void dt_board_free(dt_board *board) {
    for (uint32_t b = 0; board->probes && board->probe_normals && b <= board->problem->body_count; b++) {
        free(board->probes[b]);
        free(board->probe_normals[b]);
    }
    free(board->probes);
    free(board->probe_normals);
    free(board->probe_count);
    free(board->taken);
    dt_array_free(&board->placements);
    dt_array_free(&board->cells);
    dt_array_free(&board->corner_spots);
    dt_array_free(&board->spots);
    dt_array_free(&board->sectors);
    dt_map_free(&board->by_centre);
    dt_map_free(&board->by_point);
    dt_map_free(&board->pairs);
    dt_map_free(&board->sector_of);
}
