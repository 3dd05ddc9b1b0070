/* Why a drawing has no cut lines, and what was left out of it, in sentences for the maker. */
#include "drawing/reasons.h"

#include "drawing/layers.h"
#include <dovetell/text.h>
#include <string.h>

enum { MOST_LISTED = 6 };

typedef struct tally {
    size_t stroked, filled, uncut_layers; /* figures; uncut_layers: stroked ones in guide, engrave, score */
} tally;

static tally count_figures(const reader *r) {
    tally t = {0};
    for (size_t i = 0; i < r->figures.count; i++) {
        const figure *f = &r->figures.items[i];
        t.stroked += f->stroked;
        t.filled += f->filled;
        t.uncut_layers += f->stroked && !layer_is_cut(f->role);
    }
    return t;
}

/* Appends word to a list unless it holds it or is full. */
static void list_once(const char **list, size_t *count, const char *name) {
    for (size_t i = 0; i < *count; i++)
        if (strcmp(list[i], name) == 0) return;
    if (*count < MOST_LISTED) list[(*count)++] = name;
}

static void add_layers(const reader *r, dt_text *out) {
    const char *layers[MOST_LISTED];
    size_t count = 0;
    for (size_t i = 0; i < r->figures.count; i++)
        if (*r->figures.items[i].layer) list_once(layers, &count, r->figures.items[i].layer);
    for (size_t i = 0; i < count; i++)
        dt_text_addf(out, "%s\"%s\"", i ? ", " : "; its layers are ", notes_excerpt(layers[i]).text);
}

static void add_colours(const reader *r, dt_text *out) {
    uint32_t colours[MOST_LISTED];
    size_t count = 0;
    for (size_t i = 0; i < r->figures.count && count < MOST_LISTED; i++) {
        const figure *f = &r->figures.items[i];
        bool known = !f->stroked || f->stroke == DT_NO_COLOUR;
        for (size_t j = 0; j < count && !known; j++) known = colours[j] == f->stroke;
        if (!known) colours[count++] = f->stroke;
    }
    for (size_t i = 0; i < count; i++) dt_text_addf(out, "%s#%06x", i ? ", " : "; its stroke colours are ", colours[i]);
}

static void fail_for_names(reader *r) {
    dt_text names = DT_TEXT_EMPTY;
    add_layers(r, &names);
    add_colours(r, &names);
    reader_fail(r, DT_NO_LINES, "has no cut lines that --only and --skip leave%s",
                names.failed || !names.bytes ? "" : names.bytes);
    dt_text_free(&names);
}

void reasons_fail(reader *r) {
    tally t = count_figures(r);
    const dt_settings *s = r->settings;
    if (t.stroked + t.filled && (s->only_count || s->skip_count)) {
        fail_for_names(r);
    } else if (t.uncut_layers) {
        reader_fail(r, DT_NO_LINES,
                    "has no cut lines: its lines lie in layers called guide, engrave or score, which are not cut; "
                    "rename the layer, or name it with --only");
    } else if (r->uncut.texts || r->uncut.images) {
        reader_fail(r, DT_NO_LINES, "has no cut lines: it shows %s only; turn %s into paths with a stroke colour",
                    r->uncut.texts ? "text" : "pictures", r->uncut.texts ? "it" : "them");
    } else if (t.stroked) {
        reader_fail(r, DT_NO_LINES, "has no cut lines: its strokes have no length at the drawing's size; check its units and viewBox%s%s",
                    r->notes.list.count ? "; the first note: " : "", r->notes.list.count ? r->notes.list.items[0].text : "");
    } else if (t.filled == 0 && r->notes.list.count) {
        reader_fail(r, DT_NO_LINES, "has no cut lines: nothing in it could be drawn; the first note: %s", r->notes.list.items[0].text);
    } else {
        reader_fail(
            r, DT_NO_LINES,
            "has no cut lines: nothing in it has a visible stroke; draw the cuts as lines with a stroke colour");
    }
}

static void count_note(reader *r, size_t count, const char *one, const char *many) {
    if (count == 1) notes_add(&r->notes, 0, "1 %s", one);
    if (count > 1) notes_add(&r->notes, 0, "%zu %s", count, many);
}

/* Does an element of the tree, or a stroke by its colour, answer to this name? */
static bool is_found(const reader *r, const char *name) {
    for (const element *e = r->doc.root; e;) {
        if (layer_is_named(e, &name, 1)) return true;
        if (e->first) {
            e = e->first;
            continue;
        }
        while (e && !e->next) e = e->parent;
        if (e) e = e->next;
    }
    for (size_t i = 0; i < r->figures.count; i++) {
        const figure *f = &r->figures.items[i];
        if (layer_colour_is_named(f->stroke, &name, 1) || layer_colour_is_named(f->fill, &name, 1)) return true;
    }
    return false;
}

static void note_missing(reader *r, const char *option, const char *const *names, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (is_found(r, names[i])) continue;
        notes_add(&r->notes, 0, "nothing in the drawing is called \"%s\" (%s)", notes_excerpt(names[i]).text, option);
    }
}

void reasons_note(reader *r) {
    const dt_settings *s = r->settings;
    count_note(r, r->uncut.texts, "text cannot be cut: turn it into a path",
               "texts cannot be cut: turn them into paths");
    count_note(r, r->uncut.images, "picture cannot be cut: trace it if its outline is meant",
               "pictures cannot be cut: trace them if their outlines are meant");
    count_note(r, r->uncut.others, "other thing in the drawing cannot be cut",
               "other things in the drawing cannot be cut");
    count_note(r, r->uncut.clipped, "clipped or masked thing is cut whole", "clipped or masked things are cut whole");
    if (s->only_count == 0)
        count_note(r, count_figures(r).uncut_layers, "line is not cut: its layer is called guide, engrave or score",
                   "lines are not cut: their layers are called guide, engrave or score");
    if (r->doc.refused_entities)
        notes_add(&r->notes, 0, "entities that point to other files or to each other were not read");
    note_missing(r, "--only", s->only, s->only_count);
    note_missing(r, "--skip", s->skip, s->skip_count);
}
