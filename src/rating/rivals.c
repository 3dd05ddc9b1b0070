/* Rivals of a place (see rivals.h): the pieces that look right on every side that shows, in one and the same pose. Each side of
 * the place has its own list of candidates with poses; the shortest complete list leads, and a candidate of it stays when
 * every other complete list has the same piece in nearly the same pose. Where no list is complete, their shortest count serves.
 * Invariant: head[] is NONE for every piece between two calls. */
#include "rating/rivals.h"

#include <math.h>

/* Two sides fitted each alone put the same piece in poses that differ a little; up to this many eyes at the ends of both sides a
 * pose half way between them still looks right on both. */
static const double SAME_POSE_EYES = 2.0;
enum { NONE = UINT32_MAX, MOST_KNOWN = 64 };

typedef struct side_list {
    const dt_candidate *items;
    size_t count;      /* listed */
    size_t k;          /* all, the true piece included */
    dt_point ends[2];
} side_list;

/* A candidate of the leading list, and how many of the other lists agree with it. */
typedef struct lead {
    uint32_t next, agreed, last;
} lead;

struct rival_finder {
    const dt_pieces *pieces;
    const dt_fit *fit;
    double eye;
    bool two_sided;
    uint32_t *head;        /* by piece: first of its candidates in the leading list */
    lead *leads;           /* beside the leading list */
    uint32_t *twin_start;  /* by piece, count + 1: its stretch of `twins` */
    model_rival *twins;    /* twins and near twins of each piece */
    side_list known[MOST_KNOWN];
    size_t known_count;
};

static const dt_match *alike_pair(const dt_fit *fit, size_t i) {
    size_t twins = dt_fit_twin_count(fit);
    return i < twins ? dt_fit_twin(fit, i) : dt_fit_near_twin(fit, i - twins);
}

/* Bucket sort of the pairs by each of their two pieces. */
static bool list_twins(rival_finder *f, size_t count, dt_arena *arena) {
    size_t pairs = dt_fit_twin_count(f->fit) + dt_fit_near_twin_count(f->fit);
    f->twin_start = DT_TAKE(arena, count + 2, uint32_t);
    f->twins = DT_TAKE(arena, 2 * pairs, model_rival);
    if (!f->twin_start || !f->twins) return false;
    uint32_t *start = f->twin_start + 2;
    for (size_t i = 0; i < pairs; i++) {
        const dt_match *pair = alike_pair(f->fit, i);
        start[pair->a.v]++;
        start[pair->b.v]++;
    }
    for (size_t i = 2; i < count + 2; i++) f->twin_start[i] += f->twin_start[i - 1];
    for (size_t i = 0; i < pairs; i++) {
        const dt_match *pair = alike_pair(f->fit, i);
        f->twins[f->twin_start[pair->a.v + 1]++] = (model_rival){pair->b.v, pair->only_flipped};
        f->twins[f->twin_start[pair->b.v + 1]++] = (model_rival){pair->a.v, pair->only_flipped};
    }
    return true;
}

rival_finder *rival_finder_new(const dt_pieces *pieces, const dt_fit *fit, const dt_settings *settings, dt_arena *arena) {
    size_t count = dt_pieces_count(pieces), longest = 0;
    rival_finder *f = DT_TAKE(arena, 1, rival_finder);
    if (!f) return NULL;
    *f = (rival_finder){.pieces = pieces, .fit = fit, .eye = settings->eye_mm, .two_sided = settings->two_sided};
    f->head = DT_TAKE(arena, count, uint32_t);
    if (!f->head || !list_twins(f, count, arena)) return NULL;
    for (uint32_t p = 0; p < count; p++) {
        f->head[p] = NONE;
        for (size_t i = 0; i < dt_pieces_get(pieces, (dt_piece_id){p})->side_count; i++) {
            size_t listed = 0;
            dt_fit_side_candidates(fit, (dt_piece_id){p}, i, &listed);
            if (listed > longest) longest = listed;
        }
    }
    f->leads = DT_TAKE(arena, longest, lead);
    return f->leads ? f : NULL;
}

static side_list list_side(const rival_finder *f, dt_piece_id place, size_t index) {
    const dt_side *side = &dt_pieces_get(f->pieces, place)->sides[index];
    dt_path path = dt_pieces_seam(f->pieces, side->seam)->path;
    side_list list = {.k = dt_fit_side_k(f->fit, place, index), .ends = {path.points[0], path.points[path.count - 1]}};
    list.items = dt_fit_side_candidates(f->fit, place, index, &list.count);
    return list;
}

