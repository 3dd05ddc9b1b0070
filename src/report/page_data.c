/* The data of the page (page.h). Columns rather than records, for thousands of pieces; ids are indices from 0 here.
 * Sentences come from words.h, so that screen and page say the same. */
#include "report/page.h"

#include "report/record.h"
#include "report/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Candidates beyond these are left out of the page (never of the counts): it has to stay small enough to open at once.
 */
enum { MOST_PER_SIDE = 8, MOST_CANDIDATES = 20000, MOST_MATCHES = 4000 };

static json_t *index_of(dt_piece_id id) {
    return json_integer(DT_IS_PIECE(id) ? (json_int_t)id.v : -1);
}

/* The six numbers of an SVG matrix. */
static void push_pose(record *r, json_t *array, dt_pose pose) {
    double sign = pose.flipped ? -1.0 : 1.0;
    const double matrix[] = {sign * pose.c, sign * pose.s, -pose.s, pose.c, pose.shift.x, pose.shift.y};
    for (size_t i = 0; i < 6; i++) record_push(r, array, json_real(round(matrix[i] * 1e7) / 1e7 + 0.0));
}

static json_t *pose_array(record *r, dt_pose pose) {
    json_t *array = json_array();
    push_pose(r, array, pose);
    return array;
}

/* ---- columns of the pieces ---- */

typedef struct column {
    const char *name;
    json_t *(*value)(record *r, dt_piece_id id, const dt_piece *piece);
} column;

#define COLUMN(name, expression)                                                                                       \
    static json_t *column_##name(record *r, dt_piece_id id, const dt_piece *p) {                                       \
        (void)r, (void)id, (void)p;                                                                                    \
        return expression;                                                                                             \
    }
COLUMN(x, record_real(p->inside.x))
COLUMN(y, record_real(p->inside.y))
COLUMN(area, json_integer(lround(p->area_mm2)))
COLUMN(length, record_real(round(p->length_mm * 10) / 10))
COLUMN(width, record_real(round(p->width_mm * 10) / 10))
COLUMN(neck, record_real(round(p->neck.width_mm * 100) / 100))
COLUMN(neck_x, record_real(isfinite(p->neck.width_mm) ? p->neck.at.x : NAN))
COLUMN(neck_y, record_real(isfinite(p->neck.width_mm) ? p->neck.at.y : NAN))
/* Bits: 1 edge, 2 corner, 4 whimsy, 8 small part, 16 held. */
COLUMN(flags, json_integer(p->edge + 2 * p->corner + 4 * p->whimsy + 8 * p->small_part +
                           16 * dt_graph_is_held(dt_analysis_graph(r->analysis), id)))
COLUMN(number_height, record_real(round(100 * draw_number_height(p, id)) / 100))
COLUMN(name, record_text(p->name ? p->name : ""))

static const dt_place_cost *cost_of(const record *r, dt_piece_id id) {
    static const dt_place_cost none = {NAN, NAN, NAN, 0};
    const dt_rating *rating = dt_analysis_rating(r->analysis);
    return id.v < rating->place_count ? &rating->places[id.v] : &none;
}

COLUMN(minutes, record_real(cost_of(r, id)->minutes))
COLUMN(looked, record_real(round(cost_of(r, id)->looked_over * 10) / 10))
COLUMN(alike, record_real(round(cost_of(r, id)->alike * 10) / 10))
COLUMN(turn, record_count(cost_of(r, id)->turn))

static json_t *column_around(record *r, dt_piece_id id, const dt_piece *piece) {
    (void)piece;
    size_t count;
    const dt_piece_id *around = dt_graph_around(dt_analysis_graph(r->analysis), id, &count);
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) record_push(r, array, index_of(around[i]));
    return array;
}

static const column columns[] = {
    {"x", column_x},         {"y", column_y},       {"area", column_area},       {"length", column_length},
    {"width", column_width}, {"neck", column_neck}, {"neckX", column_neck_x},    {"neckY", column_neck_y},
    {"flags", column_flags}, {"name", column_name}, {"minutes", column_minutes}, {"looked", column_looked},
    {"alike", column_alike}, {"turn", column_turn}, {"around", column_around},   {"numberHeight", column_number_height},
};

