/* Is there another way to put the puzzle together? Twins answer without a search: either lies in the other's place. Otherwise the
 * search does. Every witness that is handed out has passed dt_assembly_verify. */
#include <dovetell/assembly.h>

#include "assembly/ease.h"
#include "assembly/figures.h"
#include "assembly/forced.h"
#include "assembly/listed.h"
#include "assembly/outline.h"
#include "assembly/search.h"
#include "assembly/witness.h"

#include <stdio.h>

/* Lines of a drawing miss each other by this much even where no kerf is given, mm. */
static const double LEAST_PLAY_MM = 0.05;
static const size_t MEMORY_LIMIT = (size_t)1 << 30;
/* Exchanges of twins that are checked before the search is asked instead, and points of their outlines: where two of them cannot change
 * places, as two puzzles of one piece each cannot, hundreds of thousands like them cannot either. */
enum { MOST_EXCHANGES = 200, MOST_EXCHANGED_POINTS = 20000 };

typedef struct result {
    dt_assembly public; /* first, so that the address of one is the address of the other */
    dt_move *moves;
    char why[240];
} result;

void dt_assembly_free(dt_assembly *assembly) {
    result *r = (result *)assembly;
    if (!r) return;
    free(r->moves);
    free(r);
}

typedef struct job {
    const dt_pieces *pieces;
    const dt_settings *settings;
    const dt_fit *fit;
    dt_arena arena;
    dt_task task;
    uint32_t *piece_of; /* by tile; NULL: tile i is piece i */
    dt_forced forced;
    bool forced_known;  /* it was asked for */
    dt_problem *problem;
    dt_search_result found;
    bool doubtful;   /* twins whose exchange does not pass the check */
    bool unverified; /* memory ran out while a witness was checked */
    dt_pose *eased;  /* per tile: the last filling that was looked at with the whole play */
    size_t eased_count;
} job;

/* ---- twins ---- */

static bool is_double_fit(const dt_match *twin, const dt_settings *settings) {
    return settings->two_sided || !twin->only_flipped;
}

/* The first pair of twins whose exchange passes the check; *found is false when there is none. *doubtful: an exchange that does not pass is
 * not the whole turned either, or there were too many to look at, so that nothing is proved by trying all else. */
static dt_status exchange_twins(const job *j, dt_move moves[2], bool *found, bool *doubtful) {
    const dt_fit *fit = j->fit;
    size_t tried = 0, points = 0;
    *found = *doubtful = false;
    for (size_t i = 0; i < dt_fit_twin_count(fit); i++) {
        const dt_match *twin = dt_fit_twin(fit, i);
        if (!is_double_fit(twin, j->settings)) continue;
        *doubtful = *doubtful || tried == MOST_EXCHANGES || points > MOST_EXCHANGED_POINTS;
        if (tried++ == MOST_EXCHANGES || points > MOST_EXCHANGED_POINTS) break;
        points += dt_pieces_get(j->pieces, twin->a)->outline.count + dt_pieces_get(j->pieces, twin->b)->outline.count;
        moves[0] = (dt_move){twin->a, twin->b, twin->pose};
        moves[1] = (dt_move){twin->b, twin->a, dt_pose_inverse(twin->pose)};
        const char *fault = dt_assembly_verify(j->pieces, j->settings, moves, 2);
        if (fault == dt_assembly_unverified) return DT_NO_MEMORY;
        *found = !fault;
        *doubtful = *doubtful || (fault && fault != dt_assembly_turned);
        if (*found) break;
    }
    return DT_OK;
}

static bool keep_moves(result *r, const dt_move *moves, size_t count) {
    r->moves = malloc((count + 1) * sizeof *moves);
    if (!r->moves) return false;
    for (size_t i = 0; i < count; i++) r->moves[i] = moves[i];
    r->public.other = r->moves;
    r->public.other_count = count;
    return true;
}

static bool answer_by_twins(result *r, const dt_move moves[2]) {
    r->public.verdict = DT_SEVERAL;
    r->public.counted = true;
    r->public.fillings = r->public.distinct = 1;
    snprintf(r->why, sizeof r->why, "pieces %u and %u are alike: either drops into the other's place", moves[0].piece.v + 1,
             moves[1].piece.v + 1);
    return keep_moves(r, moves, 2);
}

/* ---- the search ---- */

