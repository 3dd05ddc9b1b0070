/* The parts of src/graph that stand alone, against plain and slow twins: sets of directions, the proof of strong
 * connectivity, the figures that igraph gives, the reduced outline. */
#include "draft.h"
#include "graph/certificate.h"
#include "graph/directions.h"
#include "graph/solids.h"

#include <check.h>
#include <igraph/igraph.h>
#include <math.h>
#include <string.h>

/* ---- directions ---- */

START_TEST(turns_and_degrees) {
    ck_assert_double_eq(turn_of((dt_point){5, 0}), 0);
    ck_assert_double_eq(turn_of((dt_point){0, -2}), 1); /* y runs down: up as seen */
    ck_assert_double_eq(turn_of((dt_point){-1, 0}), 2);
    ck_assert_double_eq(turn_of((dt_point){0, 3}), 3);
    for (int k = 0; k < 3600; k++) {
        double degrees = 0.1 * k, turn = turn_from_degrees(degrees);
        ck_assert_double_eq_tol(turn_to_degrees(turn), degrees, 1e-9);
        ck_assert(k == 0 || turn > turn_from_degrees(degrees - 0.1));
    }
    ck_assert_double_eq(turn_to_degrees(4), 360);
    dt_point v = {-3.7, 1.1}, w = {3.7, -1.1};
    ck_assert_double_eq(turn_of(v), turn_of(w) + 2);
    ck_assert_double_lt(turn_of((dt_point){1, 1e-300}), 4); /* just below 0 is just below 4 */
}
END_TEST

#define FINE 64 /* parts of a quarter; ends of arcs are whole parts, so a bitmap of their middles is exact */

START_TEST(sets_of_directions_agree_with_a_bitmap) {
    uint64_t state = (uint64_t)_i + 1;
    bool map[4 * FINE] = {false};
    directions set = {0};
    for (int n = 0; n < 12; n++) {
        int from = (int)(4 * FINE * draft_random(&state)), length = 1 + (int)(FINE * draft_random(&state));
        ck_assert(directions_add(&set, (arc){(double)from / FINE, (double)(from + length) / FINE}));
        for (int k = from; k < from + length; k++) map[k % (4 * FINE)] = true;
        int free = 0, widest = 0;
        for (int k = 0, run = 0; k < 8 * FINE; k++) {
            run = map[k % (4 * FINE)] ? 0 : run + 1;
            widest = run > widest ? run : widest;
            if (k < 4 * FINE) free += !map[k];
            double middle = (k % (4 * FINE) + 0.5) / FINE;
            ck_assert_int_eq(directions_cover(&set, (arc){middle, middle}), map[k % (4 * FINE)]);
        }
        arc gap = {0, 0};
        ck_assert_int_eq(directions_widest_gap(&set, &gap), free > 0);
        ck_assert_int_eq(directions_are_all(&set), free == 0);
        if (free) ck_assert_double_eq_tol((gap.to - gap.from) * FINE, widest, 1e-9);
    }
    directions_free(&set);
}
END_TEST

START_TEST(an_arc_holds_its_vectors_or_says_no) {
    const dt_point half[] = {{1, -0.1}, {-1, -0.1}, {0, -1}};
    arc a;
    ck_assert(arc_of(half, 3, &a));
    ck_assert(arc_holds(a, 1) && !arc_holds(a, 3));
    const dt_point across[] = {{1, 0.2}, {1, -0.2}};
    ck_assert(arc_of(across, 2, &a));
    ck_assert(a.to > 4 && arc_holds(a, 0) && arc_holds(arc_opposite(a), 2));
    const dt_point round[] = {{1, 0}, {-1, -2}, {-1, 2}}, with_origin[] = {{1, 0}, {0, 0}};
    ck_assert(!arc_of(round, 3, &a) && !arc_of(with_origin, 2, &a));
}
END_TEST

/* ---- the proof of strong connectivity ---- */

static bool reaches_all(const link *links, const bool *present, size_t count, uint32_t vertices, bool backwards) {
    bool reached[32] = {true};
    for (uint32_t round = 0; round < vertices; round++)
        for (size_t i = 0; i < count; i++) {
            uint32_t from = backwards ? links[i].to : links[i].from, to = backwards ? links[i].from : links[i].to;
            if (present[i] && reached[from]) reached[to] = true;
        }
    for (uint32_t v = 0; v < vertices; v++)
        if (!reached[v]) return false;
    return true;
}