static void add_columns(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *table = record_object(r, root, "pieces");
    for (size_t c = 0; c < sizeof columns / sizeof *columns; c++) {
        json_t *array = record_array(r, table, columns[c].name);
        for (uint32_t i = 0; i < dt_pieces_count(pieces); i++)
            record_push(r, array, columns[c].value(r, (dt_piece_id){i}, dt_pieces_get(pieces, (dt_piece_id){i})));
    }
}

/* ---- faults, places, joints ---- */

static void add_faults(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *array = record_array(r, root, "faults");
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        const dt_fault *fault = dt_pieces_fault(pieces, i);
        json_t *o = record_item(r, array);
        dt_text sentence = DT_TEXT_EMPTY;
        record_set_point(r, o, fault->at);
        json_t *touched = record_array(r, o, "pieces");
        for (size_t j = 0; j < 2; j++)
            if (fault->pieces[j] != DT_NO_INDEX) record_push(r, touched, record_count(fault->pieces[j]));
        words_fault(&sentence, r->analysis, fault);
        record_set(r, o, "text", record_sentence(&sentence));
    }
}

typedef const dt_match *(*match_getter)(const dt_fit *fit, size_t index);
typedef void (*match_words)(dt_text *out, const dt_analysis *analysis, const dt_match *match);

static void add_matches(record *r, json_t *array, const char *kind, size_t count, match_getter match_at,
                        match_words words) {
    for (size_t i = 0; i < count && i < MOST_MATCHES; i++) {
        const dt_match *match = match_at(dt_analysis_fit(r->analysis), i);
        json_t *o = record_item(r, array);
        dt_text sentence = DT_TEXT_EMPTY;
        record_set(r, o, "kind", json_string(kind));
        record_set(r, o, "piece", index_of(match->a));
        record_set(r, o, "place", index_of(match->b));
        record_set(r, o, "pose", pose_array(r, match->pose));
        if (isnan(match->turn)) record_set(r, o, "anyTurn", json_true());
        record_set(r, o, "off", record_real(match->mismatch_mm));
        record_set_point(r, o, match->differ_at);
        record_set(r, o, "real", json_boolean(dt_analysis_is_double(r->analysis, match)));
        words(&sentence, r->analysis, match);
        record_set(r, o, "text", record_sentence(&sentence));
    }
}

static void add_mate(record *r, json_t *array, const dt_false_mate *mate) {
    json_t *o = record_item(r, array);
    dt_text sentence = DT_TEXT_EMPTY;
    record_set(r, o, "kind", json_string("mate"));
    record_set(r, o, "piece", index_of(mate->b));
    record_set(r, o, "place", index_of(mate->instead_of));
    record_set(r, o, "beside", index_of(mate->a));
    record_set(r, o, "pose", pose_array(r, mate->pose));
    record_set(r, o, "off", record_real(mate->mismatch_mm));
    words_false_mate(&sentence, r->analysis, mate);
    record_set(r, o, "text", record_sentence(&sentence));
}

/* Those on shaped borders first. */
static void add_mates(record *r, json_t *array) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    size_t written = 0;
    for (int plain = 0; plain < 2; plain++)
        for (size_t i = 0; i < dt_fit_false_mate_count(fit) && written < MOST_MATCHES; i++) {
            const dt_false_mate *mate = dt_fit_false_mate(fit, i);
            if (words_is_telling_mate(r->analysis, mate) == (plain == 1)) continue;
            add_mate(r, array, mate);
            written++;
        }
}

static void add_fits(record *r, json_t *root) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    json_t *array = record_array(r, root, "fits");
    add_matches(r, array, "twin", dt_fit_twin_count(fit), dt_fit_twin, words_twin);
    add_matches(r, array, "turner", dt_fit_turner_count(fit), dt_fit_turner, words_turner);
    add_matches(r, array, "near", dt_fit_near_twin_count(fit), dt_fit_near_twin, words_near_twin);
    add_mates(r, array);
}