static bool list_tiles(job *j) {
    size_t n = dt_pieces_count(j->pieces);
    dt_tile *tiles = DT_TAKE(&j->arena, n, dt_tile);
    for (uint32_t i = 0; tiles && i < n; i++) {
        const dt_piece *piece = dt_pieces_get(j->pieces, (dt_piece_id){i});
        tiles[i] = (dt_tile){piece->outline, piece->holes, piece->hole_count};
    }
    j->task.tiles = tiles;
    j->task.tile_count = n;
    return tiles != NULL;
}

static bool list_alike(job *j) {
    size_t n = dt_fit_twin_count(j->fit), used = 0;
    uint32_t(*alike)[2] = dt_arena_take(&j->arena, n, sizeof *alike);
    for (size_t i = 0; alike && i < n; i++) {
        const dt_match *twin = dt_fit_twin(j->fit, i);
        if (!is_double_fit(twin, j->settings)) continue;
        alike[used][0] = twin->a.v;
        alike[used++][1] = twin->b.v;
    }
    j->task.alike = (const uint32_t(*)[2])alike;
    j->task.alike_count = used;
    return alike != NULL;
}

/* Twins that the search tells apart, since they differ by more than drawing errors: then its counts are not what they are called. */
static bool tells_twins_apart(const job *j) {
    for (size_t i = 0; i < j->task.alike_count; i++)
        if (j->problem->kind_of_tile[j->task.alike[i][0]] != j->problem->kind_of_tile[j->task.alike[i][1]]) return true;
    return false;
}

static bool outline(job *j) {
    dt_region *regions = NULL;
    j->task.play_mm = j->settings->kerf_mm > LEAST_PLAY_MM ? j->settings->kerf_mm : LEAST_PLAY_MM;
    j->task.two_sided = j->settings->two_sided;
    if (!list_tiles(j) || !dt_outline_regions(j->pieces, &j->arena, &regions, &j->task.region_count)) return false;
    j->task.regions = regions;
    return true;
}

static bool is_at_home(dt_pose pose) {
    return !pose.flipped && pose.c == 1.0 && pose.s == 0.0 && pose.shift.x == 0.0 && pose.shift.y == 0.0;
}

/* The piece whose drawn place a moved piece takes: that which holds its middle, if the two are alike or nearly so. */
static dt_piece_id place_taken(const dt_pieces *pieces, dt_piece_id id, dt_pose pose) {
    const dt_piece *piece = dt_pieces_get(pieces, id);
    dt_point centre = dt_pose_apply(pose, dt_path_centroid(piece->outline));
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *other = dt_pieces_get(pieces, (dt_piece_id){i});
        double play = 0.02 * other->perimeter_mm; /* areas of outlines within a kerf or two of each other */
        if (dt_point_distance(dt_path_centroid(other->outline), centre) > 1.0) continue;
        if (other->area_mm2 - piece->area_mm2 <= play * 10.0 && piece->area_mm2 - other->area_mm2 <= play * 10.0)
            return (dt_piece_id){i};
    }
    return DT_OUTSIDE;
}

static size_t list_moves(const job *j, const dt_pose *poses, dt_move *moves) {
    size_t count = 0;
    for (uint32_t i = 0; i < j->task.tile_count; i++) {
        if (is_at_home(poses[i])) continue;
        dt_piece_id id = {j->piece_of ? j->piece_of[i] : i};
        moves[count++] = (dt_move){id, place_taken(j->pieces, id, poses[i]), poses[i]};
    }
    return count;
}

static dt_acceptance accept(void *context, const dt_pose *poses) {
    job *j = context;
    dt_move *moves = malloc(j->task.tile_count * sizeof *moves);
    size_t count = moves ? list_moves(j, poses, moves) : 0;
    const char *fault = moves ? dt_assembly_verify(j->pieces, j->settings, moves, count) : dt_assembly_unverified;
    j->unverified = j->unverified || fault == dt_assembly_unverified;
    free(moves);
    return fault ? DT_FITS_PERHAPS : DT_FITS;
}

static uint64_t whole_number(double value) {
    return value < 1.8e19 ? (uint64_t)(value + 0.5) : UINT64_MAX;
}

/* Where so sharp a tip ends is more than drawing errors tell: a search that has to fit one proves nothing. */
static bool has_needles(const job *j) {
    static const double SHARPEST = 6.0 / 180.0 * 3.14159265358979323846;
    return j->problem->narrowest < SHARPEST;
}

