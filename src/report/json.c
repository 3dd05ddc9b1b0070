/* The JSON record (output.md is its contract), by jansson. Invariants: keys stand in the order of the contract; what
 * was not computed is null. */
#include <dovetell/report.h>

#include "report/record.h"
#include "report/words.h"

#include <stdio.h>
#include <stdlib.h>

/* ---- head ---- */

static const char *unit_source_name(dt_unit_source source) {
    static const char *const names[] = {
        [DT_UNITS_PHYSICAL] = "physical", [DT_UNITS_96DPI] = "96dpi", [DT_UNITS_OPTION] = "option"};
    return names[source];
}

static void add_draft(record *r, json_t *root) {
    json_t *program = record_object(r, root, "program"), *draft = record_object(r, root, "draft");
    const dt_drawing *drawing = dt_analysis_drawing(r->analysis);
    record_set(r, program, "name", json_string("dovetell"));
    record_set(r, program, "version", json_string(DT_VERSION));
    record_set(r, draft, "file", record_text(dt_analysis_file(r->analysis)));
    record_set(r, draft, "width", record_real(dt_drawing_width(drawing)));
    record_set(r, draft, "height", record_real(dt_drawing_height(drawing)));
    record_set(r, draft, "unit_source", json_string(unit_source_name(dt_drawing_unit_source(drawing))));
}

static void add_words(record *r, json_t *object, const char *key, const char *const *words, size_t count) {
    json_t *array = record_array(r, object, key);
    for (size_t i = 0; i < count; i++) record_push(r, array, record_text(words[i]));
}

static void add_settings(record *r, json_t *root) {
    static const char *const materials[] = {[DT_PLY] = "ply", [DT_ACRYLIC] = "acrylic"};
    static const char *const pictures[] = {
        [DT_PICTURE_NONE] = "none", [DT_PICTURE_FAINT] = "faint", [DT_PICTURE_FULL] = "full"};
    const dt_settings *s = dt_analysis_settings(r->analysis);
    json_t *o = record_object(r, root, "settings");
    record_set(r, o, "width", s->width_mm > 0 ? record_real(s->width_mm) : json_null());
    record_set(r, o, "kerf", record_real(s->kerf_mm));
    record_set(r, o, "thickness", record_real(s->thickness_mm));
    record_set(r, o, "material", json_string(materials[s->material]));
    record_set(r, o, "join", record_real(s->join_mm));
    record_set(r, o, "eye", record_real(s->eye_mm));
    record_set(r, o, "two_sided", json_boolean(s->two_sided));
    record_set(r, o, "colours", record_count(s->colours));
    record_set(r, o, "picture", json_string(pictures[s->picture]));
    add_words(r, o, "only", s->only, s->only_count);
    add_words(r, o, "skip", s->skip, s->skip_count);
    record_set(r, o, "steps", record_count(s->steps));
    record_set(r, o, "count", json_boolean(s->count));
    record_set(r, o, "speed", s->speed_mm_per_s > 0 ? record_real(s->speed_mm_per_s) : json_null());
    record_set(r, o, "times", s->times ? record_text(s->times) : json_null());
}

static void add_counts(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    size_t edge = 0, corner = 0, seams = 0;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        edge += dt_pieces_get(pieces, (dt_piece_id){i})->edge;
        corner += dt_pieces_get(pieces, (dt_piece_id){i})->corner;
    }
    for (uint32_t i = 0; i < dt_pieces_seam_count(pieces); i++)
        seams += DT_IS_PIECE(dt_pieces_seam(pieces, (dt_seam_id){i})->b);
    json_t *counts = record_object(r, root, "counts");
    record_set(r, counts, "pieces", record_count(dt_pieces_count(pieces)));
    record_set(r, counts, "edge_pieces", record_count(edge));
    record_set(r, counts, "corner_pieces", record_count(corner));
    record_set(r, counts, "whimsies", record_count(dt_pieces_whimsy_count(pieces)));
    record_set(r, counts, "voids", record_count(dt_pieces_void_count(pieces)));
    record_set(r, counts, "puzzles", record_count(dt_pieces_puzzle_count(pieces)));
    record_set(r, counts, "seams", record_count(seams));
    record_set(r, counts, "neighbours", record_count(dt_graph_pair_count(dt_analysis_graph(r->analysis))));
}

