/* settings.h - what the maker can set, and how a long stage tells where it is. */
#ifndef DOVETELL_SETTINGS_H
#define DOVETELL_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum dt_material { DT_PLY, DT_ACRYLIC } dt_material;
typedef enum dt_picture { DT_PICTURE_NONE, DT_PICTURE_FAINT, DT_PICTURE_FULL } dt_picture;

/* The options of every analysing command. Strings are borrowed and must outlive the analysis. */
typedef struct dt_settings {
    double width_mm; /* scale the drawing so that its cut lines span this width; 0 = the drawing's own units */
    double kerf_mm;             /* width that the laser burns away along a line */
    double thickness_mm;        /* of the sheet */
    dt_material material;       /* sets the limits for thin necks */
    double join_mm;             /* a line end this near to another line is taken to touch it */
    double eye_mm;              /* two borders that differ by less look alike to a person */
    bool two_sided;             /* pieces have no face: they may lie turned over */
    unsigned colours; /* sheet colours in the finished puzzle; 0 or 1 = one, unless fills in the drawing say more */
    dt_picture picture;         /* how much a picture on the pieces tells about their place */
    const char *const *only; /* if any: only strokes with one of these layers, groups, ids, classes or stroke colours */
    size_t only_count;
    const char *const *skip;    /* strokes to leave out, named likewise */
    size_t skip_count;
    uint64_t steps;             /* longest search for other assemblies */
    bool count;                 /* count every assembly instead of stopping at the first other one */
    double speed_mm_per_s;      /* cutting speed for the time at the laser; 0 = not asked */
    const char *times;          /* file of learnt times (dovetell learn), or NULL */
    unsigned threads; /* on how many at once a stage may work; 0 = as many as there are processors. Changes no result */
} dt_settings;

#define DT_SETTINGS_DEFAULT                                                                                    \
    {                                                                                                          \
        .kerf_mm = 0.2, .thickness_mm = 3.0, .material = DT_PLY, .join_mm = 0.3, .eye_mm = 0.7, .colours = 1, \
        .picture = DT_PICTURE_NONE, .steps = 2000000                                                           \
    }

/* How a long stage reports and how it is stopped. Both calls may be NULL, and so may the pointer to this record. */
typedef struct dt_watch {
    void (*progress)(void *context, const char *stage, double fraction); /* fraction 0..1, or below 0 = unknown */
    bool (*stop)(void *context);                                         /* true = stop soon, keep what is known */
    void *context;
} dt_watch;

void dt_watch_report(const dt_watch *watch, const char *stage, double fraction);
bool dt_watch_stopped(const dt_watch *watch);

#endif
