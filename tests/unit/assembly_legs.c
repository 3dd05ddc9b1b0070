/* Who fills a gap, found by the index of legs, against looking at every tip: the same answers, also where the gap's lines
 * were drawn anew and the pieces are twins but for the drawing. */
#include "assembly/nodes.h"
#include "assembly/outline.h"
#include "knobbed.h"
#include "perturbed.h"

#include <check.h>

static const double PI = 3.14159265358979323846;

typedef struct sheet {
    dt_net *net;
    dt_pieces *pieces;
    dt_arena arena;
    dt_node_map map;
} sheet;

/* Takes the draft over. */
static sheet sheet_of(draft *d, dt_settings settings) {
    sheet s = {.arena = DT_ARENA((size_t)1 << 30)};
    dt_region *regions;
    size_t count;
    s.pieces = draft_pieces(d, &settings, &s.net);
    draft_free(d);
    ck_assert(dt_outline_regions(s.pieces, &s.arena, &regions, &count));
    ck_assert(dt_node_map_make(s.pieces, &regions[0], settings.two_sided, &s.arena, &s.map));
    return s;
}

static void sheet_free(sheet *s) {
    dt_arena_free(&s->arena);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
}

/* The hole that a tip leaves: its own line, walked the other way. */
static dt_gap_lines hole_of(const dt_line *line, const dt_tip *tip, const dt_line *backwards) {
    dt_line_foot foot =
        dt_line_nearest(backwards, dt_line_at(line, tip->at), backwards->length - tip->at, 0.5 * line->length);
    dt_edge edge = {backwards, dt_pose_about(0.3, false, (dt_point){0, 0}, (dt_point){50, 20}), foot.arc};
    return (dt_gap_lines){edge, edge, PI - tip->turn};
}

static bool holds(const dt_filling *filling, const dt_filler *f) {
    for (size_t i = 0; i < filling->count; i++)
        if (filling->alone[i].owner == f->owner && filling->alone[i].tip == f->tip) return true;
    return false;
}

/* Counts what was found, so that a check of nothing would show. */
static size_t compare(dt_fillers *fillers, const dt_gap_lines *gap, const bool *used) {
    static dt_filling plain, indexed;
    fillers->plain = true;
    dt_fillers_find_alone(fillers, gap, used, &plain);
    fillers->plain = false;
    dt_fillers_find_alone(fillers, gap, used, &indexed);
    ck_assert_int_eq(plain.unknown, indexed.unknown);
    ck_assert_uint_eq(plain.count, indexed.count);
    for (size_t i = 0; i < plain.count; i++) ck_assert(holds(&indexed, &plain.alone[i]));
    return plain.count;
}

static size_t compare_all(const sheet *pieces, const sheet *holes, double room) {
    dt_fillers fillers;
    dt_fillers_plan plan = {pieces->map.lines, pieces->map.line_count, DT_KNEE_MM, room, 1};
    dt_arena arena = DT_ARENA((size_t)1 << 30);
    bool *used = calloc(dt_pieces_count(pieces->pieces) + 1, sizeof *used);
    size_t found = 0;
    ck_assert(used && dt_fillers_new(&plan, &fillers) == DT_OK);
    for (size_t i = 0; i < holes->map.line_count; i += 2) {
        const dt_line *line = &holes->map.lines[i].line;
        dt_line backwards;
        dt_path path = dt_path_backwards(&arena, line->path);
        ck_assert(path.points && dt_line_make(path, DT_SHARP_SCALE_MM, DT_KNEE_MM, &arena, &backwards));
        for (size_t k = 0; k < line->tip_count; k++) {
            dt_gap_lines gap = hole_of(line, &line->tips[k], &backwards);
            if (line->tips[k].sharp) found += compare(&fillers, &gap, used);
        }
    }
    dt_fillers_free(&fillers);
    dt_arena_free(&arena);
    free(used);
    return found;
}

