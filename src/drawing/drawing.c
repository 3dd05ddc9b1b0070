/* The reader as the rest of the program sees it. The drawing owns the points, the strokes and their strings; the
 * element tree is gone once it is made. */
#include <dovetell/drawing.h>

#include "drawing/collect.h"
#include "drawing/path_data.h"
#include "drawing/reasons.h"
#include "drawing/source.h"
#include <dovetell/text.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_TREE_BYTES = 256 << 20, MOST_KEPT_BYTES = 128 << 20 };

struct dt_drawing {
    dt_arena kept;
    collection all;
    DT_ARRAY(dt_note) notes;
    const char *title;
};

static void reader_release(reader *r) {
    document_free(&r->doc);
    outline_free(&r->outline);
    dt_array_free(&r->figures);
    notes_free(&r->notes);
    notes_free(&r->sheet_notes);
    dt_arena_free(&r->scratch);
    dt_arena_free(&r->kept);
}

/* The first title right under the root, its white space as XML collapses it. */
static const char *take_title(reader *r) {
    const element *e = r->doc.root->first;
    while (e && !(e->tag == TAG_TITLE && e->text)) e = e->next;
    if (!e) return "";
    char *title = dt_arena_copy(&r->kept, e->text, strlen(e->text));
    size_t kept = 0;
    for (const char *c = e->text; title && *c; c++) {
        bool blank = strchr(" \t\r\n", *c) != NULL;
        if (blank && (kept == 0 || title[kept - 1] == ' ')) continue;
        title[kept++] = blank ? ' ' : *c;
    }
    if (!title) return NULL;
    while (kept > 0 && title[kept - 1] == ' ') kept--;
    title[kept] = '\0';
    return title;
}

/* Moves what the drawing keeps out of the reader. */
static dt_status hand_over(reader *r, collection *all, dt_drawing **out) {
    dt_drawing *drawing = calloc(1, sizeof *drawing);
    const char *title = take_title(r);
    if (!drawing || !title) {
        free(drawing);
        return DT_NO_MEMORY;
    }
    drawing->title = title;
    drawing->all = *all;
    collection_link(&drawing->all);
    drawing->kept = r->kept;
    drawing->notes.items = r->notes.list.items;
    drawing->notes.count = r->notes.list.count;
    *all = (collection){0};
    r->kept = (dt_arena)DT_ARENA(0);
    r->notes.list.items = NULL;
    r->notes.list.count = 0;
    *out = drawing;
    return DT_OK;
}

static void read_sheets(reader *r) {
    dt_status status = sheet_new(&r->doc, &r->scratch, &r->sheet_notes, &r->sheet);
    if (status == DT_TOO_LARGE) reader_fail(r, status, "has more than 200000 style rules: simplify them");
    if (status == DT_NO_MEMORY)
        reader_fail(r, status, "has longer style sheets than dovetell keeps, or needs more memory than there is");
}

static dt_status read_svg(reader *r, const char *bytes, size_t count, dt_drawing **out) {
    collection all = {0};
    r->notes.arena = r->sheet_notes.arena = &r->kept;
    r->status = document_parse(r->name, bytes, count, &r->scratch, &r->doc, r->error);
    if (r->status == DT_OK) read_sheets(r);
    if (r->status == DT_OK) reader_walk(r);
    if (r->status == DT_OK) reader_collect(r, &all);
    if (r->status == DT_OK) reasons_note(r);
    notes_append(&r->notes, &r->sheet_notes);
    notes_finish(&r->notes);
    if (r->status == DT_OK && hand_over(r, &all, out) != DT_OK)
        reader_fail(r, DT_NO_MEMORY, "needs more memory than there is");
    collection_free(&all);
    dt_status status = r->status;
    reader_release(r);
    return status;
}

dt_status dt_drawing_read_memory(const char *name, const void *bytes, size_t count, const dt_settings *settings,
                                 dt_drawing **out, dt_error *error) {
    reader r = {.name = name,
                .settings = settings,
                .error = error,
                .scratch = DT_ARENA(MOST_TREE_BYTES),
                .kept = DT_ARENA(MOST_KEPT_BYTES)};
    if (count > DT_DRAWING_MOST_BYTES)
        return dt_fail(error, DT_TOO_LARGE, "\"%s\" is larger than %u MB, the most that is read", name,
                       DT_DRAWING_MOST_BYTES >> 20);
    if (!source_is_gzip(bytes, count)) return read_svg(&r, bytes, count, out);
    char *unpacked = NULL;
    size_t unpacked_count = 0;
    dt_status status = source_unpack(name, bytes, count, DT_DRAWING_MOST_BYTES, &unpacked, &unpacked_count, error);
    if (status != DT_OK) return status;
    status = read_svg(&r, unpacked, unpacked_count, out);
    free(unpacked);
    return status;
}

