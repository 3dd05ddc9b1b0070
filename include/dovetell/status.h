/* status.h - the one status type of the library, and the error record that travels beside it.
 *
 * Every function that can fail returns a dt_status and gives its results through out parameters, which stay
 * untouched unless the status is DT_OK. Functions at the boundary (readers, writers, commands) also fill a dt_error:
 * a sentence for a maker who is no programmer, saying what is wrong and what to do.
 */
#ifndef DOVETELL_STATUS_H
#define DOVETELL_STATUS_H

#include <stddef.h>

/* name, sentence. The enum, dt_status_text and the tests are made from this list. */
#define DT_STATUS_LIST(X)                                                   \
    X(DT_OK, "all went well")                                               \
    X(DT_NO_MEMORY, "the computer has no memory left for this")             \
    X(DT_BAD_ARGUMENT, "a value is out of its range")                       \
    X(DT_CANNOT_READ, "the file cannot be read")                            \
    X(DT_NOT_SVG, "the file is no SVG drawing")                             \
    X(DT_NO_LINES, "the drawing has no cut lines")                          \
    X(DT_NO_PIECES, "the cut lines close round no piece")                   \
    X(DT_TOO_LARGE, "the drawing is beyond a limit")                        \
    X(DT_CANNOT_WRITE, "the file cannot be written")                        \
    X(DT_BAD_TIMES, "the table of times cannot be used")                    \
    X(DT_STOPPED, "stopped before the end")                                 \
    X(DT_LIBRARY, "a library that dovetell builds on failed")

typedef enum dt_status {
#define DT_STATUS_ENUM(name, text) name,
    DT_STATUS_LIST(DT_STATUS_ENUM)
#undef DT_STATUS_ENUM
} dt_status;

/* The sentence of a status, in lower case without a full stop; "unknown status" for a value outside the list. */
const char *dt_status_text(dt_status status);

/* What went wrong, where. line and column count from 1 in the draft; 0 = unknown. */
typedef struct dt_error {
    dt_status code;
    unsigned line, column;
    char message[480];
} dt_error;

/* Fills *error (which may be NULL) with a printf-style message and returns code, so that a function can end in
 * `return dt_fail(error, DT_NOT_SVG, "...", ...)`. A message too long for the record is cut at a character. */
dt_status dt_fail(dt_error *error, dt_status code, const char *format, ...) __attribute__((format(printf, 3, 4)));

#endif
