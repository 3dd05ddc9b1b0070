/* Assemblies of listed stations. Exact covers against trying all; stations against published numbers of places; drafts
 * where stations nearly coincide, which must not be answered. That what is counted is right is checked by
 * assembly_counts and assembly_lattice, whose drafts are answered from here first. */
#include "assembly/catalogue.h"
#include "assembly/exact_cover.h"
#include "assembly/listed.h"
#include "assembly/outline.h"
#include "counts.h"
#include "cover.h"
#include "failing.h"
#include "perturbed.h"

#include <check.h>
#include <math.h>

/* ---- exact covers ---- */

enum { COLUMNS = 7, ROWS = 18, KINDS = 4 };

typedef struct matrix {
    uint32_t columns_of[ROWS], kind_of[ROWS], room[KINDS]; /* columns_of: bits */
} matrix;

static matrix random_matrix(uint64_t seed) {
    matrix m;
    for (int k = 0; k < KINDS; k++) m.room[k] = 1 + (uint32_t)(draft_random(&seed) * 3.0);
    for (int r = 0; r < ROWS; r++) {
        m.columns_of[r] = 0;
        for (uint32_t c = 0; c < COLUMNS; c++) m.columns_of[r] |= (uint32_t)(draft_random(&seed) < 0.3) << c;
        m.columns_of[r] |= 1u << (uint32_t)(draft_random(&seed) * COLUMNS);
        m.kind_of[r] = (uint32_t)(draft_random(&seed) * KINDS);
    }
    return m;
}

/* All subsets of the rows, one by one. */
static uint32_t count_by_trying(const matrix *m) {
    uint32_t count = 0;
    for (uint32_t set = 0; set < 1u << ROWS; set++) {
        uint32_t covered = 0, used[KINDS] = {0};
        bool fits = true;
        for (uint32_t r = 0; r < ROWS && fits; r++) {
            if (!(set >> r & 1)) continue;
            fits = !(covered & m->columns_of[r]);
            covered |= m->columns_of[r];
            used[m->kind_of[r]]++;
        }
        for (int k = 0; k < KINDS; k++) fits = fits && used[k] <= m->room[k] && (m->room[k] > 1 || used[k] == 1);
        count += fits && covered == (1u << COLUMNS) - 1;
    }
    return count;
}

static dt_cover_next count_found(void *context, const uint32_t *rows, uint32_t count) {
    (void)rows;
    (void)count;
    ++*(uint32_t *)context;
    return DT_COVER_ON;
}

static dt_cover_next go_on(void *context) {
    (void)context;
    return DT_COVER_ON;
}

static void strike_nothing(void *context, uint32_t row) {
    (void)context;
    (void)row;
}

static uint32_t count_by_covering(const matrix *m, uint32_t root) {
    uint32_t first[ROWS + 1] = {0}, columns[ROWS * COLUMNS], used = 0, count = 0;
    for (uint32_t r = 0; r < ROWS; r++) {
        for (uint32_t c = 0; c < COLUMNS; c++)
            if (m->columns_of[r] >> c & 1) columns[used++] = c;
        first[r + 1] = used;
    }
    dt_cover_task task = {COLUMNS, ROWS, KINDS, first, columns, m->kind_of, m->room};
    dt_cover *cover = dt_cover_new(&task);
    ck_assert_ptr_nonnull(cover);
    dt_cover_calls calls = {&count, count_found, go_on, strike_nothing};
    ck_assert(dt_cover_run(cover, root, &calls));
    dt_cover_free(cover);
    return count;
}

START_TEST(as_many_covers_as_by_trying_all) {
    uint32_t all = 0;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        matrix m = random_matrix(seed);
        uint32_t known = count_by_trying(&m);
        for (uint32_t root = 0; root < COLUMNS + KINDS; root++)
            if (root < COLUMNS || m.room[root - COLUMNS] == 1) ck_assert_uint_eq(count_by_covering(&m, root), known);
        all += known;
    }
    ck_assert_uint_gt(all, 12); /* the sample is one */
}
END_TEST

/* ---- stations ---- */

typedef struct posed {
    dt_arena arena;
    dt_net *net;
    dt_pieces *pieces;
    dt_problem *problem;
} posed;

static posed pose(draft *d, bool two_sided) {
    posed p = {.arena = DT_ARENA((size_t)1 << 26)};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_region *regions;
    dt_task task = {.play_mm = settings.kerf_mm, .whole_play = true, .two_sided = two_sided};
    p.pieces = draft_pieces(d, &settings, &p.net);
    draft_free(d);
    task.tile_count = dt_pieces_count(p.pieces);
    dt_tile *tiles = DT_TAKE(&p.arena, task.tile_count, dt_tile);
    ck_assert_ptr_nonnull(tiles);
    for (uint32_t i = 0; i < task.tile_count; i++) {
        const dt_piece *piece = dt_pieces_get(p.pieces, (dt_piece_id){i});
        tiles[i] = (dt_tile){piece->outline, piece->holes, piece->hole_count};
    }
    ck_assert(dt_outline_regions(p.pieces, &p.arena, &regions, &task.region_count));
    task.tiles = tiles;
    task.regions = regions;
    ck_assert_int_eq(dt_problem_new(&task, &p.problem), DT_OK);
    return p;
}

