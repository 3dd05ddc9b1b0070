/* Stage times, memory, and the ratio to GEOS alone (noding and faces of the same strokes), for 60, 500 and 5,000
 * pieces. Each run is a child process, so that its peak memory is its own. Seconds are this machine's; the ratio is
 * what to compare. */
#include <dovetell/analysis.h>
#include <geos_c.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

typedef struct run {
    dt_stage_times t;
    double total, geos;
    size_t pieces, faces;
    long memory_kb;
} run;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void give_up(const char *what) {
    fprintf(stderr, "bench: %s\n", what);
    exit(1);
}

static run run_dovetell(const char *path) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *a = NULL;
    dt_error error = {0};
    run r = {0};
    double start = now();
    if (dt_analyse(path, &settings, NULL, &a, &error) != DT_OK) give_up(error.message);
    r.total = now() - start;
    r.t = dt_analysis_times(a);
    r.pieces = dt_pieces_count(dt_analysis_pieces(a));
    dt_analysis_free(a);
    return r;
}

static GEOSGeometry *stroke_line(const dt_stroke *s) {
    unsigned count = (unsigned)s->path.count, closing = s->closed ? 1 : 0;
    GEOSCoordSequence *c = GEOSCoordSeq_create(count + closing, 2);
    for (unsigned i = 0; i < count + closing; i++)
        GEOSCoordSeq_setXY(c, i, s->path.points[i % count].x, s->path.points[i % count].y);
    return GEOSGeom_createLineString(c);
}

static run run_geos(const char *path) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *drawing = NULL;
    dt_error error = {0};
    if (dt_drawing_read(path, &settings, &drawing, &error) != DT_OK) give_up(error.message);
    initGEOS(NULL, NULL);
    dt_strokes strokes = dt_drawing_strokes(drawing);
    GEOSGeometry **lines = calloc(strokes.count, sizeof(GEOSGeometry *));
    if (!lines) give_up("no memory");
    run r = {0};
    double start = now();
    for (size_t i = 0; i < strokes.count; i++) lines[i] = stroke_line(&strokes.strokes[i]);
    GEOSGeometry *all = GEOSGeom_createCollection(GEOS_MULTILINESTRING, lines, (unsigned)strokes.count);
    const GEOSGeometry *noded = GEOSUnaryUnionPrec(all, DT_GRID_MM);
    GEOSGeometry *faces = GEOSPolygonize(&noded, 1);
    r.geos = now() - start;
    r.faces = (size_t)GEOSGetNumGeometries(faces);
    return r; /* the child ends here: nothing is freed */
}

/* Runs work(path) in a child; its result comes back through a pipe. */
static run in_a_child(run (*work)(const char *), const char *path) {
    int ends[2];
    run r = {0};
    if (pipe(ends) != 0) give_up("no pipe");
    pid_t child = fork();
    if (child == 0) {
        r = work(path);
        struct rusage usage;
        getrusage(RUSAGE_SELF, &usage);
        r.memory_kb = usage.ru_maxrss;
        _exit(write(ends[1], &r, sizeof r) == (ssize_t)sizeof r ? 0 : 1);
    }
    close(ends[1]);
    if (read(ends[0], &r, sizeof r) != (ssize_t)sizeof r) give_up("a run failed");
    close(ends[0]);
    waitpid(child, NULL, 0);
    return r;
}

int main(void) {
    const char *const paths[] = {"corpus/demo/heron-3.svg", "corpus/knobbed-500.svg", "corpus/knobbed-5000.svg"};
    printf("%-18s %6s %7s %7s %7s %7s %7s %7s %7s %8s %5s | %7s %6s\n", "draft", "pieces", "drawing", "lines", "pieces",
           "graph", "fit", "assem.", "rating", "total s", "MB", "GEOS s", "ratio");
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        run ours = in_a_child(run_dovetell, paths[i]), geos = in_a_child(run_geos, paths[i]);
        printf("%-18s %6zu %7.3f %7.3f %7.3f %7.3f %7.3f %7.3f %7.3f %8.3f %5.0f | %7.3f %6.2f\n", paths[i] + 7,
               ours.pieces, ours.t.drawing, ours.t.lines, ours.t.pieces, ours.t.graph, ours.t.fit, ours.t.assembly,
               ours.t.rating, ours.total, (double)ours.memory_kb / 1024.0, geos.geos, ours.total / geos.geos);
        fflush(stdout);
    }
    return 0;
}
