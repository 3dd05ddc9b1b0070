/* The contiguous states of the USA, against D. E. Knuth's contiguous-usa data (The Stanford GraphBase; The Art of
 * Computer Programming 4A): see corpus/README.md for the drawing. States with islands are several pieces, so pieces are
 * grouped by state. */
#include "base/array.h"

#include <check.h>
#include <dovetell/drawing.h>
#include <dovetell/graph.h>
#include <stdio.h>
#include <string.h>

#define MOST_STATES 64
#define DISTRICT "District of Columbia"

typedef struct map {
    dt_drawing *drawing;
    dt_net *net;
    dt_pieces *pieces;
    dt_graph *graph;
    char names[MOST_STATES][32];
    int count;
    int *state_of; /* per piece, -1 = none */
    bool border[MOST_STATES][MOST_STATES];
} map;

static int state_named(map *m, const char *name) {
    for (int i = 0; i < m->count; i++)
        if (strcmp(m->names[i], name) == 0) return i;
    return -1;
}

static int piece_at(const map *m, dt_point at) {
    for (uint32_t i = 0; i < dt_pieces_count(m->pieces); i++)
        if (dt_path_contains(dt_pieces_get(m->pieces, (dt_piece_id){i})->outline, at)) return (int)i;
    return -1;
}

/* Lines of `state,x,y`: a point inside each polygon. */
static void read_states(map *m, const char *path) {
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    char line[128], name[32];
    dt_point at;
    ck_assert_ptr_nonnull(fgets(line, sizeof line, file));
    while (fgets(line, sizeof line, file)) {
        ck_assert_int_eq(sscanf(line, "%31[^,],%lf,%lf", name, &at.x, &at.y), 3);
        int state = state_named(m, name), piece = piece_at(m, at);
        if (state < 0) strcpy(m->names[state = m->count++], name);
        ck_assert_msg(piece >= 0, "no piece for %s at %g %g", name, at.x, at.y);
        m->state_of[piece] = state;
    }
    fclose(file);
}

static void note_borders(map *m) {
    for (size_t i = 0; i < dt_graph_pair_count(m->graph); i++) {
        const dt_neighbours *n = dt_graph_pair(m->graph, i);
        int a = m->state_of[n->a.v], b = m->state_of[n->b.v];
        if (a >= 0 && b >= 0 && a != b) m->border[a][b] = m->border[b][a] = true;
    }
}

static map map_of(const char *svg, const char *csv) {
    map m = {.count = 0};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_msg(dt_drawing_read(svg, &settings, &m.drawing, &error) == DT_OK, "%s", error.message);
    dt_strokes strokes = dt_drawing_strokes(m.drawing);
    ck_assert_msg(dt_net_new(strokes, &settings, &m.net, &error) == DT_OK, "%s", error.message);
    ck_assert_msg(dt_pieces_new(m.net, strokes, &settings, &m.pieces, &error) == DT_OK, "%s", error.message);
    ck_assert_msg(dt_graph_new(m.pieces, &settings, NULL, &m.graph, &error) == DT_OK, "%s", error.message);
    m.state_of = malloc(dt_pieces_count(m.pieces) * sizeof *m.state_of);
    for (size_t i = 0; i < dt_pieces_count(m.pieces); i++) m.state_of[i] = -1;
    read_states(&m, csv);
    note_borders(&m);
    return m;
}

static void map_free(map *m) {
    free(m->state_of);
    dt_graph_free(m->graph);
    dt_pieces_free(m->pieces);
    dt_net_free(m->net);
    dt_drawing_free(m->drawing);
}

static int degree(const map *m, int state) {
    int sum = 0;
    for (int i = 0; i < m->count; i++) sum += m->border[state][i];
    return sum;
}

static bool do_border(map *m, const char *a, const char *b) {
    int i = state_named(m, a), k = state_named(m, b);
    ck_assert(i >= 0 && k >= 0);
    return m->border[i][k];
}

/* Steps from `start` to every state without passing `closed` (-1 = none); how many are reached. */
static int walk(const map *m, int start, int closed, int *steps) {
    int queue[MOST_STATES] = {start}, found = 1;
    for (int i = 0; i < m->count; i++) steps[i] = i == start ? 0 : -1;
    for (int at = 0; at < found; at++)
        for (int i = 0; i < m->count; i++)
            if (m->border[queue[at]][i] && i != closed && steps[i] < 0) {
                steps[i] = steps[queue[at]] + 1;
                queue[found++] = i;
            }
    return found;
}

static int diameter(const map *m) {
    int longest = 0, steps[MOST_STATES];
    for (int i = 0; i < m->count; i++) {
        ck_assert_int_eq(walk(m, i, -1, steps), m->count);
        for (int k = 0; k < m->count; k++) longest = steps[k] > longest ? steps[k] : longest;
    }
    return longest;
}

static bool is_cut_state(const map *m, int state) {
    int steps[MOST_STATES];
    return walk(m, state == 0, state, steps) < m->count - 1;
}

static bool is_bridge(map *m, int a, int b) {
    int steps[MOST_STATES];
    m->border[a][b] = m->border[b][a] = false;
    bool apart = walk(m, a, -1, steps) < m->count;
    m->border[a][b] = m->border[b][a] = true;
    return apart;
}

static int borders(const map *m) {
    int ends = 0;
    for (int i = 0; i < m->count; i++) ends += degree(m, i);
    return ends / 2;
}

static void check_states(map *m) {
    ck_assert_int_eq(m->count, 49);
    ck_assert_int_eq(borders(m), 107);
    ck_assert_int_eq(degree(m, state_named(m, DISTRICT)), 2); /* 105 without it: Maryland-Virginia stays a pair */
    ck_assert(do_border(m, "Maryland", "Virginia"));
    ck_assert_int_eq(degree(m, state_named(m, "Maine")), 1);
    ck_assert_int_eq(degree(m, state_named(m, "Missouri")), 8);
    ck_assert_int_eq(degree(m, state_named(m, "Tennessee")), 8);
    ck_assert(!do_border(m, "Arizona", "Colorado") && !do_border(m, "New Mexico", "Utah"));
    ck_assert_int_eq(diameter(m), 11);
    for (int i = 0; i < m->count; i++) {
        bool expected = strcmp(m->names[i], "New Hampshire") == 0 || strcmp(m->names[i], "New York") == 0;
        ck_assert_msg(is_cut_state(m, i) == expected, "%s", m->names[i]);
        for (int k = 0; k < i; k++) {
            bool maine = degree(m, i) == 1 || degree(m, k) == 1;
            if (m->border[i][k]) ck_assert_int_eq(is_bridge(m, i, k), maine);
        }
    }
}

START_TEST(contiguous_states) {
    map m = _i ? map_of("corpus/states-lonlat.svg", "corpus/states-lonlat.csv")
               : map_of("corpus/states-albers.svg", "corpus/states-albers.csv");
    check_states(&m);
    map_free(&m);
}
END_TEST

Suite *suite_graph_states(void);
Suite *suite_graph_states(void) {
    Suite *suite = suite_create("graph_states");
    TCase *cases = tcase_create("graph_states");
    tcase_add_loop_test(cases, contiguous_states, 0, 2);
    suite_add_tcase(suite, cases);
    return suite;
}