/* Where the picture is coarse, the outlines of pieces that fit elsewhere as they are: their deviation is drawn to
 * scale. */
static void add_fine_outlines(record *r, json_t *root) {
    enum { MOST_FINE = 300 };
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *fine = record_object(r, root, "fine"), *fits = json_object_get(root, "fits");
    if (dt_pieces_count(pieces) <= DRAW_EXACT_PIECES) return;
    for (size_t i = 0; i < 2 * json_array_size(fits) && json_object_size(fine) < MOST_FINE; i++) {
        json_int_t id = json_integer_value(json_object_get(json_array_get(fits, i / 2), i % 2 ? "place" : "piece"));
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){(uint32_t)id});
        char key[16];
        dt_text data = DT_TEXT_EMPTY;
        draw_ring_data(piece->outline, true, &data);
        for (size_t h = 0; h < piece->hole_count; h++) draw_ring_data(piece->holes[h], true, &data);
        snprintf(key, sizeof key, "%u", (unsigned)id);
        record_set(r, fine, key, record_sentence(&data));
    }
}

/* One side that others look right for: [place, neighbour across, k, length, [[piece, deviation, pose...], ...]]. */
static size_t add_alike_side(record *r, json_t *array, dt_piece_id place, size_t side) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    const dt_side *at = &dt_pieces_get(pieces, place)->sides[side];
    size_t listed, k = dt_fit_side_k(fit, place, side);
    const dt_candidate *candidates = dt_fit_side_candidates(fit, place, side, &listed);
    json_t *item = json_array(), *list = json_array();
    for (size_t i = 0; i < listed && json_array_size(list) < MOST_PER_SIDE; i++) {
        if (candidates[i].piece.v == place.v) continue;
        json_t *candidate = json_array();
        record_push(r, candidate, index_of(candidates[i].piece));
        record_push(r, candidate, record_real(candidates[i].deviation_mm));
        push_pose(r, candidate, candidates[i].pose);
        record_push(r, list, candidate);
    }
    size_t count = json_array_size(list);
    record_push(r, item, index_of(place));
    record_push(r, item, index_of(dt_pieces_across(pieces, place, at)));
    record_push(r, item, record_count(k));
    record_push(r, item, record_real(round(dt_pieces_seam(pieces, at->seam)->length * 10) / 10));
    record_push(r, item, list);
    record_push(r, array, item);
    return count;
}

static void add_alike_sides(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *array = record_array(r, root, "alikeSides");
    size_t written = 0;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++)
        for (size_t s = 0; s < dt_pieces_get(pieces, (dt_piece_id){i})->side_count && written < MOST_CANDIDATES; s++)
            if (dt_fit_side_k(dt_analysis_fit(r->analysis), (dt_piece_id){i}, s) > 1)
                written += add_alike_side(r, array, (dt_piece_id){i}, s);
}

static void add_seams(record *r, json_t *o, const draw_plan *plan, const dt_neighbours *pair) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    const dt_piece *piece = dt_pieces_get(pieces, pair->a);
    dt_text data = DT_TEXT_EMPTY;
    for (size_t i = 0; i < piece->side_count; i++)
        if (dt_pieces_across(pieces, pair->a, &piece->sides[i]).v == pair->b.v)
            draw_seam_data(plan, piece->sides[i].seam, &data);
    record_set(r, o, "d", record_sentence(&data));
}

/* The joints that do not lock, with their seams as path data; all others lock. */
static void add_joints(record *r, json_t *root, const draw_plan *plan) {
    const dt_graph *graph = dt_analysis_graph(r->analysis);
    json_t *array = record_array(r, root, "joints");
    for (size_t i = 0; i < dt_graph_pair_count(graph); i++) {
        const dt_neighbours *pair = dt_graph_pair(graph, i);
        if (pair->joint == DT_LOCKED) continue;
        json_t *o = record_item(r, array);
        record_set(r, o, "a", index_of(pair->a));
        record_set(r, o, "b", index_of(pair->b));
        record_set(r, o, "joint", json_string(words_joint(pair->joint)));
        record_set(r, o, "from", record_real(round(pair->slide_from * 10) / 10));
        record_set(r, o, "to", record_real(round(pair->slide_to * 10) / 10));
        add_seams(r, o, plan, pair);
    }
}

