/* The JSON record against the contract of output.md, written out once more here as a table. */
#include "draft.h"

#include <check.h>
#include <dovetell/report.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef enum kind { INTEGER, REAL, STRING, BOOLEAN, ARRAY, OBJECT } kind;

/* path.key in the order of the contract; "[]" goes into the items of an array; "?" = may be null. */
typedef struct field {
    const char *object, *key;
    kind kind;
    bool nullable;
} field;

static const field contract[] = {
    {"", "schema", INTEGER, false}, {"", "program", OBJECT, false}, {"", "draft", OBJECT, false}, {"", "settings", OBJECT, false},
    {"", "cut_length", REAL, false}, {"", "cutting", OBJECT, true}, {"", "counts", OBJECT, false}, {"", "pieces", ARRAY, false},
    {"", "neighbours", ARRAY, false}, {"", "voids", ARRAY, false}, {"", "faults", ARRAY, false}, {"", "twins", ARRAY, false},
    {"", "turners", ARRAY, false}, {"", "near_twins", ARRAY, false}, {"", "look_alikes", OBJECT, false},
    {"", "false_mates", ARRAY, false}, {"", "at_least", ARRAY, false}, {"", "assembly", OBJECT, false}, {"", "interlock", OBJECT, false},
    {"", "difficulty", OBJECT, false}, {"", "verdict", OBJECT, false},
    {"program", "name", STRING, false}, {"program", "version", STRING, false},
    {"draft", "file", STRING, false}, {"draft", "width", REAL, false}, {"draft", "height", REAL, false},
    {"draft", "unit_source", STRING, false},
    {"settings", "width", REAL, true}, {"settings", "kerf", REAL, false}, {"settings", "thickness", REAL, false},
    {"settings", "material", STRING, false}, {"settings", "join", REAL, false}, {"settings", "eye", REAL, false},
    {"settings", "two_sided", BOOLEAN, false}, {"settings", "colours", INTEGER, false}, {"settings", "picture", STRING, false},
    {"settings", "only", ARRAY, false}, {"settings", "skip", ARRAY, false}, {"settings", "steps", INTEGER, false},
    {"settings", "count", BOOLEAN, false}, {"settings", "speed", REAL, true}, {"settings", "times", STRING, true},
    {"counts", "pieces", INTEGER, false}, {"counts", "edge_pieces", INTEGER, false}, {"counts", "corner_pieces", INTEGER, false},
    {"counts", "whimsies", INTEGER, false}, {"counts", "voids", INTEGER, false}, {"counts", "puzzles", INTEGER, false},
    {"counts", "seams", INTEGER, false}, {"counts", "neighbours", INTEGER, false},
    {"cutting", "cut", REAL, false}, {"cutting", "travel", REAL, false},
    {"pieces", "id", INTEGER, false}, {"pieces", "x", REAL, false}, {"pieces", "y", REAL, false}, {"pieces", "area", REAL, false},
    {"pieces", "perimeter", REAL, false}, {"pieces", "length", REAL, false}, {"pieces", "width", REAL, false},
    {"pieces", "neck", REAL, true}, {"pieces", "seams", INTEGER, false}, {"pieces", "neighbours", ARRAY, false},
    {"pieces", "edge", BOOLEAN, false}, {"pieces", "corner", BOOLEAN, false}, {"pieces", "whimsy", BOOLEAN, false},
    {"pieces", "colour", STRING, true}, {"pieces", "puzzle", INTEGER, false}, {"pieces", "holes", INTEGER, false},
    {"pieces", "held", BOOLEAN, false}, {"pieces", "small_part", BOOLEAN, false},
    {"neighbours", "a", INTEGER, false}, {"neighbours", "b", INTEGER, false}, {"neighbours", "border", REAL, false},
    {"neighbours", "seams", INTEGER, false}, {"neighbours", "joint", STRING, false},
    {"voids", "x", REAL, false}, {"voids", "y", REAL, false}, {"voids", "area", REAL, false},
    {"faults", "kind", STRING, false}, {"faults", "x", REAL, false}, {"faults", "y", REAL, false}, {"faults", "size", REAL, false},
    {"faults", "pieces", ARRAY, false}, {"faults", "text", STRING, false},
    {"twins", "a", INTEGER, false}, {"twins", "b", INTEGER, false}, {"twins", "turn", REAL, true},
    {"twins", "flipped", BOOLEAN, false}, {"twins", "mismatch", REAL, false},
    {"turners", "piece", INTEGER, false}, {"turners", "ways", ARRAY, false},
    {"ways", "turn", REAL, true}, {"ways", "flipped", BOOLEAN, false}, {"ways", "mismatch", REAL, false},
    {"near_twins", "a", INTEGER, false}, {"near_twins", "b", INTEGER, false}, {"near_twins", "turn", REAL, true},
    {"near_twins", "flipped", BOOLEAN, false}, {"near_twins", "mismatch", REAL, false},
    {"look_alikes", "sides", INTEGER, false}, {"look_alikes", "alike_sides", INTEGER, false},
    {"look_alikes", "mean_candidates", REAL, false}, {"look_alikes", "worst", ARRAY, false},
    {"worst", "piece", INTEGER, false}, {"worst", "neighbour", INTEGER, true}, {"worst", "candidates", INTEGER, false},
    {"false_mates", "a", INTEGER, false}, {"false_mates", "b", INTEGER, false}, {"false_mates", "instead_of", INTEGER, false},
    {"false_mates", "length", REAL, false}, {"false_mates", "mismatch", REAL, false},
    {"assembly", "verdict", STRING, false}, {"assembly", "fillings", INTEGER, true}, {"assembly", "distinct", INTEGER, true},
    {"assembly", "count_is", STRING, true}, {"assembly", "steps", INTEGER, false}, {"assembly", "other", ARRAY, false},
    {"other", "piece", INTEGER, false}, {"other", "place_of", INTEGER, true}, {"other", "turn", REAL, false},
    {"other", "flipped", BOOLEAN, false},
    {"interlock", "locked_joints", INTEGER, false}, {"interlock", "sliding_joints", INTEGER, false},
    {"interlock", "free_joints", INTEGER, false}, {"interlock", "loose", ARRAY, false},
    {"interlock", "holds_together", BOOLEAN, false},
    {"difficulty", "points", REAL, false}, {"difficulty", "band", STRING, false}, {"difficulty", "factors", ARRAY, false},
    {"difficulty", "tries", REAL, false}, {"difficulty", "looks", REAL, false}, {"difficulty", "time", OBJECT, false},
    {"factors", "name", STRING, false}, {"factors", "points", REAL, false},
    {"time", "low", REAL, false}, {"time", "median", REAL, false}, {"time", "high", REAL, false},
    {"verdict", "one_place", BOOLEAN, false}, {"verdict", "all_locked", BOOLEAN, false},
    {"verdict", "clean_lines", BOOLEAN, false}, {"verdict", "ok", BOOLEAN, false},
};

