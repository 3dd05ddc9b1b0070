/* Fuzzing of everything that reads styles and small values: sheets, style attributes, colours, lengths, transforms,
 * viewBoxes. What they find must make sense: shares between 0 and 1, finite lengths, rules that match without end. */
#include "drawing/sheet.h"
#include "drawing/colour.h"
#include "drawing/style.h"
#include "drawing/transform.h"
#include "drawing/viewbox.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void style_demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "fuzz_style: %s\n", what);
    abort();
}

static void try_values(const char *text) {
    const length_base base = {100.0, 50.0, 16.0, 16.0};
    colour c;
    length l;
    affine map;
    dt_point origin;
    viewbox box;
    if (colour_parse(text, &c))
        style_demand(c.rgb <= 0xFFFFFF && c.alpha >= 0.0 && c.alpha <= 1.0, "a colour out of range");
    if (length_parse(text, &l)) style_demand(isfinite(l.value), "a length that is not finite");
    if (viewbox_parse(text, &box)) style_demand(box.width >= 0.0 && box.height >= 0.0, "a viewBox of negative size");
    transform_parse(text, &base, &map);
    transform_origin_parse(text, &base, &origin);
}

/* A path in a group, both with the class k, styled by the text as a sheet and as a style attribute. */
static void try_sheet(const char *text) {
    dt_arena arena = DT_ARENA(64 << 20);
    notes found = {.arena = &arena};
    sheet *rules = NULL;
    const attribute own[] = {{WORD_CLASS, "k j"}, {WORD_ID, "i"}, {WORD_STYLE, text}, {WORD_STROKE, "red"}};
    element group = {.attributes = own, .attribute_count = 1, .tag = TAG_G};
    element path = {.parent = &group, .attributes = own, .attribute_count = 4, .tag = TAG_PATH};
    const length_base base = {100.0, 50.0, 16.0, 16.0};
    if (sheet_parse(text, &arena, &found, &rules) == DT_OK && style_cascade(&path, rules, &arena)) {
        style_demand(path.cascade_count >= 1, "the stroke attribute is lost");
        const style outside = style_initial();
        style look;
        own_style alone;
        style_compute(&path, &outside, &base, &look, &alone);
        style_demand(alone.opacity >= 0.0 && alone.opacity <= 1.0 && look.stroke_opacity >= 0.0 &&
                         look.fill_opacity <= 1.0,
                     "an opacity out of range");
        style_demand(look.stroke_width >= 0.0, "a stroke of negative width");
    }
    notes_free(&found);
    dt_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = malloc(size + 1);
    if (!text) return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    try_values(text);
    try_sheet(text);
    free(text);
    return 0;
}