/* Changes one graph 400 times; how often it was strongly connected when looked at. */
static int follow_links(uint64_t seed) {
    uint64_t state = seed;
    uint32_t vertices = 2 + (uint32_t)(20 * draft_random(&state));
    link links[90];
    bool present[90];
    size_t count = 3 * vertices + (size_t)(20 * draft_random(&state));
    for (size_t i = 0; i < count; i++) {
        uint32_t from = (uint32_t)(vertices * draft_random(&state));
        links[i] = (link){from, (from + 1 + (uint32_t)((vertices - 1) * draft_random(&state))) % vertices};
        present[i] = true;
    }
    certificate proof;
    ck_assert_int_eq(certificate_new(vertices, links, count, &proof), DT_OK);
    int strong = 0;
    for (int n = 0; n < 400; n++) {
        uint32_t i = (uint32_t)((double)count * draft_random(&state));
        if (present[i] && draft_random(&state) < 0.4)
            certificate_remove(&proof, i), present[i] = false;
        else
            certificate_restore(&proof, i), present[i] = true;
        if (draft_random(&state) < 0.3) continue; /* several changes between two looks */
        bool expected =
            reaches_all(links, present, count, vertices, false) && reaches_all(links, present, count, vertices, true);
        ck_assert_int_eq(certificate_is_strong(&proof), expected);
        strong += expected;
        uint32_t part[32];
        link there[90];
        size_t there_count = 0, parts;
        for (size_t k = 0; k < count; k++)
            if (present[k]) there[there_count++] = links[k];
        ck_assert_int_eq(network_strong_parts(vertices, there, there_count, part, &parts), DT_OK);
        ck_assert_int_eq(parts == 1, expected);
    }
    certificate_free(&proof);
    return strong;
}

START_TEST(a_proof_follows_the_links) {
    int strong = 0;
    for (uint64_t seed = 0; seed < 40; seed++) strong += follow_links(seed);
    ck_assert(strong > 2000 && strong < 10000); /* of about 11200 looks */
}
END_TEST

/* ---- figures of a network ---- */

#define VERTICES 40

/* Steps between all pairs: Floyd and Warshall. */
static uint32_t longest_path(const link *links, size_t count, uint32_t (*steps)[VERTICES]) {
    for (int u = 0; u < VERTICES; u++)
        for (int v = 0; v < VERTICES; v++) steps[u][v] = u == v ? 0 : 1000;
    for (size_t i = 0; i < count; i++) steps[links[i].from][links[i].to] = steps[links[i].to][links[i].from] = 1;
    uint32_t longest = 0;
    for (int k = 0; k < VERTICES; k++)
        for (int u = 0; u < VERTICES; u++)
            for (int v = 0; v < VERTICES; v++)
                if (steps[u][k] + steps[k][v] < steps[u][v]) steps[u][v] = steps[u][k] + steps[k][v];
    for (int u = 0; u < VERTICES; u++)
        for (int v = 0; v < VERTICES; v++)
            if (steps[u][v] < 1000 && steps[u][v] > longest) longest = steps[u][v];
    return longest;
}

static size_t components(uint32_t (*steps)[VERTICES]) {
    size_t count = 0;
    for (int v = 0; v < VERTICES; v++) {
        bool first = true;
        for (int u = 0; u < v; u++) first = first && steps[u][v] == 1000;
        count += first;
    }
    return count;
}

START_TEST(figures_agree_with_plain_searches) {
    uint64_t state = (uint64_t)_i + 5;
    link links[3 * VERTICES];
    size_t count = 0;
    double width = 2 + 12 * draft_random(&state); /* from long chains to thick nets */
    for (uint32_t u = 0; u < VERTICES; u++)
        for (uint32_t v = u + 1; v < VERTICES && count < 3 * VERTICES; v++)
            if (v - u < width && draft_random(&state) < 2.2 / width) links[count++] = (link){u, v};
    bool border[VERTICES], cut[VERTICES];
    for (int v = 0; v < VERTICES; v++) border[v] = draft_random(&state) < 0.1;
    uint32_t depth[VERTICES], steps[VERTICES][VERTICES], less[VERTICES][VERTICES];
    network_figures figures = {.cut = cut, .depth = depth};
    ck_assert_int_eq(network_measure(VERTICES, links, count, border, &figures), DT_OK);
    uint32_t diameter;
    ck_assert_int_eq(network_diameter(VERTICES, links, count, &diameter), DT_OK);
    ck_assert_uint_eq(diameter, longest_path(links, count, steps));
    ck_assert_uint_eq(figures.components, components(steps));
    for (uint32_t v = 0; v < VERTICES; v++) {
        uint32_t nearest = UINT32_MAX;
        for (int u = 0; u < VERTICES; u++)
            if (border[u] && steps[u][v] < 1000 && steps[u][v] < nearest) nearest = steps[u][v];
        ck_assert_uint_eq(depth[v], nearest);
        link rest[3 * VERTICES];
        size_t kept = 0;
        bool lone = true;
        for (size_t i = 0; i < count; i++) {
            bool touches = links[i].from == v || links[i].to == v;
            lone = lone && !touches;
            if (!touches) rest[kept++] = links[i];
        }
        longest_path(rest, kept, less);
        ck_assert_int_eq(cut[v], !lone && components(less) > figures.components + 1); /* v itself stays, alone */
    }
}
END_TEST

