/* Berths: see berths.h. */
#include "berths.h"

#include "assembly/laying.h"
#include "assembly/vector.h"

/* Feet nearer than this are one, mm: far above the rounding of doubles, far below what DT_SAME_MM lets pass as the same placement. */
static const double SAME_FOOT_MM = 1e-5, FOOT_CELL_MM = 1e-3;

void dt_berths_start(dt_board *board, dt_lookup *const *lookup, dt_grounds *grounds, dt_berths *berths) {
    *berths = (dt_berths){.board = board, .lookup = lookup, .grounds = grounds, .shore_of = DT_NONE};
}

void dt_berths_free(dt_berths *berths) {
    dt_map_free(&berths->by_foot);
    dt_array_free(&berths->quays);
    dt_array_free(&berths->berths);
}

/* ---- quays ---- */

static bool is_quay(const dt_quay *q, const dt_shore *shore, dt_way way) {
    return q->body == shore->body && q->way == way && q->ring == shore->ring && fabs(q->arc - shore->arc) <= SAME_FOOT_MM &&
           dt_point_distance(q->foot, shore->foot) <= SAME_FOOT_MM;
}

static uint64_t foot_key(const dt_shore *shore, dt_way way, int dx, int dy) {
    uint64_t key = dt_cell_key(shore->foot.x, shore->foot.y, FOOT_CELL_MM, dx, dy);
    return (key ^ ((uint64_t)shore->body << 1 | (uint64_t)way) * 0x9E3779B97F4A7C15u) | 1;
}

static uint32_t find_quay(const dt_berths *berths, const dt_shore *shore, dt_way way) {
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            if (!dt_cell_reaches(shore->foot.x, FOOT_CELL_MM, SAME_FOOT_MM, dx)) continue;
            if (!dt_cell_reaches(shore->foot.y, FOOT_CELL_MM, SAME_FOOT_MM, dy)) continue;
            const uint32_t *head = dt_map_get(&berths->by_foot, foot_key(shore, way, dx, dy));
            for (uint32_t q = head ? *head : DT_NONE; q != DT_NONE; q = berths->quays.items[q].chain)
                if (is_quay(&berths->quays.items[q], shore, way)) return q;
        }
    return DT_NONE;
}

typedef struct mooring {
    dt_berths *berths;
    const dt_shore *shore;
    dt_way way;
} mooring;

static bool note_end(void *context, uint32_t index) {
    mooring *m = context;
    const dt_end *end = dt_lookup_end(m->berths->lookup[m->way], index);
    dt_leg leg = dt_leg_on(m->shore, end, m->way);
    bool could;
    if (!dt_legs_could_stand(m->berths->grounds, &leg, 1, &could)) return false;
    return !could || dt_array_push(&m->berths->berths, ((dt_berth){.end = index, .body = end->body, .slack = -1.0}));
}

static int compare_berths(const void *a, const void *b) {
    const dt_berth *x = a, *y = b;
    return (x->end > y->end) - (x->end < y->end);
}

static dt_shore shore_of(const dt_berths *berths, const dt_quay *q) {
    return dt_shore_at(berths->board->problem, q->body, DT_POSE_IDENTITY, q->foot, q->ring, q->arc,
                       q->way == DT_AHEAD ? DT_BEHIND : DT_AHEAD);
}

static bool make_quay(dt_berths *berths, const dt_shore *shore, dt_way way, uint32_t *out) {
    dt_quay q = {shore->body, shore->ring, way, shore->arc, shore->foot, (uint32_t)berths->berths.count, 0, DT_NONE};
    dt_shore own = shore_of(berths, &q);
    mooring m = {berths, &own, way};
    if (!dt_lookup_find(berths->lookup[way], &own.curve, berths->board->problem->seat, note_end, &m)) return false;
    q.count = (uint32_t)berths->berths.count - q.first;
    if (q.count) qsort(berths->berths.items + q.first, q.count, sizeof(dt_berth), compare_berths);
    uint64_t key = foot_key(shore, way, 0, 0);
    const uint32_t *head = dt_map_get(&berths->by_foot, key);
    if (head) q.chain = *head;
    *out = (uint32_t)berths->quays.count;
    return dt_map_put(&berths->by_foot, key, *out) && dt_array_push(&berths->quays, q);
}

bool dt_berths_quay(dt_berths *berths, const dt_shore *shore, dt_way way, uint32_t *quay) {
    *quay = find_quay(berths, shore, way);
    return *quay != DT_NONE || make_quay(berths, shore, way, quay);
}

uint32_t dt_berths_find(const dt_berths *berths, uint32_t quay, uint32_t end) {
    const dt_quay *q = &berths->quays.items[quay];
    uint32_t low = q->first, high = q->first + q->count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (berths->berths.items[middle].end < end) low = middle + 1;
        else high = middle;
    }
    return low < q->first + q->count && berths->berths.items[low].end == end ? low : DT_NONE;
}

/* ---- berths ---- */

static void lay_berth(dt_berths *berths, uint32_t quay, dt_berth *berth) {
    static const dt_berth_state BY_LIE[] = {[DT_STRAYS] = DT_BERTH_STRAYS, [DT_DOUBTFUL] = DT_BERTH_DOUBTFUL, [DT_LIES] = DT_BERTH_LIES};
    const dt_quay *q = &berths->quays.items[quay];
    if (berths->shore_of != quay) berths->shore = shore_of(berths, q);
    berths->shore_of = quay;
    dt_leg leg = dt_leg_on(&berths->shore, dt_lookup_end(berths->lookup[q->way], berth->end), q->way);
    berths->tried++;
    berth->state = BY_LIE[dt_legs_lie(berths->board->problem, &leg, 1, q->foot, &berth->pose)];
}

const dt_berth *dt_berths_get(dt_berths *berths, uint32_t quay, uint32_t index) {
    dt_berth *berth = &berths->berths.items[index];
    if (berth->state == DT_BERTH_UNTRIED) lay_berth(berths, quay, berth);
    return berth;
}

dt_pair dt_berths_pair(dt_berths *berths, uint32_t beside, uint32_t index, double slack) {
    const dt_problem *problem = berths->board->problem;
    dt_berth *berth = &berths->berths.items[index];
    if (berth->slack == slack) return berth->pair;
    dt_laid own = {&problem->bodies[berth->body], berth->pose};
    dt_laid other = {beside == problem->body_count ? &problem->container : &problem->bodies[beside], DT_POSE_IDENTITY};
    berth->slack = slack;
    berth->pair = (dt_pair){.clash = dt_corners_clash(own, other, problem->loose + slack)};
    if (!berth->pair.clash) berth->pair = dt_board_bodies(berths->board, own, berth->body, other, beside, slack);
    return berth->pair;
}

bool dt_berths_note(dt_berths *berths, uint32_t end, uint32_t body, dt_pose pose, uint32_t *out) {
    *out = (uint32_t)berths->berths.count;
    berths->tried++;
    return dt_array_push(&berths->berths, ((dt_berth){.end = end, .body = body, .state = DT_BERTH_LIES, .slack = -1.0, .pose = pose}));
}
