/* The rating of a puzzle: the model (model.h) built from pieces, neighbours and places, played with and without its
 * figures, and put into numbers by the formula of effort.h. Points, factors, tries and looks always stand for the
 * median adult, so that they mean the same for every listing; times follow the constants that were handed in. */
#include <dovetell/rating.h>

#include "rating/effort.h"
#include "rating/looks.h"
#include "rating/rivals.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const size_t MOST_SCRATCH_BYTES = (size_t)1 << 30;
/* Quartile of the normal law: the middle half of people lies within this many sd. */
static const double QUARTILE_SD = 0.6744897501960817;
/* The rim counts as tell-tale when at most this share of the inner pieces could be taken for edge pieces. */
static const double MOST_FALSE_EDGES = 0.5;

typedef struct builder {
    const dt_pieces *pieces;
    const dt_settings *settings;
    dt_arena *arena;
    model_place *places;
    model m;
} builder;

static int by_number(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

/* Groups of equal colour, numbered by colour; pieces without one are a group of their own. */
static bool group_colours(builder *b) {
    uint32_t n = b->m.count, groups = 0, *sorted = DT_TAKE(b->arena, n, uint32_t);
    if (!sorted) return false;
    for (uint32_t i = 0; i < n; i++) sorted[i] = dt_pieces_get(b->pieces, (dt_piece_id){i})->colour;
    qsort(sorted, n, sizeof *sorted, by_number);
    for (uint32_t i = 0; i < n; i++)
        if (i == 0 || sorted[i] != sorted[groups - 1]) sorted[groups++] = sorted[i];
    for (uint32_t i = 0; i < n; i++) {
        uint32_t colour = dt_pieces_get(b->pieces, (dt_piece_id){i})->colour;
        const uint32_t *at = bsearch(&colour, sorted, groups, sizeof *sorted, by_number);
        b->places[i].colour = (uint32_t)(at - sorted);
    }
    b->m.colours = groups;
    return true;
}

/* The neighbours of a piece as its outline is walked, each once, and where they begin behind its longest rim side. */
static bool walk_neighbours(builder *b, uint32_t *last_seen, uint32_t id, model_place *p) {
    const dt_piece *piece = dt_pieces_get(b->pieces, (dt_piece_id){id});
    uint32_t *neighbours = DT_TAKE(b->arena, piece->side_count, uint32_t), count = 0;
    double longest_rim = 0.0;
    if (!neighbours) return false;
    for (size_t i = 0; i < piece->side_count; i++) {
        const dt_seam *seam = dt_pieces_seam(b->pieces, piece->sides[i].seam);
        dt_piece_id across = dt_pieces_across(b->pieces, (dt_piece_id){id}, &piece->sides[i]);
        if (across.v == DT_OUTSIDE.v && seam->length > longest_rim) {
            longest_rim = seam->length;
            p->after_rim = count;
        }
        if (!DT_IS_PIECE(across) || last_seen[across.v] == id + 1) continue;
        last_seen[across.v] = id + 1;
        neighbours[count++] = across.v;
    }
    p->neighbours = neighbours;
    p->neighbour_count = count;
    if (p->after_rim >= count) p->after_rim = 0;
    return true;
}

static bool build_places(builder *b) {
    const looks *seen = NULL;
    uint32_t *last_seen = DT_TAKE(b->arena, b->m.count, uint32_t);
    if (!last_seen || looks_of_pieces(b->pieces, b->settings->eye_mm, b->arena, &seen) != DT_OK) return false;
    for (uint32_t i = 0; i < b->m.count; i++) {
        const dt_piece *piece = dt_pieces_get(b->pieces, (dt_piece_id){i});
        model_place *p = &b->places[i];
        *p = (model_place){.asks = seen[i].asks,
                           .shows = seen[i].shows,
                           .start_rank = piece->corner ? 0
                                         : piece->edge ? 1
                                                       : 2,
                           .whimsy = piece->whimsy,
                           .size = piece->area_mm2};
        if (!walk_neighbours(b, last_seen, i, p)) return false;
    }
    return group_colours(b);
}

/* At most MOST_FALSE_EDGES of the inner pieces show a look that the rim asks for. */
static bool is_tell_tale(const model *m) {
    uint8_t rim = 0;
    uint32_t inner = 0, doubtful = 0;
    for (uint32_t i = 0; i < m->count; i++) rim |= m->places[i].asks;
    rim &= (uint8_t)~LOOK_CORNER;
    for (uint32_t i = 0; i < m->count; i++) {
        if (m->places[i].asks) continue;
        inner++;
        doubtful += (m->places[i].shows & rim) != 0;
    }
    return rim && inner && doubtful <= MOST_FALSE_EDGES * inner;
}

static factor_set drawn_factors(const builder *b) {
    const dt_settings *s = b->settings;
    factor_set on = FACTOR_BIT(DT_FACTOR_LOOK_ALIKES) | FACTOR_BIT(DT_FACTOR_EDGE) | FACTOR_BIT(DT_FACTOR_WHIMSIES) |
                    FACTOR_BIT(DT_FACTOR_COLOURS) | FACTOR_BIT(DT_FACTOR_PICTURE);
    return s->two_sided ? on | FACTOR_BIT(DT_FACTOR_TWO_SIDED) : on;
}

typedef struct assessment {
    effort_case facts;
    factor_set drawn;
    model_run runs[2]; /* figures not told apart, told apart */
} assessment;

/* Both ways round, and the mean of the two. */
static dt_status play_twice(const builder *b, model_view view, model_run *out) {
    model_run forwards, backwards;
    dt_status status = model_play(&b->m, view, false, b->arena, &forwards);
    if (status == DT_OK) status = model_play(&b->m, view, true, b->arena, &backwards);
    if (status != DT_OK) return status;
    model_mean(&b->m, &forwards, &backwards);
    *out = forwards;
    return DT_OK;
}

static dt_status assess(const builder *b, assessment *out) {
    const dt_settings *s = b->settings;
    assessment a = {.drawn = drawn_factors(b)};
    model_view view = {.whimsies = true, .edge = true, .colours = true, .two_sided = s->two_sided};
    dt_status status = play_twice(b, view, &a.runs[1]);
    a.runs[0] = a.runs[1];
    view.whimsies = false;
    if (status == DT_OK && dt_pieces_whimsy_count(b->pieces) > 0) status = play_twice(b, view, &a.runs[0]);
    if (status != DT_OK) return status;
    a.facts = (effort_case){.places = b->m.count, .sums = {a.runs[0].sums, a.runs[1].sums}, .picture = s->picture};
    a.facts.unknown_colours = b->m.colours > 1 || s->colours < 1 ? 1 : s->colours;
    *out = a;
    return DT_OK;
}

static bool fill_places(const assessment *a, const dt_effort *effort, dt_rating *rating) {
    dt_place_cost *places = calloc(a->facts.places + 1, sizeof *places);
    if (!places) return false;
    effort_basis basis = effort_basis_of(&a->facts, effort, a->drawn);
    const model_run *run = &a->runs[basis.told_apart];
    for (uint32_t i = 0; i < a->facts.places; i++) {
        double m = 1.0 + basis.share * (run->looked_over[i] - 1.0), k = 1.0 + basis.share * (run->alike[i] - 1.0);
        places[i] = (dt_place_cost){effort_of_place(&a->facts, effort, a->drawn, m, k) / 60.0,
                                    1.0 + (m - 1.0) / a->facts.unknown_colours,
                                    1.0 + (k - 1.0) / a->facts.unknown_colours, run->turn[i]};
    }
    rating->places = places;
    rating->place_count = a->facts.places;
    return true;
}

static bool fill_rating(const builder *b, const assessment *a, const dt_effort *effort, dt_rating *rating) {
    dt_effort median_adult = dt_effort_default();
    effort_work work = effort_of(&a->facts, &median_adult, a->drawn);
    double seconds = effort_of(&a->facts, effort, a->drawn).total_s, spread = exp(QUARTILE_SD * effort->log_sd);
    *rating = (dt_rating){.points = effort_points(work.total_s), .tries = work.tries, .looks = work.looks};
    rating->work = (dt_work){(work.handling_s + work.flipping_s) / 60.0, work.scanning_s / 60.0, work.trying_s / 60.0};
    rating->band = dt_band_of(rating->points);
    rating->median_min = seconds / 60.0;
    rating->low_min = rating->median_min / spread;
    rating->high_min = rating->median_min * spread;
    rating->tell_tale_edge = is_tell_tale(&b->m);
    rating->colours_by_place = b->m.colours > 1;
    rating->colours = rating->colours_by_place ? b->m.colours : a->facts.unknown_colours;
    effort_factors(&a->facts, &median_adult, a->drawn, rating->factors);
    return fill_places(a, effort, rating);
}

dt_status dt_rating_new(const dt_pieces *pieces, const dt_graph *graph, const dt_fit *fit, const dt_settings *settings,
                        const dt_effort *effort, dt_rating **out, dt_error *error) {
    dt_effort standard = dt_effort_default();
    dt_arena arena = DT_ARENA(MOST_SCRATCH_BYTES);
    builder b = {.pieces = pieces, .settings = settings, .arena = &arena};
    assessment a;
    dt_status status = DT_NO_MEMORY;
    (void)graph; /* who borders on whom is read from the sides, which also say in which order round the piece */
    dt_rating *rating = calloc(1, sizeof *rating);
    b.m.count = (uint32_t)dt_pieces_count(pieces);
    b.places = DT_TAKE(&arena, b.m.count, model_place);
    b.m.places = b.places;
    b.m.rivals = rivals_of_place;
    b.m.context = rival_finder_new(pieces, fit, settings, &arena);
    if (!rating || !b.places || !b.m.context || !build_places(&b) || !rival_finder_kinds(b.m.context, &b.m, &arena)) goto done;
    status = assess(&b, &a);
    if (status == DT_OK && !fill_rating(&b, &a, effort ? effort : &standard, rating)) status = DT_NO_MEMORY;
done:
    rival_finder_free(b.m.context);
    if (status == DT_OK) {
        *out = rating;
    } else {
        dt_rating_free(rating);
        dt_fail(error, status, "no memory left to rate a puzzle of %u pieces", b.m.count);
    }
    dt_arena_free(&arena);
    return status;
}

void dt_rating_free(dt_rating *rating) {
    if (!rating) return;
    free((void *)(uintptr_t)rating->places);
    free(rating);
}
