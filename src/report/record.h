/* record.h - building JSON with jansson: one place for rounding, for plain texts and for running out of memory. */
#ifndef DOVETELL_REPORT_RECORD_H
#define DOVETELL_REPORT_RECORD_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>
#include <jansson.h>

typedef struct record {
    const dt_analysis *analysis;
    bool failed; /* memory ran out: nothing may be written */
} record;

double record_round(double value);
/* New values; NULL when memory runs out, which record_set and record_push notice. */
json_t *record_real(double value); /* rounded; null unless finite */
json_t *record_count(size_t count);
json_t *record_text(const char *text);      /* any bytes, made plain */
json_t *record_sentence(dt_text *sentence); /* and frees it */
json_t *record_piece(dt_piece_id id);       /* its number from 1; null for the outside */

/* These take the value over. */
void record_set(record *r, json_t *object, const char *key, json_t *value);
void record_push(record *r, json_t *array, json_t *value);
void record_set_point(record *r, json_t *object, dt_point p); /* "x", "y" */

/* New containers in place, borrowed. */
json_t *record_array(record *r, json_t *object, const char *key);
json_t *record_object(record *r, json_t *object, const char *key);
json_t *record_item(record *r, json_t *array);

/* Appends the compact form, without a line end. */
dt_status record_dump(record *r, json_t *root, dt_text *out);

#endif