/* The sides whose neighbours lie; no more than MOST_KNOWN, since that many leave no doubt. */
static void find_known(rival_finder *f, uint32_t place, const uint32_t *turn) {
    const dt_piece *piece = dt_pieces_get(f->pieces, (dt_piece_id){place});
    f->known_count = 0;
    for (size_t i = 0; i < piece->side_count && f->known_count < MOST_KNOWN; i++) {
        dt_piece_id across = dt_pieces_across(f->pieces, (dt_piece_id){place}, &piece->sides[i]);
        if (!DT_IS_PIECE(across) || turn[across.v] > turn[place]) continue;
        side_list list = list_side(f, (dt_piece_id){place}, i);
        if (list.k > 0) f->known[f->known_count++] = list;
    }
}

static bool same_pose(const rival_finder *f, const side_list *s, const dt_candidate *a, const side_list *t,
                      const dt_candidate *b) {
    if (a->pose.flipped != b->pose.flipped) return false;
    dt_pose across = dt_pose_compose(b->pose, dt_pose_inverse(a->pose));
    const dt_point points[] = {s->ends[0], s->ends[1], t->ends[0], t->ends[1]};
    for (int i = 0; i < 4; i++)
        if (dt_point_distance(dt_pose_apply(across, points[i]), points[i]) > SAME_POSE_EYES * f->eye) return false;
    return true;
}

/* Counts up the leading candidates that `other` (the index-th list checked) agrees with. */
static void check_against(rival_finder *f, const side_list *leading, const side_list *other, uint32_t index) {
    for (size_t i = 0; i < other->count; i++)
        for (uint32_t at = f->head[other->items[i].piece.v]; at != NONE; at = f->leads[at].next) {
            lead *l = &f->leads[at];
            if (l->last == index || !same_pose(f, leading, &leading->items[at], other, &other->items[i])) continue;
            l->last = index;
            l->agreed++;
        }
}

static void collect(rival_finder *f, uint32_t place, const side_list *leading, uint32_t checked, model_rivals *out) {
    for (size_t i = 0; i < leading->count; i++) {
        uint32_t piece = leading->items[i].piece.v;
        bool found = false, flipped = true;
        for (uint32_t at = f->head[piece]; at != NONE; at = f->leads[at].next)
            if (f->leads[at].agreed == checked && (f->two_sided || !leading->items[at].pose.flipped)) {
                found = true;
                flipped = flipped && leading->items[at].pose.flipped;
            }
        f->head[piece] = NONE;
        if (found && piece != place) out->items[out->count++] = (model_rival){piece, flipped};
    }
}

static const side_list *leading_list(const rival_finder *f) {
    const side_list *best = NULL;
    for (size_t i = 0; i < f->known_count; i++) {
        const side_list *s = &f->known[i];
        if (s->count >= s->k && (!best || s->count < best->count)) best = s;
    }
    return best;
}

static void from_lists(rival_finder *f, uint32_t place, const side_list *leading, model_rivals *out) {
    uint32_t checked = 0;
    for (uint32_t i = 0; i < leading->count; i++) {
        uint32_t piece = leading->items[i].piece.v;
        f->leads[i] = (lead){f->head[piece], 0, 0};
        f->head[piece] = i;
    }
    for (size_t i = 0; i < f->known_count; i++) {
        const side_list *s = &f->known[i];
        if (s != leading && s->count >= s->k) check_against(f, leading, s, ++checked);
    }
    collect(f, place, leading, checked, out);
}

/* No list is complete: as many as the shortest says, flipped ones in the share that its listed part has. */
static void from_counts(const rival_finder *f, model_rivals *out) {
    const side_list *best = &f->known[0];
    for (size_t i = 1; i < f->known_count; i++)
        if (f->known[i].k < best->k) best = &f->known[i];
    size_t flipped = 0;
    for (size_t i = 0; i < best->count; i++) flipped += best->items[i].pose.flipped;
    out->hidden = (double)best->k - 1.0;
    out->hidden_flipped = best->count ? (double)flipped / (double)best->count : 0.0;
}

static void from_twins(const rival_finder *f, uint32_t place, model_rivals *out) {
    for (uint32_t i = f->twin_start[place]; i < f->twin_start[place + 1]; i++)
        if (f->two_sided || !f->twins[i].only_flipped) out->items[out->count++] = f->twins[i];
}

void rivals_of_place(const model *m, uint32_t place, const uint32_t *turn, model_rivals *out) {
    rival_finder *f = m->context;
    if (!turn) {
        from_twins(f, place, out);
        return;
    }
    find_known(f, place, turn);
    const side_list *leading = leading_list(f);
    if (leading) {
        from_lists(f, place, leading, out);
    } else if (f->known_count) {
        from_counts(f, out);
    }
}
