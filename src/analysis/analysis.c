/* The facade: every stage in order, each on the results of those before it. Invariant: an analysis that was handed out
 * has all its stages. The stages refer to each other's memory, so they are freed together, last first. */
#include <dovetell/analysis.h>

#include "base/workers.h"
#include <dovetell/learn.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

struct dt_analysis {
    char *file;
    dt_settings settings;
    dt_settings as_cut; /* the same, with all the play of the pieces for a kerf */
    dt_drawing *drawing;
    dt_net *net;
    dt_pieces *pieces;
    dt_graph *graph;
    dt_fit *fit;
    dt_assembly_begun *begun; /* NULL but while the assemblies were begun and not finished */
    const dt_watch *watch;    /* while the stages run */
    atomic_bool has_twins, fitted;
    dt_assembly *assembly;
    dt_rating *rating;
    dt_stage_times times;
};

void dt_analysis_free(dt_analysis *a) {
    if (!a) return;
    dt_rating_free(a->rating);
    dt_assembly_begun_free(a->begun);
    dt_assembly_free(a->assembly);
    dt_fit_free(a->fit);
    dt_graph_free(a->graph);
    dt_pieces_free(a->pieces);
    dt_net_free(a->net);
    dt_drawing_free(a->drawing);
    free(a->file);
    free(a);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Seconds since *since, which moves on to now. */
static double lap(double *since) {
    double before = *since;
    *since = now();
    return *since - before;
}

/* With more play than the kerf's far more fits, and a step of the search costs many times as much: 50,000 of them take
 * some seconds where 2,000,000 would take minutes. */
#define LOOSE_STEPS_SHARE 40

/* The settings by which joints, places and assemblies are judged. */
static dt_settings settings_as_cut(const dt_settings *settings, const dt_net *net) {
    dt_settings as_cut = *settings;
    as_cut.kerf_mm += dt_net_looser(net);
    if (dt_net_looser(net) > 0.0) as_cut.steps /= LOOSE_STEPS_SHARE;
    return as_cut;
}

/* ---- the stages ---- */

typedef dt_status stage(dt_analysis *a, const dt_watch *watch, dt_error *error);

static dt_status find_lines(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch_report(watch, "finding the pieces", -1.0);
    dt_status status = dt_net_new(dt_drawing_strokes(a->drawing), &a->settings, &a->net, error);
    if (status == DT_OK) a->as_cut = settings_as_cut(&a->settings, a->net);
    a->times.lines = lap(&t);
    return status;
}

static dt_status find_pieces(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    (void)watch;
    double t = now();
    dt_status status = dt_pieces_new(a->net, dt_drawing_strokes(a->drawing), &a->settings, &a->pieces, error);
    a->times.pieces = lap(&t);
    return status;
}

static dt_status join(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch_report(watch, "checking the joints", -1.0);
    dt_status status = dt_graph_new(a->pieces, &a->as_cut, watch, &a->graph, error);
    a->times.graph = lap(&t);
    return status;
}

static dt_status fit(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch_report(watch, "comparing pieces and places", -1.0);
    dt_status status = dt_fit_new(a->pieces, &a->as_cut, watch, &a->fit, error);
    a->times.fit = lap(&t);
    if (status != DT_OK || dt_analysis_twin_count(a) > 0) atomic_store(&a->has_twins, true);
    atomic_store(&a->fitted, true);
    return status;
}

static bool is_needless(void *context) {
    dt_analysis *a = context;
    return atomic_load(&a->has_twins) || dt_watch_stopped(a->watch);
}

/* Once no other stage tells its own. */
static void tell_late(void *context, const char *what, double fraction) {
    dt_analysis *a = context;
    if (atomic_load(&a->fitted)) dt_watch_report(a->watch, what, fraction);
}

static dt_status begin_to_assemble(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch until_twins = {.progress = tell_late, .stop = is_needless, .context = a};
    (void)watch;
    dt_status status = dt_assembly_begin(a->pieces, &a->as_cut, &until_twins, &a->begun, error);
    a->times.assembly = lap(&t);
    return status;
}

static dt_status assemble(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch_report(watch, "looking for other assemblies", -1.0);
    dt_assembly_begun *begun = a->begun;
    a->begun = NULL;
    dt_status status =
        begun ? dt_assembly_finish(begun, a->pieces, a->fit, &a->as_cut, watch, &a->assembly, error)
              : dt_assembly_new(a->pieces, a->graph, a->fit, &a->as_cut, watch, &a->assembly, error);
    a->times.assembly += lap(&t);
    return status;
}

static dt_status rate(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    double t = now();
    dt_watch_report(watch, "rating the difficulty", -1.0);
    dt_effort effort = dt_effort_default();
    dt_status status = a->settings.times ? dt_effort_read(a->settings.times, &effort, error) : DT_OK;
    if (status == DT_OK)
        status = dt_rating_new(a->pieces, a->graph, a->fit, &a->as_cut, &effort, &a->rating, error);
    a->times.rating = lap(&t);
    return status;
}

/* Stages that do not need each other. */
enum { MOST_BESIDE = 3 };

typedef struct group {
    dt_analysis *a;
    stage *const *stages;
    const dt_watch *watches[MOST_BESIDE];
    dt_error errors[MOST_BESIDE];
} group;

static dt_status run_one(void *context, size_t worker, size_t item) {
    (void)worker;
    group *g = context;
    return g->stages[item](g->a, g->watches[item], &g->errors[item]);
}

/* At the same time, where the settings allow more than one thread. Only the last tells its progress: one watch is told by
 * one thread. */
static dt_status run_beside(dt_analysis *a, stage *const *stages, size_t count, const dt_watch *watch, dt_error *error) {
    dt_watch silent = watch ? *watch : (dt_watch){0};
    silent.progress = NULL;
    group g = {.a = a, .stages = stages, .watches = {&silent, &silent, &silent}};
    g.watches[count - 1] = watch;
    dt_status status = dt_workers_run(dt_workers_count(a->settings.threads, count), count, run_one, &g);
    for (size_t i = count; status != DT_OK && error && i-- > 0;)
        if (g.errors[i].code != DT_OK) *error = g.errors[i];
    return status;
}

/* All stages after the drawing has been read. */
static dt_status run_stages(dt_analysis *a, const dt_watch *watch, dt_error *error) {
    dt_status status = find_lines(a, watch, error);
    if (status == DT_OK) status = find_pieces(a, watch, error);
    /* With one thread nothing is begun that twins might make needless. */
    stage *const first[] = {begin_to_assemble, join, fit}, *const then[] = {rate, assemble};
    bool begin = dt_workers_count(a->settings.threads, 2) > 1;
    a->watch = watch;
    if (status == DT_OK) status = run_beside(a, first + !begin, begin ? 3 : 2, watch, error);
    if (status == DT_OK) status = run_beside(a, then, 2, watch, error);
    a->watch = NULL;
    return status;
}

/* Puts the draft's name in front of a message that does not carry it. */
static void name_the_draft(dt_error *error, const char *file) {
    if (!error || strstr(error->message, file)) return;
    dt_error plain = *error;
    dt_fail(error, plain.code, "\"%s\": %s", file, plain.message);
    error->line = plain.line;
    error->column = plain.column;
}

static dt_analysis *analysis_begin(const char *name, const dt_settings *settings) {
    dt_analysis *a = calloc(1, sizeof *a);
    if (!a) return NULL;
    a->settings = *settings;
    a->file = strdup(name);
    if (a->file) return a;
    free(a);
    return NULL;
}

/* Where a draft comes from: memory, or its path where bytes is NULL. */
typedef struct source {
    const char *name;
    const void *bytes;
    size_t count;
} source;

static dt_status analyse(source from, const dt_settings *settings, const dt_watch *watch, dt_analysis **out,
                         dt_error *error) {
    dt_analysis *a = analysis_begin(from.name, settings);
    if (!a) return dt_fail(error, DT_NO_MEMORY, "\"%s\": %s", from.name, dt_status_text(DT_NO_MEMORY));
    double t = now();
    dt_watch_report(watch, "reading the drawing", -1.0);
    dt_status status = from.bytes
                           ? dt_drawing_read_memory(from.name, from.bytes, from.count, &a->settings, &a->drawing, error)
                           : dt_drawing_read(from.name, &a->settings, &a->drawing, error);
    a->times.drawing = lap(&t);
    if (status == DT_OK) status = run_stages(a, watch, error);
    if (status != DT_OK) {
        name_the_draft(error, from.name);
        dt_analysis_free(a);
        return status;
    }
    *out = a;
    return DT_OK;
}

dt_status dt_analyse(const char *path, const dt_settings *settings, const dt_watch *watch, dt_analysis **out,
                     dt_error *error) {
    return analyse((source){path, NULL, 0}, settings, watch, out, error);
}

dt_status dt_analyse_memory(const char *name, const void *bytes, size_t count, const dt_settings *settings,
                            const dt_watch *watch, dt_analysis **out, dt_error *error) {
    return analyse((source){name, bytes ? bytes : "", count}, settings, watch, out, error);
}

const char *dt_analysis_file(const dt_analysis *analysis) {
    return analysis->file;
}

const dt_settings *dt_analysis_settings(const dt_analysis *analysis) {
    return &analysis->settings;
}

double dt_analysis_play_mm(const dt_analysis *analysis) {
    return analysis->as_cut.kerf_mm;
}

const dt_drawing *dt_analysis_drawing(const dt_analysis *analysis) {
    return analysis->drawing;
}

const dt_net *dt_analysis_net(const dt_analysis *analysis) {
    return analysis->net;
}

const dt_pieces *dt_analysis_pieces(const dt_analysis *analysis) {
    return analysis->pieces;
}

const dt_graph *dt_analysis_graph(const dt_analysis *analysis) {
    return analysis->graph;
}

const dt_fit *dt_analysis_fit(const dt_analysis *analysis) {
    return analysis->fit;
}

const dt_assembly *dt_analysis_assembly(const dt_analysis *analysis) {
    return analysis->assembly;
}

const dt_rating *dt_analysis_rating(const dt_analysis *analysis) {
    return analysis->rating;
}

dt_stage_times dt_analysis_times(const dt_analysis *analysis) {
    return analysis->times;
}

bool dt_analysis_is_double(const dt_analysis *analysis, const dt_match *match) {
    return analysis->settings.two_sided || !match->only_flipped;
}

size_t dt_analysis_twin_count(const dt_analysis *analysis) {
    size_t count = 0;
    for (size_t i = 0; i < dt_fit_twin_count(analysis->fit); i++)
        count += dt_analysis_is_double(analysis, dt_fit_twin(analysis->fit, i));
    return count;
}

dt_verdict dt_analysis_verdict(const dt_analysis *a) {
    dt_verdict v = {0};
    v.one_place = a->assembly->verdict == DT_ONE && dt_analysis_twin_count(a) == 0;
    v.all_locked = dt_graph_interlock(a->graph)->holds_together;
    v.clean_lines = dt_pieces_fault_count(a->pieces) == 0 && dt_drawing_lost_count(a->drawing) == 0;
    v.ok = v.one_place && v.all_locked && v.clean_lines;
    return v;
}

bool dt_analysis_finds_wrong(const dt_analysis *a) {
    dt_verdict v = dt_analysis_verdict(a);
    return !v.clean_lines || !v.all_locked || dt_analysis_twin_count(a) > 0 || a->assembly->verdict == DT_SEVERAL;
}
