/* Building JSON with jansson (record.h). Invariant: a number is rounded to DECIMALS_FACTOR, so that the same drawing
 * gives the same bytes. */
#include "report/record.h"

#include <math.h>
#include <stdlib.h>

/* A tenth of a micrometre is below the grid of the net; all that is rounded off is noise. */
static const double DECIMALS_FACTOR = 1e4;

double record_round(double value) {
    return round(value * DECIMALS_FACTOR) / DECIMALS_FACTOR + 0.0; /* + 0.0: no "-0.0" */
}

json_t *record_real(double value) {
    return isfinite(value) ? json_real(record_round(value)) : json_null();
}

json_t *record_count(size_t count) {
    return json_integer((json_int_t)count);
}

json_t *record_text(const char *text) {
    dt_text plain = DT_TEXT_EMPTY;
    dt_text_add_plain(&plain, text, 0);
    json_t *string = plain.failed ? NULL : json_string(plain.bytes ? plain.bytes : "");
    dt_text_free(&plain);
    return string;
}

/* A sentence that words_... wrote; frees it. */
json_t *record_sentence(dt_text *sentence) {
    json_t *string = sentence->failed ? NULL : json_string(sentence->bytes ? sentence->bytes : "");
    dt_text_free(sentence);
    return string;
}

json_t *record_piece(dt_piece_id id) {
    return DT_IS_PIECE(id) ? record_count((size_t)id.v + 1) : json_null();
}

/* Sets key and gives the value away; a NULL value (no memory) marks the record as failed. */
void record_set(record *r, json_t *object, const char *key, json_t *value) {
    if (json_object_set_new(object, key, value) != 0) r->failed = true;
}

void record_push(record *r, json_t *array, json_t *value) {
    if (json_array_append_new(array, value) != 0) r->failed = true;
}

void record_set_point(record *r, json_t *object, dt_point p) {
    record_set(r, object, "x", record_real(p.x));
    record_set(r, object, "y", record_real(p.y));
}

/* A new array under key, borrowed. */
json_t *record_array(record *r, json_t *object, const char *key) {
    json_t *array = json_array();
    record_set(r, object, key, array);
    return array;
}

/* A new object under key, borrowed. */
json_t *record_object(record *r, json_t *object, const char *key) {
    json_t *child = json_object();
    record_set(r, object, key, child);
    return child;
}

/* A new object at the end of the array, borrowed. */
json_t *record_item(record *r, json_t *array) {
    json_t *child = json_object();
    record_push(r, array, child);
    return child;
}

static int append(const char *bytes, size_t count, void *out) {
    dt_text *text = out;
    dt_text_add_bytes(text, bytes, count);
    return text->failed ? -1 : 0;
}

dt_status record_dump(record *r, json_t *root, dt_text *out) {
    /* 15 digits show every number of DECIMALS decimals as it was rounded, and no more. */
    size_t before = out->length;
    if (!r->failed && json_dump_callback(root, append, out, JSON_COMPACT | JSON_REAL_PRECISION(15)) == 0) return DT_OK;
    out->length = before;
    if (out->bytes) out->bytes[before] = '\0';
    return DT_NO_MEMORY;
}
