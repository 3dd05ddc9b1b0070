/* store.h - rows of a shelf as bytes: between processes, and stored in files. */
#ifndef DOVETELL_ANALYSIS_STORE_H
#define DOVETELL_ANALYSIS_STORE_H

#include <dovetell/shelf.h>

/* What one draft came to. The texts belong to the record. */
typedef struct dt_record {
    bool readable, stored;
    dt_shelf_figures figures;
    char *reason, *picture;
} dt_record;

void dt_record_free(dt_record *record);

/* Appends the record, with its length in front and a digest behind. */
void dt_record_write(const dt_record *record, dt_text *out);
/* Reads a record back: the bytes taken, or 0 when they are no whole, true record. */
size_t dt_record_read(const char *bytes, size_t count, dt_record *out);

/* What a row depends on beside the draft: digests of the running program and of the file of learnt times, and the
 * settings. */
typedef struct dt_store_context {
    char program[65], times[65];
    const dt_settings *settings;
} dt_store_context;

/* Reads the program's own file (where the system shows it; else its version stands for it) and the learnt times. */
dt_status dt_store_context_read(const dt_settings *settings, dt_store_context *out, dt_error *error);
/* The key of a draft: 64 hexadecimal digits, or "" when memory ran out (then nothing is found or kept). */
void dt_store_key(const dt_store_context *context, const char *draft, size_t draft_count, char key[65]);
/* A stored record, if there is a true one; storing one (failures are silent: the store only saves time). */
bool dt_store_find(const char *store, const char *key, dt_record *out);
void dt_store_keep(const char *store, const char *key, const dt_record *record);

#endif
