/* text.h - a growing string, and writing files whole or not at all. */
#ifndef DOVETELL_TEXT_H
#define DOVETELL_TEXT_H

#include <dovetell/status.h>
#include <stdbool.h>

/* A growing, always zero-terminated string. Start with DT_TEXT_EMPTY. Once memory has run out `failed` is set, further
 * appends do nothing, and the writer checks `failed` once at the end. */
typedef struct dt_text {
    char *bytes;
    size_t length, room;
    bool failed;
} dt_text;
#define DT_TEXT_EMPTY {NULL, 0, 0, false}

void dt_text_free(dt_text *text); /* leaves an empty text */
void dt_text_add(dt_text *text, const char *string);
void dt_text_add_bytes(dt_text *text, const void *bytes, size_t count);
void dt_text_addf(dt_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Appends string with & < > " ' written as entities, control characters and bytes that are no UTF-8 as U+FFFD: safe
 * inside element text and quoted attributes of XML and HTML. For every text that comes from a draft. */
void dt_text_add_escaped(dt_text *text, const char *string);

/* Appends string fit for a terminal: control characters (escape sequences too) and stray bytes as U+FFFD, cut to at
 * most `most` characters with an ellipsis (0 = no limit). */
void dt_text_add_plain(dt_text *text, const char *string, size_t most);

/* Writes the bytes to path by a temporary file in the same folder and a rename, so that the file is whole or is not
 * there; "-" is standard output. DT_CANNOT_WRITE with a sentence otherwise. */
dt_status dt_file_write(const char *path, const void *bytes, size_t count, dt_error *error);

/* Reads all of path ("-" = standard input) into *out, at most `limit` bytes. Caller frees *bytes with free().
 * DT_CANNOT_READ (missing, a folder, no permission), DT_TOO_LARGE, DT_NO_MEMORY. */
dt_status dt_file_read(const char *path, size_t limit, char **bytes, size_t *count, dt_error *error);

#endif