static void describe(const job *j, result *r) {
    const dt_search_result *f = &j->found;
    if (r->public.verdict == DT_ONE)
        snprintf(r->why, sizeof r->why, "every other way was tried and none fits");
    else if (r->public.verdict == DT_SEVERAL)
        snprintf(r->why, sizeof r->why, "another assembly was found and checked");
    else if (f->stopped && f->steps >= j->settings->steps)
        snprintf(r->why, sizeof r->why, "no other assembly was found in %llu steps, but not every way was tried",
                 (unsigned long long)f->steps);
    else if (f->stopped)
        snprintf(r->why, sizeof r->why, "stopped before every way was tried; no other assembly was found so far");
    else if (j->problem->symmetries_cut)
        snprintf(r->why, sizeof r->why,
                 "some outlines on the sheet are round, or too many are alike, so another assembly cannot be told from "
                 "puzzles turned or put elsewhere");
    else if (has_needles(j))
        snprintf(r->why, sizeof r->why, "no other assembly was found, but some corners are sharper than 6 degrees: too sharp to be sure");
    else if (j->doubtful)
        snprintf(r->why, sizeof r->why, "two pieces are alike, but exchanged they do not quite fill each other's places");
    else if (!f->found_drawn)
        snprintf(r->why, sizeof r->why, "the search lost the drawn assembly among lines that nearly meet, so it proves nothing");
    else
        snprintf(r->why, sizeof r->why, "no other way was found, but some places have only bends and no corner to begin at, so not every way could be tried");
}

static bool keep_witness(const job *j, const dt_pose *poses, result *r) {
    r->moves = malloc((j->task.tile_count + 1) * sizeof *r->moves);
    if (!r->moves) return false;
    r->public.other = r->moves;
    r->public.other_count = list_moves(j, poses, r->moves);
    return dt_witness_reduce(j->pieces, j->settings, r->moves, &r->public.other_count);
}

/* Was every way tried, and none overlooked? */
static bool is_proved(const job *j) {
    const dt_search_result *f = &j->found;
    return f->exhausted && f->found_drawn && !f->blind && !j->problem->symmetries_cut && !has_needles(j) && !j->doubtful;
}

static bool conclude(const job *j, result *r) {
    const dt_search_result *f = &j->found;
    bool proved = is_proved(j);
    bool has_twins = r->public.verdict == DT_SEVERAL;
    r->public.steps = f->steps;
    r->public.counted = true;
    r->public.exact = proved && f->counted && !tells_twins_apart(j) && (j->settings->count || !f->found_other);
    r->public.fillings = f->fillings > 1.0 ? whole_number(f->fillings) : 1;
    r->public.distinct = f->distinct > 1.0 ? whole_number(f->distinct) : 1;
    if (has_twins) return true;
    if (f->found_other && !j->problem->symmetries_cut) r->public.verdict = DT_SEVERAL;
    else r->public.verdict = proved ? DT_ONE : DT_UNDECIDED;
    describe(j, r);
    if (r->public.verdict != DT_SEVERAL) return true;
    if (!r->public.exact && r->public.distinct < 2) r->public.distinct = 2;
    return keep_witness(j, f->other, r);
}

/* ---- the kerf's whole play ---- */

/* Groups whose borders differ by more than about half a kerf are not met with the search's usual tolerances. With wider ones it
 * takes many times as long, so it is asked only where "one way" would be the answer, and for puzzles of at most so many pieces. */
enum { MOST_WIDE = 100, MOST_EASED = 64 };
/* What is still off by this many kerfs where it fits best does not fit: the quarter is for what easing one after another may
 * miss. */
static const double SURELY_OFF = 1.25;

static dt_acceptance accept_eased(void *context, const dt_pose *poses) {
    job *j = context;
    double misfit;
    if (j->eased_count++ == MOST_EASED) return DT_FITS_PERHAPS;
    for (size_t i = 0; i < j->task.tile_count; i++) j->eased[i] = poses[i];
    for (int apart = 0; apart < 2; apart++) {
        if (dt_ease(&j->task, apart, j->eased, &misfit) != DT_OK) return DT_FITS_PERHAPS;
        if (accept(j, j->eased) == DT_FITS) return DT_FITS;
    }
    return misfit > SURELY_OFF * j->task.play_mm ? DT_FITS_NOT : DT_FITS_PERHAPS;
}

static void drop_problem(job *j) {
    dt_problem_free(j->problem);
    j->problem = NULL;
}

static dt_status make_wide_problem(job *j) {
    if (j->problem) return DT_OK;
    j->task.whole_play = true;
    dt_status status = dt_problem_new(&j->task, &j->problem);
    j->task.whole_play = false;
    return status;
}

