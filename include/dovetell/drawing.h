/* drawing.h - from an SVG file to strokes in millimetres.
 *
 * Reads the geometry of SVG 1.1 and SVG 2 (W3C recommendations). Nothing outside the draft is ever read or fetched.
 * Positions are millimetres from the left and top of the drawing's viewport.
 */
#ifndef DOVETELL_DRAWING_H
#define DOVETELL_DRAWING_H

#include <dovetell/settings.h>
#include <dovetell/strokes.h>

typedef enum dt_unit_source { DT_UNITS_PHYSICAL, DT_UNITS_96DPI, DT_UNITS_OPTION } dt_unit_source;

/* Something in the drawing that is not cut or could not be read as written, in words: "3 texts cannot be cut: turn them
 * into paths", `stroke "wing-3" at line 41: the path stops making sense at "L12,,4"; the part before it was kept`. */
typedef struct dt_note {
    unsigned line; /* 0 = the drawing as a whole */
    const char *text;
    bool lost;     /* some of a stroke, or where it lies, could not be read: lines may be missing */
} dt_note;

typedef struct dt_drawing dt_drawing;

/* Largest sizes that are read; each is reported with DT_TOO_LARGE when hit. */
#define DT_DRAWING_MOST_BYTES (64u << 20)    /* file, after decompression */
#define DT_DRAWING_MOST_POINTS 6000000u      /* flattened points */
#define DT_DRAWING_MOST_DEPTH 200u           /* nested elements, uses resolved */
#define DT_DRAWING_FLATNESS_MM 0.01          /* largest distance between a curve and its polyline */

/* Reads a draft from a file ("-" = standard input) or from memory (name is used in messages). Uses width_mm, only, skip
 * of the settings. Errors: DT_CANNOT_READ, DT_NOT_SVG, DT_NO_LINES, DT_TOO_LARGE, DT_NO_MEMORY, each with a sentence.
 * Linear in the size of the file and the points. */
dt_status dt_drawing_read(const char *path, const dt_settings *settings, dt_drawing **out, dt_error *error);
dt_status dt_drawing_read_memory(const char *name, const void *bytes, size_t count, const dt_settings *settings,
                                 dt_drawing **out, dt_error *error);
void dt_drawing_free(dt_drawing *drawing);

dt_strokes dt_drawing_strokes(const dt_drawing *drawing);
/* What the drawing calls itself: the title element right under its root, hostile until escaped; "" where there is none.
 */
const char *dt_drawing_title(const dt_drawing *drawing);
double dt_drawing_width(const dt_drawing *drawing);  /* mm, of the viewport */
double dt_drawing_height(const dt_drawing *drawing);
dt_unit_source dt_drawing_unit_source(const dt_drawing *drawing);
size_t dt_drawing_note_count(const dt_drawing *drawing);
dt_note dt_drawing_note(const dt_drawing *drawing, size_t index);
size_t dt_drawing_lost_count(const dt_drawing *drawing); /* notes of what was lost */

/* ---- parts of the reader that stand alone (and are fuzzed alone) ---- */

/* The points of SVG path data, flattened, as strokes without names, in the path's own units. tolerance is the flatness
 * in the same units. What comes before an error is kept (SVG 2, 9.5.4): then *error_at is the byte offset of the first
 * wrong character, else SIZE_MAX. The caller frees with dt_strokes_free. */
dt_status dt_path_data_read(const char *d, double tolerance, dt_strokes *out, size_t *error_at);
void dt_strokes_free(dt_strokes *strokes);

#endif