static void of_another(const char *reason, const char *file, int line, igraph_error_t code) {
    (void)reason, (void)file, (void)line, (void)code;
}

START_TEST(the_error_handler_of_igraph_is_put_back) {
    igraph_error_handler_t *before = igraph_set_error_handler(of_another);
    const link links[] = {{0, 1}};
    bool border[2] = {true, false}, cut[2];
    uint32_t part[2], depth[2];
    size_t parts;
    network_figures figures = {.cut = cut, .depth = depth};
    ck_assert_int_eq(network_measure(2, links, 1, border, &figures), DT_OK);
    ck_assert_int_eq(network_strong_parts(2, links, 1, part, &parts), DT_OK);
    ck_assert(igraph_set_error_handler(before) == of_another);
}
END_TEST

/* ---- reduced outlines ---- */

static double area_of(const body *b) {
    return dt_path_area((dt_path){b->points, b->point_count});
}

/* A rectangle shrinks to a rectangle; an L keeps an arc at its reflex corner, in chords of 15 degrees. */
START_TEST(reduced_shapes) {
    const dt_point l[] = {{0, 0}, {10, 0}, {10, 4}, {4, 4}, {4, 10}, {0, 10}},
                   rectangle[] = {{0, 0}, {10, 0}, {10, 6}, {0, 6}};
    body b;
    ck_assert_int_eq(body_new((dt_path){rectangle, 4}, NULL, 0, 1, (dt_point){5, 3}, &b), DT_OK);
    ck_assert_double_eq_tol(area_of(&b), 32, 1e-9);
    body_free(&b);
    ck_assert_int_eq(body_new((dt_path){l, 6}, NULL, 0, 1, (dt_point){2, 2}, &b), DT_OK);
    double arms = 8 * 8 - 6 * 6 + 1 - 0.25 * 3.14159265358979,
           chords = 0.25 * 3.14159265358979 - 6 * 0.5 * sin(0.261799387799);
    ck_assert_double_eq_tol(area_of(&b), arms + chords, 1e-9);
    body_free(&b);
    ck_assert_int_eq(body_new((dt_path){rectangle, 4}, NULL, 0, 3.5, (dt_point){5, 3}, &b),
                     DT_OK); /* nothing is left of it */
    ck_assert(b.leaf_count == 1 && b.points[0].x == 5 && b.points[1].y == 3);
    body_free(&b);
}
END_TEST

/* A bridge thinner than the kerf leaves two parts; a thin one that is short is taken to hold. */
START_TEST(a_bridge_thinner_than_the_kerf_breaks) {
    const dt_point bone[] = {{0, 0},  {4, 0}, {4, 1.9}, {8, 1.9}, {8, 0}, {12, 0},
                             {12, 4}, {8, 4}, {8, 2.1}, {4, 2.1}, {4, 4}, {0, 4}};
    body b;
    ck_assert_int_eq(body_new((dt_path){bone, 12}, NULL, 0, 0.2, (dt_point){2, 2}, &b), DT_OK);
    for (uint32_t i = 0; i < b.leaf_count; i++)
        for (uint32_t k = 1; k < b.leaves[i].count; k++) {
            const dt_point *p = b.points + b.leaves[i].start + k;
            ck_assert((p[-1].x < 6) == (p[0].x < 6)); /* no stretch leads from one part to the other */
        }
    body_free(&b);
}
END_TEST

Suite *suite_graph_parts(void);
Suite *suite_graph_parts(void) {
    Suite *suite = suite_create("graph_parts");
    TCase *cases = tcase_create("graph_parts");
    tcase_add_test(cases, turns_and_degrees);
    tcase_add_loop_test(cases, sets_of_directions_agree_with_a_bitmap, 0, 200);
    tcase_add_test(cases, an_arc_holds_its_vectors_or_says_no);
    tcase_add_test(cases, a_proof_follows_the_links);
    tcase_add_loop_test(cases, figures_agree_with_plain_searches, 0, 24);
    tcase_add_test(cases, the_error_handler_of_igraph_is_put_back);
    tcase_add_test(cases, reduced_shapes);
    tcase_add_test(cases, a_bridge_thinner_than_the_kerf_breaks);
    suite_add_tcase(suite, cases);
    return suite;
}