static bool has_kind(const json_t *value, const field *f) {
    if (json_is_null(value)) return f->nullable;
    switch (f->kind) {
    case INTEGER: return json_is_integer(value);
    case REAL: return json_is_real(value);
    case STRING: return json_is_string(value);
    case BOOLEAN: return json_is_boolean(value);
    case ARRAY: return json_is_array(value);
    default: return json_is_object(value);
    }
}

static void check_value(json_t *value, const char *name);

/* Every key of the contract is there, of its type, in its order, and no other. */
static void check_object(json_t *object, const char *name) {
    void *at = json_object_iter(object);
    for (size_t i = 0; i < sizeof contract / sizeof *contract; i++) {
        const field *f = &contract[i];
        if (strcmp(f->object, name) != 0) continue;
        ck_assert_msg(at != NULL, "%s ends before %s", name, f->key);
        ck_assert_str_eq(json_object_iter_key(at), f->key);
        ck_assert_msg(has_kind(json_object_iter_value(at), f), "%s.%s is of the wrong type", name, f->key);
        check_value(json_object_iter_value(at), f->key);
        at = json_object_iter_next(object, at);
    }
    ck_assert_msg(at == NULL, "%s has a key beyond the contract", name);
}

static void check_value(json_t *value, const char *name) {
    if (json_is_object(value)) check_object(value, name);
    for (size_t i = 0; i < json_array_size(value); i++)
        if (json_is_object(json_array_get(value, i))) check_object(json_array_get(value, i), name);
}