static draft *planted_draft(uint64_t seed) {
    static const grid_group group = {{{1, 1}, {1, 2}, {2, 1}}, 3};
    knobbed *k = knobbed_new(7, 8, 20.0, seed);
    knobbed_carry(k, &group, (grid_carry){false, 0, {4, 3}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

static void compare_planted(int number, double room) {
    static const perturbing ways[] = {AS_DRAWN, FLATTENED, NOISY};
    uint64_t seed = 1 + (uint64_t)number;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = number % 2;
    sheet pieces = sheet_of(planted_draft(seed), settings);
    sheet holes = sheet_of(perturbed(planted_draft(seed), ways[number % 3], seed), settings);
    size_t found = compare_all(&pieces, &holes, room);
    ck_assert_uint_ge(found, 100); /* of about 112 holes, or twice as many */
    sheet_free(&pieces);
    sheet_free(&holes);
}

START_TEST(the_index_finds_all_that_looking_at_every_tip_finds) {
    static const double rooms[] = {0.05, 0.13, 0.23, 0.24};
    compare_planted(_i, rooms[_i % 4]);
}
END_TEST

/* On two of these sheets a piece runs near all points of a hole's lines, but its tip lies a millimetre along one of them. */
START_TEST(a_tip_that_lies_elsewhere_fills_no_gap) {
    compare_planted(_i, 0.23);
}
END_TEST

/* Sheets of few shapes: many tips fit each hole. */
START_TEST(the_index_finds_all_of_many) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    knobbed *k = knobbed_new(4, 5, 15.0, 1 + (uint64_t)_i);
    knobbed_alike(k, 2 + (unsigned)_i % 3, 5);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    sheet s = sheet_of(d, settings);
    ck_assert_uint_ge(compare_all(&s, &s, 0.13), 60);
    sheet_free(&s);
}
END_TEST

/* Six wavy spokes of a disc, each of a shape of its own; sectors of 50 to 70 degrees. */
static draft *fan_draft(void) {
    static const double turns[] = {0, 50, 115, 170, 235, 295};
    draft *d = draft_new();
    draft_circle(d, 0, 0, 40);
    for (int i = 0; i < 6; i++) {
        dt_pose pose = dt_pose_about(turns[i] + 20.0, false, (dt_point){0, 0}, (dt_point){0, 0});
        dt_point p[] = {{0, 0}, {14, 6.0 - i}, {24, -7.0 + 2 * i}, {40, 0}};
        for (int k = 0; k < 4; k++) p[k] = dt_pose_apply(pose, p[k]);
        draft_move(d, p[0]);
        draft_cubic(d, p[1], p[2], p[3]);
    }
    return d;
}

static const dt_node_wedge *wedge_at_centre(const sheet *s, uint32_t seam, bool arrives) {
    for (size_t i = 0; i < s->map.wedge_count; i++) {
        const dt_node_wedge *w = &s->map.wedges[i];
        dt_point at = dt_line_at(&s->map.lines[w->line].line, w->at);
        if ((arrives ? w->in : w->out) == seam && dt_point_distance(at, (dt_point){0, 0}) < 0.01) return w;
    }
    return NULL;
}

static bool is_named(const dt_filling *filling, int leg, uint32_t piece) {
    for (size_t i = 0; i < filling->sharer_count[leg]; i++)
        if (filling->sharers[leg][i].owner->piece == piece) return true;
    return false;
}

static dt_edge edge_at(const sheet *s, const dt_node_wedge *w) {
    return (dt_edge){&s->map.lines[w->line].line, DT_POSE_IDENTITY, w->at};
}

/* With two neighbours left out of the fan, the one along ONWARD is named or the one along BACK. */
START_TEST(of_two_that_share_a_gap_one_is_named) {
    static dt_filling filling;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    sheet s = sheet_of(fan_draft(), settings);
    dt_fillers fillers;
    dt_fillers_plan plan = {s.map.lines, s.map.line_count, DT_KNEE_MM, 0.13, 1};
    ck_assert_int_eq(dt_fillers_new(&plan, &fillers), DT_OK);
    fillers.plain = _i;
    size_t asked = 0;
    for (size_t i = 0; i < s.map.wedge_count; i++) {
        bool used[6] = {false};
        const dt_node_wedge *first = &s.map.wedges[i], *last = wedge_at_centre(&s, first->out, true);
        if (first != wedge_at_centre(&s, first->out, false) || !last) continue;
        const dt_node_wedge *before = wedge_at_centre(&s, first->in, false), *after = wedge_at_centre(&s, last->out, true);
        dt_gap_lines gap = {edge_at(&s, before), edge_at(&s, after), first->angle + last->angle};
        used[before->piece] = used[after->piece] = true;
        dt_fillers_find_alone(&fillers, &gap, used, &filling);
        dt_fillers_find_sharers(&fillers, &gap, used, &filling);
        ck_assert_uint_eq(filling.count, 0);
        if (filling.unknown) continue; /* wider than can be judged */
        ck_assert_msg(is_named(&filling, 0, first->piece) || is_named(&filling, 1, last->piece), "pieces %u and %u",
                      (unsigned)first->piece, (unsigned)last->piece);
        asked++;
    }
    ck_assert_uint_ge(asked, 4);
    dt_fillers_free(&fillers);
    sheet_free(&s);
}
END_TEST

Suite *suite_assembly_legs(void);
Suite *suite_assembly_legs(void) {
    Suite *suite = suite_create("assembly_legs");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, the_index_finds_all_that_looking_at_every_tip_finds, 0, 24);
    tcase_add_loop_test(all, a_tip_that_lies_elsewhere_fills_no_gap, 236, 240);
    tcase_add_loop_test(all, the_index_finds_all_of_many, 0, 8);
    tcase_add_loop_test(all, of_two_that_share_a_gap_one_is_named, 0, 2);
    suite_add_tcase(suite, all);
    return suite;
}
