/* analysis.h - the facade: a draft in, everything that is known of it out. The command line uses this and report.h. */
#ifndef DOVETELL_ANALYSIS_H
#define DOVETELL_ANALYSIS_H

#include <dovetell/assembly.h>
#include <dovetell/drawing.h>
#include <dovetell/rating.h>

#define DT_VERSION "0.1.0"

typedef struct dt_verdict {
    bool one_place;   /* proved: no twin, no other assembly */
    bool all_locked;  /* every piece is locked by its joints taken together: no group comes off by a straight move */
    bool clean_lines; /* no fault */
    bool ok;          /* all three */
} dt_verdict;

/* Seconds spent in each stage, for `make bench`. Not part of any printed record. */
typedef struct dt_stage_times {
    double drawing, lines, pieces, graph, fit, assembly, rating;
} dt_stage_times;

typedef struct dt_analysis dt_analysis;

/* Analyses a draft from a file ("-" = standard input) or from memory. Every stage's error comes through with a sentence
 * that starts with the draft's name. The settings' strings must outlive the analysis. */
dt_status dt_analyse(const char *path, const dt_settings *settings, const dt_watch *watch, dt_analysis **out,
                     dt_error *error);
dt_status dt_analyse_memory(const char *name, const void *bytes, size_t count, const dt_settings *settings,
                            const dt_watch *watch, dt_analysis **out, dt_error *error);
void dt_analysis_free(dt_analysis *analysis);

const char *dt_analysis_file(const dt_analysis *analysis);
const dt_settings *dt_analysis_settings(const dt_analysis *analysis);
/* The play of a piece in its place: the kerf, and what the outlines lie apart where each piece is drawn with a smaller one of its own. Joints,
 * places and assemblies are judged by it. */
double dt_analysis_play_mm(const dt_analysis *analysis);
const dt_drawing *dt_analysis_drawing(const dt_analysis *analysis);
const dt_net *dt_analysis_net(const dt_analysis *analysis);
const dt_pieces *dt_analysis_pieces(const dt_analysis *analysis);
const dt_graph *dt_analysis_graph(const dt_analysis *analysis);
const dt_fit *dt_analysis_fit(const dt_analysis *analysis);
const dt_assembly *dt_analysis_assembly(const dt_analysis *analysis);
const dt_rating *dt_analysis_rating(const dt_analysis *analysis);
/* Does a twin, near twin or turner count? On a sheet with a face, one that fits only turned over does not: the face
 * shows. */
bool dt_analysis_is_double(const dt_analysis *analysis, const dt_match *match);
size_t dt_analysis_twin_count(const dt_analysis *analysis); /* those that count */
dt_verdict dt_analysis_verdict(const dt_analysis *analysis);
/* Something was found that should be mended before cutting. A draft may be free of that and still not be `ok`: when the
 * search for other assemblies was not finished. */
bool dt_analysis_finds_wrong(const dt_analysis *analysis);
dt_stage_times dt_analysis_times(const dt_analysis *analysis);

/* Time at the laser, estimated from below: acceleration is left out. */
typedef struct dt_cutting_time {
    double cut_min;    /* each distinct line once, at settings.speed_mm_per_s */
    double travel_min; /* from line to line */
} dt_cutting_time;

/* False when no speed was given. Travel goes from each stroke's end to the nearest end of one not yet cut, beginning at
 * the corner of the sheet; beyond a few thousand strokes in the order of the drawing. O(strokes^2) up to there. */
bool dt_analysis_cutting(const dt_analysis *analysis, dt_cutting_time *out);

#endif