static void add_cutting(record *r, json_t *root) {
    dt_cutting_time time;
    if (!dt_analysis_cutting(r->analysis, &time)) {
        record_set(r, root, "cutting", json_null());
        return;
    }
    json_t *o = record_object(r, root, "cutting");
    record_set(r, o, "cut", record_real(time.cut_min));
    record_set(r, o, "travel", record_real(time.travel_min));
}

/* ---- pieces ---- */

static json_t *colour_text(uint32_t colour) {
    char text[8];
    if (colour == DT_NO_COLOUR) return json_null();
    snprintf(text, sizeof text, "#%06x", (unsigned)(colour & 0xFFFFFF));
    return json_string(text);
}

static size_t inner_sides(const dt_pieces *pieces, dt_piece_id id) {
    const dt_piece *piece = dt_pieces_get(pieces, id);
    size_t count = 0;
    for (size_t i = 0; i < piece->side_count; i++) {
        dt_piece_id across = dt_pieces_across(pieces, id, &piece->sides[i]);
        count += DT_IS_PIECE(across);
    }
    return count;
}

static void add_neighbour_ids(record *r, json_t *object, dt_piece_id id) {
    size_t count;
    const dt_piece_id *around = dt_graph_around(dt_analysis_graph(r->analysis), id, &count);
    json_t *array = record_array(r, object, "neighbours");
    for (size_t i = 0; i < count; i++) record_push(r, array, record_piece(around[i]));
}

static void add_piece(record *r, json_t *array, dt_piece_id id) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    const dt_piece *p = dt_pieces_get(pieces, id);
    json_t *o = record_item(r, array);
    record_set(r, o, "id", record_piece(id));
    record_set_point(r, o, p->inside);
    record_set(r, o, "area", record_real(p->area_mm2));
    record_set(r, o, "perimeter", record_real(p->perimeter_mm));
    record_set(r, o, "length", record_real(p->length_mm));
    record_set(r, o, "width", record_real(p->width_mm));
    record_set(r, o, "neck", record_real(p->neck.width_mm));
    record_set(r, o, "seams", record_count(inner_sides(pieces, id)));
    add_neighbour_ids(r, o, id);
    record_set(r, o, "edge", json_boolean(p->edge));
    record_set(r, o, "corner", json_boolean(p->corner));
    record_set(r, o, "whimsy", json_boolean(p->whimsy));
    record_set(r, o, "colour", colour_text(p->colour));
    record_set(r, o, "puzzle", record_count((size_t)p->puzzle + 1));
    record_set(r, o, "holes", record_count(p->hole_count));
    record_set(r, o, "held", json_boolean(dt_graph_is_held(dt_analysis_graph(r->analysis), id)));
    record_set(r, o, "small_part", json_boolean(p->small_part));
}

static void add_pieces(record *r, json_t *root) {
    json_t *array = record_array(r, root, "pieces");
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(r->analysis)); i++)
        add_piece(r, array, (dt_piece_id){i});
}

static void add_neighbours(record *r, json_t *root) {
    const dt_graph *graph = dt_analysis_graph(r->analysis);
    json_t *array = record_array(r, root, "neighbours");
    for (size_t i = 0; i < dt_graph_pair_count(graph); i++) {
        const dt_neighbours *pair = dt_graph_pair(graph, i);
        json_t *o = record_item(r, array);
        record_set(r, o, "a", record_piece(pair->a));
        record_set(r, o, "b", record_piece(pair->b));
        record_set(r, o, "border", record_real(pair->border_mm));
        record_set(r, o, "seams", record_count(pair->seams));
        record_set(r, o, "joint", json_string(words_joint(pair->joint)));
    }
}

