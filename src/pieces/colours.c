/* Colours of pieces from the drawing's fills: the topmost filled element that covers the inside point, by its fill rule
 * over its subpaths. A heap of boxes over the elements in painting order is searched from the top down, so that the first hit is the answer. */
#include "stage.h"

#include <math.h>

typedef struct fill_element {
    size_t first, count;   /* of the fills */
} fill_element;

typedef struct fill_index {
    const dt_fill *fills;
    fill_element *elements; /* in painting order */
    size_t element_count, leaves;
    dt_box *boxes;          /* heap order from 1, leaves beyond the elements empty */
} fill_index;

/* How many times the path goes round p: crossings of the ray from p to the right, downward ones less upward ones. */
static int winding(dt_path path, dt_point p) {
    int turns = 0;
    for (size_t i = 0; i < path.count; i++) {
        dt_point a = path.points[i], b = path.points[i + 1 < path.count ? i + 1 : 0];
        if ((a.y <= p.y) == (b.y <= p.y)) continue;
        bool down = b.y > a.y;
        if ((dt_orientation(a, b, p) > 0) == down) turns += down ? 1 : -1;
    }
    return turns;
}

static bool covers(const fill_index *x, size_t element, dt_point p) {
    const dt_fill *fills = x->fills + x->elements[element].first;
    int turns = 0;
    for (size_t i = 0; i < x->elements[element].count; i++) turns += winding(fills[i].path, p);
    return fills[0].nonzero ? turns != 0 : turns % 2 != 0;
}

/* Topmost element under `node` that covers p, or SIZE_MAX. */
static size_t topmost(const fill_index *x, size_t node, dt_point p) {
    if (!dt_box_meets(x->boxes[node], (dt_box){p, p})) return SIZE_MAX;
    if (node >= x->leaves) return covers(x, node - x->leaves, p) ? node - x->leaves : SIZE_MAX;
    size_t found = topmost(x, 2 * node + 1, p);
    return found != SIZE_MAX ? found : topmost(x, 2 * node, p);
}

static bool build_index(stage *s, fill_index *x) {
    const dt_strokes strokes = s->strokes;
    x->fills = strokes.fills;
    x->elements = DT_TAKE(&s->scratch, strokes.fill_count, fill_element);
    if (!x->elements) return false;
    for (size_t i = 0; i < strokes.fill_count; i++) {
        bool same = i > 0 && strokes.fills[i].element == strokes.fills[i - 1].element;
        if (!same) x->elements[x->element_count++] = (fill_element){i, 0};
        x->elements[x->element_count - 1].count++;
    }
    for (x->leaves = 1; x->leaves < x->element_count;) x->leaves *= 2;
    x->boxes = DT_TAKE(&s->scratch, 2 * x->leaves, dt_box);
    if (!x->boxes) return false;
    for (size_t e = 0; e < x->leaves; e++) {
        dt_box box = DT_BOX_EMPTY;
        for (size_t i = 0; e < x->element_count && i < x->elements[e].count; i++)
            box = dt_box_join(box, dt_box_of(x->fills[x->elements[e].first + i].path));
        x->boxes[x->leaves + e] = box;
    }
    for (size_t i = x->leaves - 1; i > 0; i--) x->boxes[i] = dt_box_join(x->boxes[2 * i], x->boxes[2 * i + 1]);
    return true;
}

dt_status stage_colours(stage *s) {
    if (s->strokes.fill_count == 0) return DT_OK;
    fill_index x = {0};
    if (!build_index(s, &x)) return DT_NO_MEMORY;
    for (size_t p = 0; p < s->result->piece_count; p++) {
        size_t element = topmost(&x, 1, s->result->pieces[p].inside);
        if (element != SIZE_MAX) s->result->pieces[p].colour = x.fills[x.elements[element].first].colour;
    }
    return DT_OK;
}
