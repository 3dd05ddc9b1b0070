/* The contiguous states of the USA as cut lines (corpus/README.md says where they come from): Colorado and Wyoming are both 4 by 7 degrees by
 * their boundary acts of 1861 and 1868 (from memory). Who borders on whom is tested in graph_states.c. */
#include <check.h>
#include <dovetell/analysis.h>
#include <dovetell/text.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_STATES = 60 };

typedef struct map {
    dt_analysis *analysis;
    char names[MOST_STATES][128];
    int count;
    int *state_of;  /* by piece; -1 = none */
} map;

static int state_index(map *m, const char *name) {
    for (int i = 0; i < m->count; i++)
        if (strcmp(m->names[i], name) == 0) return i;
    ck_assert_int_lt(m->count, MOST_STATES);
    snprintf(m->names[m->count], sizeof m->names[0], "%s", name);
    return m->count++;
}

static void mark_piece_at(map *m, dt_point p, int state) {
    const dt_pieces *pieces = dt_analysis_pieces(m->analysis);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        bool inside = dt_path_contains(piece->outline, p);
        for (size_t h = 0; h < piece->hole_count; h++) inside = inside && !dt_path_contains(piece->holes[h], p);
        if (inside) m->state_of[i] = state;
    }
}

static void read_states(map *m, const char *path) {
    char *bytes, line[128];
    size_t count;
    ck_assert_int_eq(dt_file_read(path, 1 << 20, &bytes, &count, NULL), DT_OK);
    for (char *at = strchr(bytes, '\n') + 1; *at; at = strchr(at, '\n') + 1) {
        snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
        char *comma = strchr(line, ',');
        *comma = '\0';
        dt_point p = {0, 0};
        ck_assert_int_eq(sscanf(comma + 1, "%lf,%lf", &p.x, &p.y), 2);
        mark_piece_at(m, p, state_index(m, line));
    }
    free(bytes);
}

/* A fine kerf: nothing of the coast is to be taken for a doubled line or a sliver. */
static map *map_of(const char *name) {
    map *m = calloc(1, sizeof *m);
    char svg[64], csv[64];
    snprintf(svg, sizeof svg, "corpus/states-%s.svg", name);
    snprintf(csv, sizeof csv, "corpus/states-%s.csv", name);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = 0.02;
    settings.join_mm = 0.01;
    settings.steps = 1000;
    dt_error error = {0};
    ck_assert_msg(dt_analyse(svg, &settings, NULL, &m->analysis, &error) == DT_OK, "%s", error.message);
    size_t pieces = dt_pieces_count(dt_analysis_pieces(m->analysis));
    m->state_of = malloc(pieces * sizeof *m->state_of);
    for (size_t i = 0; i < pieces; i++) m->state_of[i] = -1;
    read_states(m, csv);
    return m;
}

static void map_free(map *m) {
    dt_analysis_free(m->analysis);
    free(m->state_of);
    free(m);
}

static uint32_t piece_of(map *m, const char *name) {
    int state = state_index(m, name);
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(m->analysis)); i++)
        if (m->state_of[i] == state) return i;
    ck_abort_msg("no piece for %s", name);
}

static double mismatch(const dt_pieces *pieces, uint32_t a, uint32_t b, double limit) {
    dt_match match = {0};
    ck_assert_int_eq(dt_shape_mismatch(dt_piece_shape(dt_pieces_get(pieces, (dt_piece_id){a})),
                                       dt_piece_shape(dt_pieces_get(pieces, (dt_piece_id){b})), false, limit, &match),
                     DT_OK);
    return match.mismatch_mm;
}

/* Outlines within d of each other enclose areas that differ by no more than a band d wide along the longer border (and its ends). */
static bool cannot_match(const dt_pieces *pieces, uint32_t a, uint32_t b, double d) {
    const dt_piece *p = dt_pieces_get(pieces, (dt_piece_id){a}), *q = dt_pieces_get(pieces, (dt_piece_id){b});
    return fabs(p->area_mm2 - q->area_mm2) > d * fmax(p->perimeter_mm, q->perimeter_mm) + 4 * d * d;
}

/* Of all pairs of whole states (pieces of more than 500 mm2: islands are all alike if one is coarse enough) no pair is nearer than
 * Colorado and Wyoming in plain longitude and latitude; on the equal-area projection they are far apart. */
START_TEST(colorado_and_wyoming) {
    map *m = map_of("lonlat");
    const dt_pieces *pieces = dt_analysis_pieces(m->analysis);
    uint32_t colorado = piece_of(m, "Colorado"), wyoming = piece_of(m, "Wyoming");
    double best = mismatch(pieces, colorado, wyoming, 20.0);
    ck_assert_double_lt(best, 2.0); /* mm at 16 mm to the degree: the surveyed lines stray by up to a tenth of a degree */
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++)
        for (uint32_t j = 0; j < i; j++) {
            if ((i == colorado && j == wyoming) || (i == wyoming && j == colorado)) continue;
            if (dt_pieces_get(pieces, (dt_piece_id){i})->area_mm2 < 500 || dt_pieces_get(pieces, (dt_piece_id){j})->area_mm2 < 500)
                continue;
            if (cannot_match(pieces, i, j, best)) continue;
            ck_assert_double_gt(mismatch(pieces, i, j, best), best);
        }
    map_free(m);
    m = map_of("albers");
    colorado = piece_of(m, "Colorado");
    wyoming = piece_of(m, "Wyoming");
    ck_assert_double_gt(mismatch(dt_analysis_pieces(m->analysis), colorado, wyoming, 30.0), 0.2);
    map_free(m);
}
END_TEST

Suite *suite_whole_states(void);
Suite *suite_whole_states(void) {
    Suite *suite = suite_create("whole_states");
    TCase *cases = tcase_create("states");
    tcase_add_test(cases, colorado_and_wyoming);
    suite_add_tcase(suite, cases);
    return suite;
}
