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

/* ---- planarity ----
 *
 * igraph 0.10 has no test, so the proof is an embedding: the sides of each piece in walking order (holes after the outline, as if
 * joined to it by a cut) give the order of its links round it, and the faces of that embedding are counted. It is plane exactly when
 * V - E + F = 2 for each component (Euler; Heffter and Edmonds for the embedding by such orders). */

typedef struct embedding {
    uint32_t *sides;         /* seams between pieces, by piece, in order */
    size_t *start, *slot[2]; /* of a piece's sides; where a seam stands in the list of its a and of its b */
    size_t pieces, links;
} embedding;

static embedding embedding_of(const dt_pieces *pieces) {
    size_t n = dt_pieces_count(pieces), seams = dt_pieces_seam_count(pieces), count = 0;
    embedding e = {malloc(2 * (seams + 1) * sizeof(uint32_t)), malloc((n + 1) * sizeof(size_t)),
                   {malloc((seams + 1) * sizeof(size_t)), malloc((seams + 1) * sizeof(size_t))}, n, 0};
    for (uint32_t p = 0; p < n; p++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){p});
        e.start[p] = count;
        for (size_t i = 0; i < piece->side_count; i++) {
            const dt_seam *seam = dt_pieces_seam(pieces, piece->sides[i].seam);
            if (!DT_IS_PIECE(seam->b)) continue;
            e.slot[seam->a.v != p][piece->sides[i].seam.v] = count;
            e.sides[count++] = piece->sides[i].seam.v;
        }
    }
    e.start[n] = count;
    e.links = count / 2;
    return e;
}

static void embedding_free(embedding *e) {
    free(e->sides);
    free(e->start);
    free(e->slot[0]);
    free(e->slot[1]);
}

/* Walks over a link to the piece beyond and on to the next link round that piece, until all links have been walked both ways. */
static size_t face_count(const embedding *e, const dt_pieces *pieces) {
    bool *walked = calloc(2 * e->links + 1, sizeof *walked);
    size_t faces = 0;
    for (size_t first = 0; first < 2 * e->links; first++) {
        faces += !walked[first];
        for (size_t at = first; !walked[at];) {
            walked[at] = true;
            uint32_t seam = e->sides[at];
            int to_b = e->slot[0][seam] == at;
            const dt_seam *s = dt_pieces_seam(pieces, (dt_seam_id){seam});
            uint32_t piece = to_b ? s->b.v : s->a.v;
            size_t next = e->slot[to_b][seam] + 1;
            at = next < e->start[piece + 1] ? next : e->start[piece];
        }
    }
    free(walked);
    return faces;
}

/* The order round one piece turned back to front. */
static void turn_over(embedding *e, const dt_pieces *pieces, uint32_t piece) {
    size_t low = e->start[piece], high = e->start[piece + 1];
    for (; low + 1 < high; low++, high--) {
        uint32_t seam = e->sides[low];
        e->sides[low] = e->sides[high - 1];
        e->sides[high - 1] = seam;
    }
    for (size_t i = e->start[piece]; i < e->start[piece + 1]; i++)
        e->slot[dt_pieces_seam(pieces, (dt_seam_id){e->sides[i]})->a.v != piece][e->sides[i]] = i;
}

START_TEST(the_neighbour_graph_is_planar) {
    map m = _i ? map_of("corpus/states-lonlat.svg", "corpus/states-lonlat.csv")
               : map_of("corpus/states-albers.svg", "corpus/states-albers.csv");
    embedding e = embedding_of(m.pieces);
    size_t alone = 0; /* islands: components without a link */
    uint32_t busiest = 0;
    for (uint32_t p = 0; p < e.pieces; p++) {
        alone += e.start[p] == e.start[p + 1];
        if (e.start[p + 1] - e.start[p] > e.start[busiest + 1] - e.start[busiest]) busiest = p;
    }
    size_t linked = e.pieces - alone, components = dt_graph_components(m.graph) - alone;
    ck_assert_uint_eq(linked + face_count(&e, m.pieces), 2 * components + e.links);
    turn_over(&e, m.pieces, busiest); /* the count notices an embedding that is not plane */
    ck_assert_uint_lt(linked + face_count(&e, m.pieces), 2 * components + e.links);
    ck_assert_double_eq_tol(2.0 * borders(&m) / m.count, 4.367, 0.001); /* of the states; below 6, as in any plane map */
    embedding_free(&e);
    map_free(&m);
}
END_TEST

Suite *suite_graph_states(void);
Suite *suite_graph_states(void) {
    Suite *suite = suite_create("graph_states");
    TCase *cases = tcase_create("graph_states");
    tcase_add_loop_test(cases, contiguous_states, 0, 2);
    tcase_add_loop_test(cases, the_neighbour_graph_is_planar, 0, 2);
    suite_add_tcase(suite, cases);
    return suite;
}