static dt_status run_wide(job *j, uint64_t steps, const dt_watch *watch, dt_search_result *out) {
    dt_search_options options = {.steps = steps, .watch = watch, .accept = accept_eased, .context = j};
    dt_status status = make_wide_problem(j);
    return status == DT_OK ? dt_search_run(j->problem, &options, out) : status;
}

static bool conclude_wide(job *j, result *r) {
    if (!conclude(j, r)) return false;
    if (r->public.verdict != DT_SEVERAL) return true;
    r->public.exact = false;
    r->public.distinct = r->public.fillings = 2;
    free(r->moves);
    return keep_witness(j, j->eased, r);
}

static void doubt_whole_play(result *r) {
    r->public.verdict = DT_UNDECIDED;
    r->public.exact = false;
    snprintf(r->why, sizeof r->why, "one way as far as borders agree to half of what the laser burns away; whether groups "
             "of pieces fit elsewhere by using all of it could not be settled");
}

/* Is nothing left to ask? What is proved with the whole play holds for less play as well. But fillings that were refused spoil its
 * counts, and it does not count other ways: that is left to the search with less play. */
static bool is_settled(const job *j, bool is_last) {
    if (j->found.found_other) return is_last || !j->settings->count;
    return is_proved(j) && (is_last || j->found.distinct <= 1.0);
}

/* With the whole play, in at most so many steps more. is_last: the search with less play has had its say. */
static dt_status search_wide(job *j, uint64_t steps, bool is_last, const dt_watch *watch, result *r, bool *settled) {
    uint64_t before = j->found.steps;
    j->eased_count = 0;
    j->eased = malloc((j->task.tile_count + 1) * sizeof *j->eased);
    dt_status status = j->eased ? run_wide(j, steps, watch, &j->found) : DT_NO_MEMORY;
    j->found.steps += before;
    *settled = status == DT_OK && is_settled(j, is_last);
    if (status == DT_OK && (j->unverified || (*settled && !conclude_wide(j, r)))) status = DT_NO_MEMORY;
    free(j->found.other);
    free(j->eased);
    drop_problem(j);
    return status;
}

/* ---- forced places ---- */

enum { FEWEST_FORCED = 9 }; /* pieces from which on forced places are asked for: fewer are soon searched */

/* Comparisons, on sheets whose seams are distinct; with fewer allowed it is not begun. */
static uint64_t steps_to_force(uint64_t pieces) {
    return pieces * pieces / 50;
}

/* The whole as one tile: in how many ways does it fill its own outline? */
static dt_status count_whole(job *j, result *r) {
    const dt_region *region = &j->task.regions[0];
    dt_tile whole = {region->rings[0], region->rings + 1, region->ring_count - 1};
    dt_task task = j->task;
    task.tiles = &whole;
    task.tile_count = 1;
    task.alike_count = 0;
    dt_status status = dt_problem_new(&task, &j->problem);
    if (status != DT_OK) return status;
    r->public.fillings = j->problem->round ? 1 : j->problem->symmetry_count;
    r->public.exact = !j->problem->symmetries_cut;
    drop_problem(j);
    return DT_OK;
}

/* Lines may use the kerf's whole play where the search would allow it, too. */
static bool find_forced(job *j, const dt_watch *watch) {
    size_t count = dt_pieces_count(j->pieces);
    j->forced_known = true;
    if (count < FEWEST_FORCED || j->task.region_count != 1 || j->settings->steps < steps_to_force(count)) return true;
    double room = dt_seat_of(count <= MOST_WIDE ? 2.0 * j->task.play_mm : j->task.play_mm);
    return dt_forced_find(j->pieces, &j->task.regions[0], j->settings, room, watch, &j->arena, &j->forced);
}

/* Where every piece has its drawn place in every assembly there is one. *answered is false where that cannot be shown so. */
static dt_status answer_by_force(job *j, const dt_watch *watch, result *r, bool *answered) {
    *answered = false;
    if (j->doubtful || j->task.alike_count) {
        j->forced = (dt_forced){.count = 0};
        return DT_OK;
    }
    if (!j->forced_known && !find_forced(j, watch)) return DT_NO_MEMORY;
    r->public.steps = j->forced.steps;
    if (!j->forced.all) return DT_OK;
    *answered = true;
    r->public.verdict = DT_ONE;
    r->public.counted = true;
    r->public.distinct = 1;
    snprintf(r->why, sizeof r->why, "no other piece fits beside those that lie, wherever one begins");
    return count_whole(j, r);
}