static dt_analysis *analyse(draft *d, const dt_settings *settings) {
    dt_text svg = DT_TEXT_EMPTY;
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    draft_svg(d, 5.0, &svg);
    dt_status status = dt_analyse_memory("reed.svg", svg.bytes, svg.length, settings, NULL, &analysis, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    dt_text_free(&svg);
    return analysis;
}

static json_t *record_of(const dt_analysis *analysis) {
    dt_text line = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_json(analysis, &line), DT_OK);
    ck_assert_int_eq(line.bytes[line.length - 1], '\n');
    ck_assert_ptr_eq(strchr(line.bytes, '\n'), line.bytes + line.length - 1); /* one line: JSON Lines */
    json_error_t error;
    json_t *root = json_loads(line.bytes, JSON_REJECT_DUPLICATES, &error);
    ck_assert_msg(root != NULL, "%s", error.text);
    dt_text_free(&line);
    return root;
}

/* Alike pieces, a void, a gap, a tail: every list of the record has something in it, but for those that need luck. */
static draft *busy_draft(void) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 4, 20, 20);
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 30, 30, 4);
    draft_layer(d, "cut", DT_ROLE_CUT);
    draft_segment(d, 65, 0.15, 65, 20);
    draft_segment(d, 10, 0, 10, 21);
    return d;
}

START_TEST(every_key_stands_in_its_place) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = busy_draft();
    dt_analysis *analysis = analyse(d, &settings);
    json_t *root = record_of(analysis);
    check_object(root, "");
    ck_assert_int_eq(json_integer_value(json_object_get(root, "schema")), 1);
    ck_assert_uint_eq(json_array_size(json_object_get(root, "voids")), 1);
    ck_assert_uint_ge(json_array_size(json_object_get(root, "faults")), 2);
    ck_assert_uint_ge(json_array_size(json_object_get(root, "twins")), 1);
    ck_assert_uint_ge(json_array_size(json_object_get(root, "turners")), 1);
    json_decref(root);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

START_TEST(lists_agree_with_counts) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 3, 4, 30, 5, false);
    dt_analysis *analysis = analyse(d, &settings);
    json_t *root = record_of(analysis), *counts = json_object_get(root, "counts"), *piece;
    size_t index, seams = 0, neighbours = 0;
    json_array_foreach(json_object_get(root, "pieces"), index, piece) {
        ck_assert_int_eq(json_integer_value(json_object_get(piece, "id")), (json_int_t)index + 1);
        seams += (size_t)json_integer_value(json_object_get(piece, "seams"));
        neighbours += json_array_size(json_object_get(piece, "neighbours"));
    }
    ck_assert_int_eq(json_integer_value(json_object_get(counts, "pieces")), 12);
    ck_assert_int_eq(json_integer_value(json_object_get(counts, "edge_pieces")), 10);
    ck_assert_int_eq(json_integer_value(json_object_get(counts, "corner_pieces")), 4);
    /* a grid of 3 x 4 has 2 x 4 + 3 x 3 inner seams */
    ck_assert_int_eq(json_integer_value(json_object_get(counts, "seams")), 17);
    ck_assert_uint_eq(seams, 2 * 17);
    ck_assert_uint_eq(neighbours, 2 * 17);
    ck_assert_uint_eq(json_array_size(json_object_get(root, "neighbours")), 17);
    json_decref(root);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* Value in units of the last decimal of the record; fails when it has more decimals. */
static long long units(const json_t *value) {
    double scaled = json_real_value(value) * 1e4;
    ck_assert_double_eq_tol(scaled, nearbyint(scaled), 1e-4);
    return llround(scaled);
}