static void add_voids(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *array = record_array(r, root, "voids");
    for (size_t i = 0; i < dt_pieces_void_count(pieces); i++) {
        json_t *o = record_item(r, array);
        record_set_point(r, o, dt_pieces_void(pieces, i)->inside);
        record_set(r, o, "area", record_real(dt_pieces_void(pieces, i)->area_mm2));
    }
}

static void add_fault(record *r, json_t *array, const dt_fault *fault) {
    json_t *o = record_item(r, array);
    dt_text sentence = DT_TEXT_EMPTY;
    record_set(r, o, "kind", json_string(dt_fault_key(fault->kind)));
    record_set_point(r, o, fault->at);
    record_set(r, o, "size", record_real(fault->size_mm));
    json_t *touched = record_array(r, o, "pieces");
    for (size_t i = 0; i < 2; i++)
        if (fault->pieces[i] != DT_NO_INDEX) record_push(r, touched, record_count((size_t)fault->pieces[i] + 1));
    words_fault(&sentence, r->analysis, fault);
    record_set(r, o, "text", record_sentence(&sentence));
}

static void add_faults(record *r, json_t *root) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    json_t *array = record_array(r, root, "faults");
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) add_fault(r, array, dt_pieces_fault(pieces, i));
}

/* ---- places ---- */

static void set_fit(record *r, json_t *o, const dt_match *match) {
    record_set(r, o, "turn", record_real(match->turn));
    record_set(r, o, "flipped", json_boolean(match->pose.flipped));
    record_set(r, o, "mismatch", record_real(match->mismatch_mm));
}

static void add_matches(record *r, json_t *root, const char *key, size_t count,
                        const dt_match *(*match_at)(const dt_fit *fit, size_t index)) {
    json_t *array = record_array(r, root, key);
    for (size_t i = 0; i < count; i++) {
        const dt_match *match = match_at(dt_analysis_fit(r->analysis), i);
        json_t *o = record_item(r, array);
        record_set(r, o, "a", record_piece(match->a));
        record_set(r, o, "b", record_piece(match->b));
        set_fit(r, o, match);
    }
}

static void add_turners(record *r, json_t *root) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    json_t *array = record_array(r, root, "turners"), *ways = NULL;
    dt_piece_id last = DT_OUTSIDE;
    for (size_t i = 0; i < dt_fit_turner_count(fit); i++) {
        const dt_match *match = dt_fit_turner(fit, i);
        if (match->a.v != last.v) {
            json_t *o = record_item(r, array);
            record_set(r, o, "piece", record_piece(match->a));
            ways = record_array(r, o, "ways");
            last = match->a;
        }
        set_fit(r, record_item(r, ways), match);
    }
}

typedef struct side_k {
    dt_piece_id place, across;
    size_t k;
} side_k;

/* Most candidates first, then by piece and neighbour. */
static int compare_sides(const void *left, const void *right) {
    const side_k *a = left, *b = right;
    if (a->k != b->k) return a->k > b->k ? -1 : 1;
    if (a->place.v != b->place.v) return a->place.v < b->place.v ? -1 : 1;
    return (a->across.v > b->across.v) - (a->across.v < b->across.v);
}

enum { MOST_WORST_SIDES = 20 };

