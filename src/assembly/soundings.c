/* Soundings: see soundings.h. */
#include "soundings.h"

#include "assembly/vector.h"

enum { MOST_SOUNDINGS = 12, LOOKS_ACROSS = 24 };

static double distance_to_rings(const dt_body *body, dt_point p) {
    double best = INFINITY;
    for (uint32_t i = 0; i < body->point_count; i++)
        best = fmin(best, dt_segment_distance(p, body->points[i], body->points[body->next[i]], NULL));
    return best;
}

typedef struct deep_points {
    dt_point points[LOOKS_ACROSS * LOOKS_ACROSS];
    double depth[LOOKS_ACROSS * LOOKS_ACROSS]; /* beyond what is needed */
    double apart[LOOKS_ACROSS * LOOKS_ACROSS]; /* from the soundings chosen so far */
    uint32_t count;
} deep_points;

/* A point this deep lies in a cell whose middle, at most half a diagonal away, is still deeper than an overlap that is none yet. */
static void list_deep(const dt_body *body, double depth, deep_points *out) {
    double width = body->box.high.x - body->box.low.x, height = body->box.high.y - body->box.low.y;
    out->count = 0;
    for (int i = 0; i < LOOKS_ACROSS; i++)
        for (int k = 0; k < LOOKS_ACROSS; k++) {
            dt_point p = {body->box.low.x + width * (i + 0.5) / LOOKS_ACROSS, body->box.low.y + height * (k + 0.5) / LOOKS_ACROSS};
            double beyond = dt_body_depth(body, p).depth > 0.0 ? distance_to_rings(body, p) - depth : -1.0;
            if (beyond <= 0.0) continue;
            out->depth[out->count] = beyond;
            out->apart[out->count] = INFINITY;
            out->points[out->count++] = p;
        }
}

/* The farthest from all that have been chosen, again and again. */
static uint32_t choose(deep_points *deep, dt_point *chosen, double *depth) {
    uint32_t count = 0;
    while (count < MOST_SOUNDINGS && deep->count > 0) {
        uint32_t best = 0;
        for (uint32_t i = 1; i < deep->count; i++)
            if (deep->apart[i] > deep->apart[best]) best = i;
        if (!(deep->apart[best] > 0.0)) break;
        dt_point p = chosen[count] = deep->points[best];
        depth[count++] = deep->depth[best];
        for (uint32_t i = 0; i < deep->count; i++) deep->apart[i] = fmin(deep->apart[i], dt_point_distance(deep->points[i], p));
    }
    return count;
}

bool dt_soundings_make(const dt_board *board, dt_soundings *out) {
    static const double ROUNDING_MM = 1e-3;
    uint32_t count = board->problem->body_count;
    *out = (dt_soundings){calloc(count, sizeof *out->points), calloc(count, sizeof *out->depth), calloc(count, sizeof *out->count), count, board};
    deep_points *deep = malloc(sizeof *deep);
    bool made = out->points && out->depth && out->count && deep;
    for (uint32_t b = 0; made && b < count; b++) {
        out->points[b] = malloc(MOST_SOUNDINGS * sizeof *out->points[b]);
        out->depth[b] = malloc(MOST_SOUNDINGS * sizeof *out->depth[b]);
        made = out->points[b] && out->depth[b];
        if (!made) break;
        list_deep(&board->problem->bodies[b], board->problem->loose + 0.7072 * board->mesh_step + ROUNDING_MM, deep);
        out->count[b] = choose(deep, out->points[b], out->depth[b]);
    }
    free(deep);
    return made;
}

void dt_soundings_free(dt_soundings *soundings) {
    for (uint32_t b = 0; soundings->points && b < soundings->body_count; b++) free(soundings->points[b]);
    for (uint32_t b = 0; soundings->depth && b < soundings->body_count; b++) free(soundings->depth[b]);
    free(soundings->points);
    free(soundings->depth);
    free(soundings->count);
}

bool dt_soundings_meet(const dt_soundings *soundings, uint32_t body, dt_stand stand, const uint64_t *taken, uint32_t *cell) {
    for (uint32_t i = 0; i < soundings->count[body]; i++) {
        if (soundings->depth[body][i] <= stand.slack) continue;
        *cell = dt_board_cell(soundings->board, carry(stand.pose, soundings->points[body][i]));
        if (*cell == DT_NONE || taken[*cell / 64] >> (*cell % 64) & 1) return true;
    }
    return false;
}
