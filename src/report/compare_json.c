/* A comparison as a record (its shape stands in dovetell/report.h), by jansson. */
#include <dovetell/report.h>

#include "report/compare_figures.h"
#include "report/record.h"
#include "report/words.h"

/* Counts stay whole numbers; what there is none of is null. */
static json_t *figure_value(const figure *f, double value) {
    return f->kind == FIGURE_COUNT ? json_integer((json_int_t)value) : record_real(value);
}

static void add_figures(record *r, json_t *root, const dt_comparison *c) {
    dt_figures old = dt_figures_of(dt_compare_old(c)), now = dt_figures_of(dt_compare_now(c));
    figure before[MOST_FIGURES], after[MOST_FIGURES];
    size_t count = list_figures(&old, before);
    list_figures(&now, after);
    json_t *figures = record_object(r, root, "figures"), *factors = record_object(r, root, "factors");
    for (size_t i = 0; i < count; i++) {
        json_t *item = record_object(r, before[i].kind == FIGURE_FACTOR ? factors : figures, before[i].key);
        record_set(r, item, "old", figure_value(&before[i], before[i].value));
        record_set(r, item, "now", figure_value(&after[i], after[i].value));
        record_set(r, item, "change", figure_value(&after[i], after[i].value - before[i].value));
    }
}

static void add_changed(record *r, json_t *array, const dt_comparison *c) {
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(dt_compare_old(c))); i++) {
        double differ = 0.0;
        dt_piece_id now = dt_compare_became(c, (dt_piece_id){i}, &differ);
        if (!DT_IS_PIECE(now) || differ <= DT_COMPARE_SAME_MM) continue;
        json_t *item = record_item(r, array);
        record_set(r, item, "old", record_piece((dt_piece_id){i}));
        record_set(r, item, "now", record_piece(now));
        record_set(r, item, "differ", record_real(differ));
    }
}

static void add_pieces(record *r, json_t *root, const dt_comparison *c) {
    json_t *pieces = record_object(r, root, "pieces"), *shift = record_object(r, pieces, "shift");
    record_set_point(r, shift, dt_compare_shift(c));
    record_set(r, pieces, "same", record_count(dt_compare_same_count(c)));
    add_changed(r, record_array(r, pieces, "changed"), c);
    json_t *gone = record_array(r, pieces, "gone"), *fresh = record_array(r, pieces, "new");
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(dt_compare_old(c))); i++)
        if (!DT_IS_PIECE(dt_compare_became(c, (dt_piece_id){i}, NULL)))
            record_push(r, gone, record_piece((dt_piece_id){i}));
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(dt_compare_now(c))); i++)
        if (!DT_IS_PIECE(dt_compare_was(c, (dt_piece_id){i}))) record_push(r, fresh, record_piece((dt_piece_id){i}));
}

static void add_pairs(record *r, json_t *array, const dt_pair *pairs, size_t count) {
    for (size_t i = 0; i < count; i++) {
        json_t *item = record_item(r, array);
        record_set(r, item, "a", record_piece(pairs[i].a));
        record_set(r, item, "b", record_piece(pairs[i].b));
    }
}

static void add_ids(record *r, json_t *array, const dt_piece_id *ids, size_t count) {
    for (size_t i = 0; i < count; i++) record_push(r, array, record_piece(ids[i]));
}

static void add_faults(record *r, json_t *array, const dt_analysis *a, const uint32_t *faults, size_t count) {
    for (size_t i = 0; i < count; i++) {
        const dt_fault *fault = dt_pieces_fault(dt_analysis_pieces(a), faults[i]);
        json_t *item = record_item(r, array);
        dt_text text = DT_TEXT_EMPTY;
        dt_report_fault(a, fault, &text);
        record_set(r, item, "kind", json_string(dt_fault_key(fault->kind)));
        record_set_point(r, item, fault->at);
        record_set(r, item, "size", record_real(fault->size_mm));
        record_set(r, item, "text", record_sentence(&text));
    }
}

static void add_lists(record *r, json_t *root, const dt_comparison *c) {
    size_t count;
    json_t *twins = record_object(r, root, "twins"), *alike = record_object(r, root, "look_alikes"),
           *faults = record_object(r, root, "faults");
    const dt_pair *pairs = dt_compare_twins_went(c, &count);
    add_pairs(r, record_array(r, twins, "went"), pairs, count);
    pairs = dt_compare_twins_came(c, &count);
    add_pairs(r, record_array(r, twins, "came"), pairs, count);
    const dt_piece_id *ids = dt_compare_alike_went(c, &count);
    add_ids(r, record_array(r, alike, "went"), ids, count);
    ids = dt_compare_alike_came(c, &count);
    add_ids(r, record_array(r, alike, "came"), ids, count);
    const uint32_t *indices = dt_compare_faults_went(c, &count);
    add_faults(r, record_array(r, faults, "went"), dt_compare_old(c), indices, count);
    indices = dt_compare_faults_came(c, &count);
    add_faults(r, record_array(r, faults, "came"), dt_compare_now(c), indices, count);
}

dt_status dt_report_compare_json(const dt_comparison *c, size_t number, dt_text *out) {
    record r = {.analysis = dt_compare_now(c)};
    json_t *root = json_object();
    dt_text sentence = DT_TEXT_EMPTY;
    dt_report_compare_verdict(c, number, &sentence);
    if (sentence.length) sentence.bytes[--sentence.length] = '\0'; /* its line end */
    record_set(&r, root, "schema", json_integer(1));
    json_t *program = record_object(&r, root, "program");
    record_set(&r, program, "name", json_string("dovetell"));
    record_set(&r, program, "version", json_string(DT_VERSION));
    record_set(&r, root, "old", record_text(dt_analysis_file(dt_compare_old(c))));
    record_set(&r, root, "now", record_text(dt_analysis_file(dt_compare_now(c))));
    record_set(&r, root, "verdict", record_sentence(&sentence));
    add_figures(&r, root, c);
    add_pieces(&r, root, c);
    add_lists(&r, root, c);
    dt_status status = record_dump(&r, root, out);
    if (status == DT_OK) dt_text_add(out, "\n");
    json_decref(root);
    return status == DT_OK && out->failed ? DT_NO_MEMORY : status;
}
