/* shelf.h - a whole catalogue: every draft of a folder analysed, by several processes, each draft once.
 *
 * Vocabulary: a SHELF is a list of ROWS, one for each draft, readable or not. What was worked out is STORED under a key
 * made of the program's version, every setting that matters and the bytes of the draft (and of the file of learnt
 * times), so a stored row is never used after any of them has changed; the store may be deleted at any time.
 */
#ifndef DOVETELL_SHELF_H
#define DOVETELL_SHELF_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

/* What a catalogue says of one draft. Numbers only, so that a row can be stored as it is. */
typedef struct dt_shelf_figures {
    uint64_t pieces, edge_pieces, whimsies, puzzles, faults, twins;
    double width_mm, height_mm; /* of the finished puzzle */
    double cut_length_mm;
    double points, low_min, median_min, high_min;
    dt_band band;
    dt_assembly_verdict assembly;
    dt_verdict verdict;
    uint32_t small_parts;
} dt_shelf_figures;

typedef struct dt_shelf_row {
    const char *file;
    bool readable;
    bool stored;              /* taken from the store, not worked out anew */
    const char *reason;       /* why it is unreadable, or "" */
    const char *picture;      /* an SVG element of the draft, or "" */
    dt_shelf_figures figures; /* all 0 when unreadable */
} dt_shelf_row;

typedef struct dt_shelf dt_shelf;

/* How a shelf is worked out. */
typedef struct dt_shelf_options {
    unsigned processes; /* at once; 0 = as many as the machine has cores */
    const char *store;  /* folder of stored rows (made when missing), or NULL = none */
    void (*picture)(const dt_analysis *analysis, dt_text *out); /* draws a row's picture, or NULL */
} dt_shelf_options;

/* Analyses every draft. Rows come hardest first (points, then file name), unreadable ones last by name. An unreadable
 * draft is a row, not an error. DT_NO_MEMORY, DT_LIBRARY (no process could be started). Memory: rows and pictures only.
 */
dt_status dt_shelf_new(const char *const *files, size_t count, const dt_settings *settings,
                       const dt_shelf_options *options, const dt_watch *watch, dt_shelf **out, dt_error *error);
void dt_shelf_free(dt_shelf *shelf);

size_t dt_shelf_count(const dt_shelf *shelf);
const dt_shelf_row *dt_shelf_row_at(const dt_shelf *shelf, size_t index);
size_t dt_shelf_unreadable(const dt_shelf *shelf);

/* The drafts of a folder: names that end in .svg or .svgz in any case, sorted by name, as folder/name; hidden files and
 * folders are passed over. A path that is no folder gives itself. The caller frees with dt_draft_list_free. */
dt_status dt_draft_list(const char *path, char ***files, size_t *count, dt_error *error);
void dt_draft_list_free(char **files, size_t count);

/* The folder for stored rows of this user: $XDG_CACHE_HOME/dovetell, or ~/.cache/dovetell (XDG Base Directory
 * Specification); NULL when neither is known. The caller frees it. */
char *dt_shelf_default_store(void);

#endif