static void add_worst_sides(record *r, json_t *look_alikes) {
    const dt_pieces *pieces = dt_analysis_pieces(r->analysis);
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    json_t *array = record_array(r, look_alikes, "worst");
    side_k *sides = calloc(dt_fit_alike_side_count(fit) + 1, sizeof *sides);
    size_t count = 0;
    if (!sides) r->failed = true;
    for (uint32_t i = 0; sides && i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        for (size_t s = 0; s < piece->side_count; s++) {
            size_t k = dt_fit_side_k(fit, (dt_piece_id){i}, s);
            if (k > 1 && count < dt_fit_alike_side_count(fit))
                sides[count++] = (side_k){{i}, dt_pieces_across(pieces, (dt_piece_id){i}, &piece->sides[s]), k};
        }
    }
    if (sides) qsort(sides, count, sizeof *sides, compare_sides);
    for (size_t i = 0; i < count && i < MOST_WORST_SIDES; i++) {
        json_t *o = record_item(r, array);
        record_set(r, o, "piece", record_piece(sides[i].place));
        record_set(r, o, "neighbour", record_piece(sides[i].across));
        record_set(r, o, "candidates", record_count(sides[i].k));
    }
    free(sides);
}

static void add_look_alikes(record *r, json_t *root) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    json_t *o = record_object(r, root, "look_alikes");
    record_set(r, o, "sides", record_count(dt_fit_side_count(fit)));
    record_set(r, o, "alike_sides", record_count(dt_fit_alike_side_count(fit)));
    record_set(r, o, "mean_candidates", record_real(dt_fit_mean_candidates(fit)));
    add_worst_sides(r, o);
}

static void add_false_mates(record *r, json_t *root) {
    const dt_fit *fit = dt_analysis_fit(r->analysis);
    json_t *array = record_array(r, root, "false_mates");
    for (size_t i = 0; i < dt_fit_false_mate_count(fit); i++) {
        const dt_false_mate *mate = dt_fit_false_mate(fit, i);
        json_t *o = record_item(r, array);
        record_set(r, o, "a", record_piece(mate->a));
        record_set(r, o, "b", record_piece(mate->b));
        record_set(r, o, "instead_of", record_piece(mate->instead_of));
        record_set(r, o, "length", record_real(mate->length_mm));
        record_set(r, o, "mismatch", record_real(mate->mismatch_mm));
    }
}

/* ---- the whole ---- */

static void add_assembly(record *r, json_t *root) {
    static const char *const verdicts[] = {[DT_ONE] = "one", [DT_SEVERAL] = "several", [DT_UNDECIDED] = "undecided"};
    const dt_assembly *assembly = dt_analysis_assembly(r->analysis);
    json_t *o = record_object(r, root, "assembly");
    record_set(r, o, "verdict", json_string(verdicts[assembly->verdict]));
    record_set(r, o, "fillings", assembly->counted ? record_count(assembly->fillings) : json_null());
    record_set(r, o, "distinct", assembly->counted ? record_count(assembly->distinct) : json_null());
    record_set(r, o, "count_is", assembly->counted ? json_string(assembly->exact ? "exact" : "at_least") : json_null());
    record_set(r, o, "steps", record_count(assembly->steps));
    json_t *other = record_array(r, o, "other");
    for (size_t i = 0; i < assembly->other_count; i++) {
        json_t *move = record_item(r, other);
        record_set(r, move, "piece", record_piece(assembly->other[i].piece));
        record_set(r, move, "place_of", record_piece(assembly->other[i].place_of));
        record_set(r, move, "turn", record_real(dt_pose_turn(assembly->other[i].pose)));
        record_set(r, move, "flipped", json_boolean(assembly->other[i].pose.flipped));
    }
}

static void add_interlock(record *r, json_t *root) {
    const dt_interlock *interlock = dt_graph_interlock(dt_analysis_graph(r->analysis));
    json_t *o = record_object(r, root, "interlock");
    record_set(r, o, "locked_joints", record_count(interlock->locked_joints));
    record_set(r, o, "sliding_joints", record_count(interlock->sliding_joints));
    record_set(r, o, "free_joints", record_count(interlock->free_joints));
    json_t *loose = record_array(r, o, "loose");
    for (size_t i = 0; i < interlock->loose_count; i++) record_push(r, loose, record_piece(interlock->loose[i]));
    record_set(r, o, "holds_together", json_boolean(interlock->holds_together));
}