static void posed_free(posed *p) {
    dt_problem_free(p->problem);
    dt_pieces_free(p->pieces);
    dt_net_free(p->net);
    dt_arena_free(&p->arena);
}

static size_t count_stations(draft *d, bool two_sided) {
    posed p = pose(d, two_sided);
    dt_catalogue stations;
    ck_assert(dt_catalogue_make(p.problem, &stations));
    size_t count = stations.sure ? stations.stations.count : 0;
    dt_catalogue_free(&stations);
    posed_free(&p);
    return count;
}

static draft *published(const char *name, perturbing way) {
    draft *d = draft_new();
    counted_draft_named(name)->draw(d);
    return perturbed(d, way, 1);
}

/* The twelve pentominoes have 2056 places in 6 x 10 and 1568 in 8 x 8 without its middle: D. E. Knuth, The Art of
 * Computer Programming 4B, 7.2.2.1, options of the two exact cover problems (from memory). Dominoes in n x n: 2 n (n -
 * 1). */
START_TEST(as_many_stations_as_places) {
    ck_assert_uint_eq(count_stations(published("pentominoes-6x10", AS_DRAWN), true), 2056);
    ck_assert_uint_eq(count_stations(published("pentominoes-8x8-hole", AS_DRAWN), true), 1568);
    ck_assert_uint_eq(count_stations(published("dominoes-4x4", AS_DRAWN), true), 24);
    ck_assert_uint_eq(count_stations(published("dominoes-6x6", AS_DRAWN), true), 60);
}
END_TEST

/* Drawn less exactly they are the same, or the catalogue says that it is not sure. */
START_TEST(stations_of_inexact_drawings) {
    size_t sure = 0;
    for (perturbing way = ROUNDED; way < PERTURBINGS; way++) {
        size_t count = count_stations(published("dominoes-4x4", way), true);
        ck_assert_msg(count == 0 || count == 24, "%s: %zu", perturbing_names[way], count);
        sure += count > 0;
    }
    ck_assert_uint_ge(sure, 3);
}
END_TEST

/* ---- what is in doubt ---- */

static bool is_answered(draft *d, bool two_sided) {
    posed p = pose(d, two_sided);
    dt_search_options options = {.steps = 1000000, .all = true};
    dt_search_result found = {.other = NULL};
    bool answered;
    ck_assert_int_eq(dt_listed_run(p.problem, &options, &found, &answered), DT_OK);
    free(found.other);
    posed_free(&p);
    return answered;
}

static draft *turned(const char *name, double degrees) {
    draft *d = published(name, AS_DRAWN);
    double angle = degrees / 180.0 * acos(-1.0);
    draft_transform(d, (dt_pose){cos(angle), sin(angle), {-17.3, 41.9}, false}, 1.0);
    return d;
}

/* A sheet that is turned has the same stations, however its points fall on the grid of lines; and where it fills little
 * of its box it is answered too. */
START_TEST(turned_sheets_have_the_same_stations) {
    size_t upright = count_stations(turned("pentominoes-3x20", 0.0), true);
    ck_assert_uint_gt(upright, 0);
    for (int i = 0; i < 60; i++) {
        double degrees = 3.7 + 5.9 * i;
        ck_assert_msg(count_stations(turned("pentominoes-3x20", degrees), true) == upright, "%.1f degrees", degrees);
    }
    ck_assert(is_answered(turned("pentominoes-3x20", 37.3), true));
    ck_assert(is_answered(turned("pentominoes-3x20", 211.9), true));
}
END_TEST

/* A square of four strips lying and two standing, all 20 wide but for `more`. */
static draft *strips(double more) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 80, 80);
    draft_segment(d, 40, 0, 40, 80);
    for (int i = 1; i < 4; i++)
        draft_segment(d, 0, 20.0 * i + (i == 2 ? more : 0.0), 40, 20.0 * i + (i == 2 ? more : 0.0));
    draft_segment(d, 60, 0, 60, 80);
    return d;
}

START_TEST(nearly_coinciding_stations_answer_nothing) {
    ck_assert(is_answered(strips(0.0), false));
    ck_assert(!is_answered(strips(0.2), false));
    ck_assert(!is_answered(strips(0.4), false));
    ck_assert(!is_answered(strips(0.8), false));
}
END_TEST