START_TEST(factors_add_up_exactly) {
    for (unsigned seed = 1; seed <= 5; seed++) {
        dt_settings settings = DT_SETTINGS_DEFAULT;
        settings.two_sided = seed % 2;
        settings.colours = seed;
        settings.picture = DT_PICTURE_FAINT;
        draft *d = draft_new();
        draft_knobbed_sheet(d, 3, 3 + seed, 30, seed, seed == 4);
        dt_analysis *analysis = analyse(d, &settings);
        json_t *root = record_of(analysis), *difficulty = json_object_get(root, "difficulty"), *factor;
        long long sum = 0;
        size_t index;
        json_array_foreach(json_object_get(difficulty, "factors"), index, factor) {
            ck_assert_str_eq(json_string_value(json_object_get(factor, "name")), dt_factor_key((dt_factor)index));
            sum += units(json_object_get(factor, "points"));
        }
        ck_assert_int_eq(sum, units(json_object_get(difficulty, "points")));
        json_decref(root);
        dt_analysis_free(analysis);
        draft_free(d);
    }
}
END_TEST

START_TEST(the_same_draft_gives_the_same_bytes) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_text first = DT_TEXT_EMPTY, second = DT_TEXT_EMPTY;
    draft *d = busy_draft();
    for (int run = 0; run < 2; run++) {
        dt_analysis *analysis = analyse(d, &settings);
        dt_text *out = run ? &second : &first;
        ck_assert_int_eq(dt_report_json(analysis, out), DT_OK);
        ck_assert_int_eq(dt_report_svg(analysis, out), DT_OK);
        ck_assert_int_eq(dt_report_html(analysis, out), DT_OK);
        ck_assert_int_eq(dt_report_csv(analysis, out), DT_OK);
        dt_report_summary(analysis, out);
        dt_analysis_free(analysis);
    }
    ck_assert_uint_eq(first.length, second.length);
    ck_assert_int_eq(memcmp(first.bytes, second.bytes, first.length), 0);
    dt_text_free(&first);
    dt_text_free(&second);
    draft_free(d);
}
END_TEST

START_TEST(hostile_names_stay_valid) {
    const char svg[] = "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='60mm' viewBox='0 0 60 60'><g id='&quot;\\&#x2028;'>"
                       "<path id='a&#xFFFD;\"&#x85;' d='M5,5H55V55H5Z'/><path id='&lt;b>' d='M30,5V54.8'/></g></svg>";
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_status status = dt_analyse_memory("\xFF\x1B[31m\".svg", svg, sizeof svg - 1, &settings, NULL, &analysis, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    json_t *root = record_of(analysis);
    check_object(root, "");
    ck_assert_str_eq(json_string_value(json_object_get(json_object_get(root, "draft"), "file")),
                     "\xEF\xBF\xBD\xEF\xBF\xBD[31m\".svg");
    json_decref(root);
    dt_analysis_free(analysis);
}
END_TEST

START_TEST(the_table_has_a_row_for_each_piece) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = busy_draft();
    dt_analysis *analysis = analyse(d, &settings);
    dt_text table = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_csv(analysis, &table), DT_OK);
    size_t rows = 0, columns = 0, expected = 0;
    for (const char *c = table.bytes; *c; c++) {
        columns += *c == ',';
        if (*c != '\n') continue;
        if (rows++ == 0) expected = columns;
        ck_assert_uint_eq(columns, expected);
        columns = 0;
    }
    ck_assert_uint_eq(rows, dt_pieces_count(dt_analysis_pieces(analysis)) + 1);
    dt_text_free(&table);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

Suite *suite_report_json(void);
Suite *suite_report_json(void) {
    Suite *suite = suite_create("report_json");
    TCase *cases = tcase_create("report_json");
    tcase_add_test(cases, every_key_stands_in_its_place);
    tcase_add_test(cases, lists_agree_with_counts);
    tcase_add_test(cases, factors_add_up_exactly);
    tcase_add_test(cases, the_same_draft_gives_the_same_bytes);
    tcase_add_test(cases, hostile_names_stay_valid);
    tcase_add_test(cases, the_table_has_a_row_for_each_piece);
    suite_add_tcase(suite, cases);
    return suite;
}