/* ---- the whole ---- */

static void add_texts(record *r, json_t *root) {
    static const struct {
        const char *key;
        void (*words)(dt_text *, const dt_analysis *);
    } texts[] = {{"verdict", words_verdict},     {"assembly", words_assembly},     {"witness", words_witness},
                 {"interlock", words_interlock}, {"difficulty", words_difficulty}, {"scale", words_necks}};
    json_t *o = record_object(r, root, "texts");
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        dt_text sentence = DT_TEXT_EMPTY;
        texts[i].words(&sentence, r->analysis);
        record_set(r, o, texts[i].key, record_sentence(&sentence));
    }
}

static void add_whole(record *r, json_t *root) {
    const dt_settings *settings = dt_analysis_settings(r->analysis);
    const dt_rating *rating = dt_analysis_rating(r->analysis);
    const dt_assembly *assembly = dt_analysis_assembly(r->analysis);
    const dt_interlock *interlock = dt_graph_interlock(dt_analysis_graph(r->analysis));
    record_set(r, root, "file", record_text(dt_analysis_file(r->analysis)));
    record_set(r, root, "kerf", record_real(dt_analysis_play_mm(r->analysis)));
    record_set(r, root, "eye", record_real(settings->eye_mm));
    record_set(r, root, "thickness", record_real(settings->thickness_mm));
    record_set(r, root, "twoSided", json_boolean(settings->two_sided));
    json_t *factors = record_array(r, root, "factors");
    for (dt_factor f = 0; f < DT_FACTORS; f++) {
        json_t *o = record_item(r, factors);
        record_set(r, o, "name", json_string(words_factor(f)));
        record_set(r, o, "points", record_real(round(rating->factors[f] * 10) / 10));
    }
    json_t *other = record_array(r, root, "other");
    for (size_t i = 0; i < assembly->other_count; i++) {
        json_t *o = record_item(r, other);
        record_set(r, o, "piece", index_of(assembly->other[i].piece));
        record_set(r, o, "place", index_of(assembly->other[i].place_of));
        record_set(r, o, "pose", pose_array(r, assembly->other[i].pose));
    }
    json_t *loose = record_array(r, root, "loose");
    for (size_t i = 0; i < interlock->loose_count; i++) record_push(r, loose, index_of(interlock->loose[i]));
    record_set(r, root, "looseDirection", record_real(interlock->loose_direction));
}

/* Makes JSON safe inside a script element: none of these characters stands outside a string, so a \u escape is the
 * same. */
static void add_script_safe(dt_text *out, const char *json) {
    for (const char *from = json; *from;) {
        size_t plain = strcspn(from, "<>&\xE2");
        dt_text_add_bytes(out, from, plain);
        from += plain;
        if (!*from) return;
        if (strncmp(from, "\xE2\x80\xA8", 3) == 0 || strncmp(from, "\xE2\x80\xA9", 3) == 0) {
            dt_text_addf(out, "\\u20%02x", from[2] == '\xA8' ? 0x28u : 0x29u);
            from += 3;
        } else if (*from == '\xE2') {
            dt_text_add_bytes(out, from++, 1);
        } else {
            dt_text_addf(out, "\\u%04x", (unsigned)*from++);
        }
    }
}

dt_status page_data(const dt_analysis *analysis, const draw_plan *plan, dt_text *out) {
    record r = {analysis, false};
    dt_text json = DT_TEXT_EMPTY;
    json_t *root = json_object();
    add_whole(&r, root);
    add_texts(&r, root);
    add_columns(&r, root);
    add_faults(&r, root);
    add_fits(&r, root);
    add_fine_outlines(&r, root);
    add_alike_sides(&r, root);
    add_joints(&r, root, plan);
    dt_status status = record_dump(&r, root, &json);
    if (status == DT_OK) add_script_safe(out, json.bytes);
    json_decref(root);
    dt_text_free(&json);
    return status == DT_OK && out->failed ? DT_NO_MEMORY : status;
}