/* What most puzzles of at most MOST_WIDE pieces with one way take, for each piece: see search. */
enum { FIRST_STEPS = 64 };

/* Lines that nearly meet make work that grows with the square of the pieces; below this many steps a large sheet would
 * only be begun. */
static bool is_hopeless(const job *j, result *r) {
    uint64_t count = j->task.tile_count, steps = j->settings->steps, needed = 4 * count * count;
    if (count <= MOST_WIDE && FIRST_STEPS * count < needed) needed = FIRST_STEPS * count;
    if (steps >= needed) return false;
    if (steps < steps_to_force(count)) needed = steps_to_force(count);
    snprintf(r->why, sizeof r->why, "no two pieces are alike; to try larger groups of %llu pieces, allow at least %llu steps",
             (unsigned long long)count, (unsigned long long)needed);
    return true;
}

static uint64_t steps_left(const job *j) {
    return j->settings->steps > j->found.steps ? j->settings->steps - j->found.steps : 0;
}

/* With lines that agree to half a kerf. */
static dt_status search_close(job *j, const dt_watch *watch, result *r) {
    uint64_t before = j->found.steps;
    dt_search_options options = {.steps = steps_left(j), .all = j->settings->count, .watch = watch, .accept = accept, .context = j};
    dt_status status = dt_problem_new(&j->task, &j->problem);
    if (status == DT_OK) status = dt_search_run(j->problem, &options, &j->found);
    j->found.steps += before;
    if (status == DT_OK && (j->unverified || !conclude(j, r))) status = DT_NO_MEMORY;
    free(j->found.other);
    drop_problem(j);
    return status;
}

/* Where the pieces have few places that lie clearly apart, all assemblies are among those. */
static dt_status search_listed(job *j, const dt_watch *watch, result *r, bool *settled) {
    dt_search_options options = {.steps = j->settings->steps, .all = j->settings->count, .watch = watch, .accept = accept, .context = j};
    dt_status status = make_wide_problem(j);
    if (status == DT_OK) status = dt_listed_run(j->problem, &options, &j->found, settled);
    if (status == DT_OK && (j->unverified || (*settled && !conclude(j, r)))) status = DT_NO_MEMORY;
    if (*settled) free(j->found.other);
    return status;
}

/* Between right angles more play makes no more candidates. */
static bool is_square(const dt_problem *problem) {
    bool square = dt_body_is_square(&problem->container);
    for (uint32_t b = 0; b < problem->body_count && square; b++) square = dt_body_is_square(&problem->bodies[b]);
    return square;
}

/* Most puzzles with one way are proved with the whole play in few steps. Where those are too few, the search with less
 * play, which finds other ways sooner, comes first; but for right angles it would do so in as many steps. */
static dt_status search(job *j, bool has_twins, const dt_watch *watch, result *r) {
    bool wide = !has_twins && j->task.tile_count <= MOST_WIDE, settled = false;
    dt_status status = j->task.tile_count <= MOST_WIDE ? search_listed(j, watch, r, &settled) : DT_OK;
    uint64_t first = j->problem && is_square(j->problem) ? UINT64_MAX : FIRST_STEPS * j->task.tile_count;
    if (!wide || settled || status != DT_OK) drop_problem(j);
    if (settled || status != DT_OK) return status;
    status = wide ? search_wide(j, first < steps_left(j) ? first : steps_left(j), false, watch, r, &settled) : DT_OK;
    if (status != DT_OK || settled) return status;
    status = search_close(j, watch, r);
    if (status != DT_OK || !wide || r->public.verdict != DT_ONE) return status;
    dt_assembly close = r->public;
    status = search_wide(j, steps_left(j), true, watch, r, &settled);
    if (status == DT_OK && !settled) doubt_whole_play(r);
    if (status == DT_OK && r->public.verdict == DT_ONE) r->public.fillings = close.fillings, r->public.distinct = close.distinct;
    r->public.steps = j->found.steps;
    return status;
}

/* What is forced lies still: the others are to fill what is left. */
static bool hold_forced(job *j) {
    const dt_forced *forced = &j->forced;
    size_t count = dt_pieces_count(j->pieces), rest = 0;
    dt_tile *tiles = DT_TAKE(&j->arena, count - forced->count, dt_tile);
    dt_region *left = DT_TAKE(&j->arena, 1, dt_region);
    j->piece_of = DT_TAKE(&j->arena, count - forced->count, uint32_t);
    if (!tiles || !left || !j->piece_of) return false;
    for (uint32_t i = 0; i < count; i++) {
        if (forced->pieces[i]) continue;
        tiles[rest] = j->task.tiles[i];
        j->piece_of[rest++] = i;
    }
    j->task.tiles = tiles;
    j->task.tile_count = rest;
    j->task.regions = left;
    j->task.held = true;
    return dt_outline_rest(j->pieces, forced->pieces, &j->arena, left);
}

