/* source.h - a draft's bytes: from a file or standard input, unpacked when they are gzip. */
#ifndef DOVETELL_DRAWING_SOURCE_H
#define DOVETELL_DRAWING_SOURCE_H

#include <dovetell/status.h>
#include <stdbool.h>
#include <stddef.h>

bool source_is_gzip(const void *bytes, size_t count);
/* Unpacks all members of a gzip file, at most `limit` bytes; the caller frees *out. DT_NOT_SVG (broken), DT_TOO_LARGE,
 * DT_NO_MEMORY. */
dt_status source_unpack(const char *name, const void *bytes, size_t count, size_t limit, char **out, size_t *out_count,
                        dt_error *error);

#endif