START_TEST(curves_and_free_angles_answer_nothing) {
    draft *curved = draft_new();
    draft_rectangle(curved, 0, 0, 60, 40);
    draft_circle(curved, 30, 20, 10);
    ck_assert(!is_answered(curved, false));
    ck_assert(!is_answered(published("stomachion", AS_DRAWN), true));
    ck_assert(!is_answered(published("squares-69x61", AS_DRAWN), true)); /* more stations than are kept */
}
END_TEST

/* ---- against the search ---- */

static dissection random_board(uint64_t seed) {
    static const unsigned columns[] = {3, 4, 4, 5, 5, 4}, rows[] = {3, 3, 4, 3, 4, 5}, size[] = {2, 3, 3, 4, 4, 3};
    size_t i = seed % 6;
    return dissect(columns[i], rows[i], size[i], seed % 3 == 0 ? 2 : 0, seed);
}

/* The search for drafts of any kind meets the same fillings: it is no longer asked for these by dt_assembly_new, so
 * here it is. */
START_TEST(as_many_as_the_search_finds) {
    unsigned answered = 0;
    for (uint64_t seed = 1; seed <= 24; seed++) {
        bool two_sided = seed / 6 % 2, is_answered_here;
        dissection cells = random_board(seed);
        cover_count known = count_covers(&cells, two_sided);
        draft *d = draft_new();
        draw_dissection(d, &cells, 12.0);
        posed p = pose(d, two_sided);
        dt_search_options options = {.steps = 400000, .all = true};
        dt_search_result listed = {.other = NULL}, searched = {.other = NULL};
        ck_assert_int_eq(dt_listed_run(p.problem, &options, &listed, &is_answered_here), DT_OK);
        ck_assert_int_eq(dt_search_run(p.problem, &options, &searched), DT_OK);
        ck_assert(!is_answered_here || (listed.exhausted && listed.found_drawn));
        if (is_answered_here) ck_assert_uint_eq((uint64_t)listed.fillings, known.fillings);
        if (is_answered_here) ck_assert_uint_eq((uint64_t)listed.distinct, known.distinct);
        ck_assert(searched.exhausted && searched.found_drawn && !searched.blind);
        ck_assert_uint_eq((uint64_t)searched.fillings, known.fillings);
        ck_assert_uint_eq((uint64_t)searched.distinct, known.distinct);
        answered += is_answered_here;
        free(listed.other);
        free(searched.other);
        posed_free(&p);
    }
    ck_assert_uint_ge(answered, 20);
}
END_TEST

/* ---- memory ---- */

#ifdef WRAPPED_ALLOCATIONS

static dt_acceptance take_any(void *context, const dt_pose *poses) {
    (void)context;
    (void)poses;
    return DT_FITS;
}

/* With the nth allocation failing: the right count, or DT_NO_MEMORY, and nothing left behind. */
static dt_status count_while_failing(const dt_problem *problem, size_t nth, size_t *asked) {
    dt_search_options options = {.steps = 100000, .all = true, .accept = take_any};
    dt_search_result found = {.other = NULL};
    bool answered = false;
    failing_begin(nth, nth % 2 == 0);
    dt_status status = dt_listed_run(problem, &options, &found, &answered);
    free(found.other);
    *asked = failing_end();
    long left = failing_left_over();
    ck_assert_int_eq(left, 0);
    ck_assert(status == DT_OK || status == DT_NO_MEMORY);
    if (status == DT_OK) ck_assert(answered && found.exhausted && found.fillings == 36.0);
    return status;
}

START_TEST(a_failed_allocation_is_no_memory) {
    posed p = pose(published("dominoes-4x4", AS_DRAWN), true);
    size_t asked, ignored, failed = 0;
    ck_assert_int_eq(count_while_failing(p.problem, 0, &asked), DT_OK);
    for (size_t nth = 1; nth <= asked; nth++) failed += count_while_failing(p.problem, nth, &ignored) == DT_NO_MEMORY;
    ck_assert_uint_gt(failed, asked / 2);
    posed_free(&p);
}
END_TEST

#endif

Suite *suite_assembly_listed(void);
Suite *suite_assembly_listed(void) {
    Suite *suite = suite_create("assembly_listed");
    TCase *all = tcase_create("all");
    tcase_add_test(all, as_many_covers_as_by_trying_all);
    tcase_add_test(all, as_many_stations_as_places);
    tcase_add_test(all, stations_of_inexact_drawings);
    tcase_add_test(all, turned_sheets_have_the_same_stations);
    tcase_add_test(all, nearly_coinciding_stations_answer_nothing);
    tcase_add_test(all, curves_and_free_angles_answer_nothing);
    tcase_add_test(all, as_many_as_the_search_finds);
#ifdef WRAPPED_ALLOCATIONS
    tcase_add_test(all, a_failed_allocation_is_no_memory);
#endif
    suite_add_tcase(suite, all);
    return suite;
}