/* Every way of those that are not forced goes with every way to turn the whole. */
static dt_status search_rest(job *j, const dt_watch *watch, result *r) {
    dt_status status = count_whole(j, r);
    uint64_t turns = r->public.fillings;
    bool exact = r->public.exact;
    if (status == DT_OK && !hold_forced(j)) status = DT_NO_MEMORY;
    if (status == DT_OK && !is_hopeless(j, r)) status = search(j, false, watch, r);
    r->public.fillings *= turns;
    r->public.exact = r->public.exact && exact;
    return status;
}

static dt_status answer(job *j, bool has_twins, const dt_watch *watch, result *r) {
    bool answered = false;
    dt_status status = list_alike(j) ? DT_OK : DT_NO_MEMORY;
    if (status == DT_OK && !has_twins) status = answer_by_force(j, watch, r, &answered);
    if (status != DT_OK || answered) return status;
    uint64_t steps = r->public.steps;
    bool held = !has_twins && j->forced.count && j->task.tile_count > MOST_WIDE;
    if (!held && !has_twins && is_hopeless(j, r)) return DT_OK;
    status = held ? search_rest(j, watch, r) : search(j, has_twins, watch, r);
    r->public.steps += steps;
    return status;
}

/* ---- the stage ---- */

struct dt_assembly_begun {
    job job;
};

void dt_assembly_begun_free(dt_assembly_begun *begun) {
    if (!begun) return;
    dt_arena_free(&begun->job.arena);
    free(begun);
}

static dt_status begin(const dt_pieces *pieces, const dt_settings *settings, dt_assembly_begun **out, dt_error *error) {
    dt_assembly_begun *begun = calloc(1, sizeof *begun);
    if (begun) begun->job = (job){.pieces = pieces, .settings = settings, .arena = DT_ARENA(MEMORY_LIMIT)};
    *out = begun;
    if (begun && outline(&begun->job)) return DT_OK;
    dt_assembly_begun_free(begun);
    return dt_fail(error, DT_NO_MEMORY, "no memory left to look for other assemblies");
}

dt_status dt_assembly_begin(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch,
                            dt_assembly_begun **out, dt_error *error) {
    dt_assembly_begun *begun;
    dt_status status = begin(pieces, settings, &begun, error);
    if (status != DT_OK) return status;
    if (find_forced(&begun->job, watch)) {
        *out = begun;
        return DT_OK;
    }
    dt_assembly_begun_free(begun);
    return dt_fail(error, DT_NO_MEMORY, "no memory left to look for other assemblies");
}

dt_status dt_assembly_finish(dt_assembly_begun *begun, const dt_pieces *pieces, const dt_fit *fit,
                             const dt_settings *settings, const dt_watch *watch, dt_assembly **out, dt_error *error) {
    dt_move moves[2];
    bool has_twins;
    job *j = &begun->job;
    result *r = calloc(1, sizeof *r);
    dt_status status = r ? DT_OK : DT_NO_MEMORY;
    if (!r) goto done;
    r->public.why = r->why;
    r->public.verdict = DT_UNDECIDED;
    j->pieces = pieces;
    j->fit = fit;
    j->settings = settings;
    status = exchange_twins(j, moves, &has_twins, &j->doubtful);
    if (status == DT_OK && has_twins && !answer_by_twins(r, moves)) status = DT_NO_MEMORY;
    if (status == DT_OK && (!has_twins || settings->count)) status = answer(j, has_twins, watch, r);
done:
    dt_assembly_begun_free(begun);
    if (status == DT_OK) {
        *out = &r->public;
        return DT_OK;
    }
    if (r) dt_assembly_free(&r->public);
    return dt_fail(error, status, "looking for other assemblies: %s", dt_status_text(status));
}

dt_status dt_assembly_new(const dt_pieces *pieces, const dt_graph *graph, const dt_fit *fit, const dt_settings *settings,
                          const dt_watch *watch, dt_assembly **out, dt_error *error) {
    dt_assembly_begun *begun;
    dt_status status = begin(pieces, settings, &begun, error);
    (void)graph;
    return status == DT_OK ? dt_assembly_finish(begun, pieces, fit, settings, watch, out, error) : status;
}