dt_status dt_drawing_read(const char *path, const dt_settings *settings, dt_drawing **out, dt_error *error) {
    char *bytes = NULL;
    size_t count = 0;
    dt_status status = dt_file_read(path, DT_DRAWING_MOST_BYTES, &bytes, &count, error);
    if (status != DT_OK) return status;
    status = dt_drawing_read_memory(path, bytes, count, settings, out, error);
    free(bytes);
    return status;
}

void dt_drawing_free(dt_drawing *drawing) {
    if (!drawing) return;
    collection_free(&drawing->all);
    dt_array_free(&drawing->notes);
    dt_arena_free(&drawing->kept);
    free(drawing);
}

dt_strokes dt_drawing_strokes(const dt_drawing *drawing) {
    const collection *all = &drawing->all;
    return (dt_strokes){all->strokes.items, all->strokes.count, all->fills.items, all->fills.count};
}

const char *dt_drawing_title(const dt_drawing *drawing) {
    return drawing->title;
}

double dt_drawing_width(const dt_drawing *drawing) {
    return drawing->all.width;
}

double dt_drawing_height(const dt_drawing *drawing) {
    return drawing->all.height;
}

dt_unit_source dt_drawing_unit_source(const dt_drawing *drawing) {
    return drawing->all.unit_source;
}

size_t dt_drawing_note_count(const dt_drawing *drawing) {
    return drawing->notes.count;
}

dt_note dt_drawing_note(const dt_drawing *drawing, size_t index) {
    return drawing->notes.items[index];
}

size_t dt_drawing_lost_count(const dt_drawing *drawing) {
    size_t lost = 0;
    for (size_t i = 0; i < drawing->notes.count; i++) lost += drawing->notes.items[i].lost;
    return lost;
}

/* ---- path data alone ---- */

/* The strokes and their points lie in one block, so that one free releases them. */
static dt_status pack_strokes(const dt_points *points, const subpaths *found, dt_strokes *out) {
    size_t table = found->count * sizeof(dt_stroke);
    dt_stroke *strokes = malloc(table + points->count * sizeof(dt_point) + 1);
    if (!strokes) return DT_NO_MEMORY;
    dt_point *copy = (dt_point *)(strokes + found->count);
    for (size_t i = 0; i < points->count; i++) copy[i] = points->items[i];
    for (size_t i = 0; i < found->count; i++) {
        const subpath *s = &found->items[i];
        strokes[i] = (dt_stroke){.path = {copy + s->first, s->count},
                                 .closed = s->closed,
                                 .lone = found->count == 1,
                                 .role = DT_ROLE_CUT,
                                 .name = "",
                                 .layer = "",
                                 .colour = DT_NO_COLOUR};
    }
    *out = (dt_strokes){strokes, found->count, NULL, 0};
    return DT_OK;
}

dt_status dt_path_data_read(const char *d, double tolerance, dt_strokes *out, size_t *error_at) {
    outline o = {0};
    dt_points points = {0};
    subpaths found = {0};
    path_error wrong;
    size_t dots = 0;
    bool whole = path_data_parse(d, &o, &wrong);
    const flattening how = {tolerance, 0.0, DT_DRAWING_MOST_POINTS};
    dt_status status = o.failed ? DT_NO_MEMORY : DT_OK;
    if (status == DT_OK) status = outline_flatten(&o, outline_since(&o, (range){0}), &how, &points, &found, &dots);
    if (status == DT_OK) status = pack_strokes(&points, &found, out);
    if (status == DT_OK && error_at) *error_at = whole ? SIZE_MAX : (size_t)(wrong.at - d);
    outline_free(&o);
    dt_array_free(&points);
    dt_array_free(&found);
    return status;
}

void dt_strokes_free(dt_strokes *strokes) {
    free((void *)(uintptr_t)strokes->strokes);
    *strokes = (dt_strokes){0};
}
