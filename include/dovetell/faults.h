/* faults.h - what is wrong with the lines of a draft, where, and how bad. */
#ifndef DOVETELL_FAULTS_H
#define DOVETELL_FAULTS_H

#include <dovetell/geom.h>

/* name in the JSON record, what it is. Ordered from worst to mildest; the order is the rank in "worst first". */
#define DT_FAULT_LIST(X)                                                                   \
    X(DT_FAULT_OPEN_OUTLINE, "open_outline", "the outline does not close")                 \
    X(DT_FAULT_CROSSING, "crossing", "outlines of two figures cross")                      \
    X(DT_FAULT_GAP, "gap", "a line ends short of the line it aims for")                    \
    X(DT_FAULT_DOUBLED, "doubled", "the same line is cut twice")                           \
    X(DT_FAULT_THIN_NECK, "thin_neck", "a piece is so narrow here that it may snap")       \
    X(DT_FAULT_SLIVER, "sliver", "a face too thin to be a piece")                          \
    X(DT_FAULT_CLOSE_CUTS, "close_cuts", "the strip between two lines burns away")         \
    X(DT_FAULT_STRAY, "stray", "a line that bounds no piece")                              \
    X(DT_FAULT_TAIL, "tail", "a line runs on past the line it meets")

typedef enum dt_fault_kind {
#define DT_FAULT_ENUM(name, key, text) name,
    DT_FAULT_LIST(DT_FAULT_ENUM)
#undef DT_FAULT_ENUM
    DT_FAULT_KINDS
} dt_fault_kind;

#define DT_NO_INDEX UINT32_MAX

typedef struct dt_fault {
    dt_fault_kind kind;
    dt_point at;           /* where to look */
    dt_point other;        /* the far side: where a gap's line aims, where a doubled stretch ends; else = at */
    double size_mm;        /* of a gap or tail, length of a doubled line or stray, width of a sliver, neck or strip */
    double apart_mm;       /* of a summary of doubled lines: how far whole outlines lie apart, drawn inset; else 0 */
    bool outside; /* of a tail or stray: it runs out over the border, from `at` to `other`, and size_mm is how far */
    bool mended;           /* the analysis goes on as if it were right (joined, merged, cut off) */
    uint32_t stroke;       /* index into dt_strokes, or DT_NO_INDEX */
    uint32_t other_stroke;
    uint32_t pieces[2];    /* indices of the pieces touched, or DT_NO_INDEX; in a dt_net: of faces */
    uint32_t times;        /* 1; in a summary fault (a whole draft drawn doubled): how many faults it stands for */
} dt_fault;

const char *dt_fault_key(dt_fault_kind kind);  /* the name in the JSON record */
const char *dt_fault_text(dt_fault_kind kind); /* what it is, in words */
/* Worst first: by kind, then size (gaps, doubles, strays, tails: largest first; necks, slivers, strips: narrowest
 * first), then place. For qsort over dt_fault. */
int dt_fault_compare(const void *a, const void *b);

#endif