/* Rounded factors would add up to a little more or less than the rounded points: size, the largest, takes up the rest.
 */
static void add_factors(record *r, json_t *o, const dt_rating *rating) {
    double rounded[DT_FACTORS], rest = record_round(rating->points);
    for (dt_factor f = 0; f < DT_FACTORS; f++) {
        rounded[f] = record_round(rating->factors[f]);
        if (f != DT_FACTOR_SIZE) rest -= rounded[f];
    }
    rounded[DT_FACTOR_SIZE] = rest;
    json_t *array = record_array(r, o, "factors");
    for (dt_factor f = 0; f < DT_FACTORS; f++) {
        json_t *item = record_item(r, array);
        record_set(r, item, "name", json_string(dt_factor_key(f)));
        record_set(r, item, "points", record_real(rounded[f]));
    }
}

static void add_difficulty(record *r, json_t *root) {
    const dt_rating *rating = dt_analysis_rating(r->analysis);
    json_t *o = record_object(r, root, "difficulty");
    record_set(r, o, "points", record_real(rating->points));
    record_set(r, o, "band", json_string(dt_band_name(rating->band)));
    add_factors(r, o, rating);
    record_set(r, o, "tries", record_real(rating->tries));
    record_set(r, o, "looks", record_real(rating->looks));
    json_t *time = record_object(r, o, "time");
    record_set(r, time, "low", record_real(rating->low_min));
    record_set(r, time, "median", record_real(rating->median_min));
    record_set(r, time, "high", record_real(rating->high_min));
}

static void add_verdict(record *r, json_t *root) {
    dt_verdict verdict = dt_analysis_verdict(r->analysis);
    json_t *o = record_object(r, root, "verdict");
    record_set(r, o, "one_place", json_boolean(verdict.one_place));
    record_set(r, o, "all_locked", json_boolean(verdict.all_locked));
    record_set(r, o, "clean_lines", json_boolean(verdict.clean_lines));
    record_set(r, o, "ok", json_boolean(verdict.ok));
}

/* The lists in which something may be missing, since a sheet of very many or very small pieces would take too long. */
static void add_left_out(record *r, json_t *root) {
    static const char *const names[DT_FIT_LISTS] = {"twins", "near_twins", "turners", "look_alikes", "false_mates"};
    json_t *array = record_array(r, root, "at_least");
    for (dt_fit_list list = 0; list < DT_FIT_LISTS; list++)
        if (dt_fit_leaves_out(dt_analysis_fit(r->analysis), list)) record_push(r, array, json_string(names[list]));
}

dt_status dt_report_json(const dt_analysis *analysis, dt_text *out) {
    record r = {analysis, false};
    const dt_fit *fit = dt_analysis_fit(analysis);
    json_t *root = json_object();
    record_set(&r, root, "schema", json_integer(1));
    add_draft(&r, root);
    add_settings(&r, root);
    record_set(&r, root, "cut_length", record_real(dt_net_cut_length(dt_analysis_net(analysis))));
    add_cutting(&r, root);
    add_counts(&r, root);
    add_pieces(&r, root);
    add_neighbours(&r, root);
    add_voids(&r, root);
    add_faults(&r, root);
    add_matches(&r, root, "twins", dt_fit_twin_count(fit), dt_fit_twin);
    add_turners(&r, root);
    add_matches(&r, root, "near_twins", dt_fit_near_twin_count(fit), dt_fit_near_twin);
    add_look_alikes(&r, root);
    add_false_mates(&r, root);
    add_left_out(&r, root);
    add_assembly(&r, root);
    add_interlock(&r, root);
    add_difficulty(&r, root);
    add_verdict(&r, root);
    dt_status status = record_dump(&r, root, out);
    if (status == DT_OK) dt_text_add(out, "\n");
    json_decref(root);
    return status == DT_OK && !out->failed ? DT_OK : DT_NO_MEMORY;
}
