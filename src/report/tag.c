/* The tag for a listing (dovetell/tag.h): facts from an analysis, then the form that was asked for. */
#include <dovetell/tag.h>

#include "report/raster.h"
#include "report/tag.h"
#include "report/words.h"
#include <ctype.h>
#include <string.h>
#include <strings.h>

static const double PNG_SCALE = 2.0; /* sharp on a dense screen */

bool dt_tag_form_of(const char *path, dt_tag_form *out) {
    static const char *const endings[] = {".svg", ".png", ".pdf", ".html", ".txt"};
    const char *dot = strrchr(path, '.');
    for (int i = 0; dot && i < 5; i++)
        if (strcasecmp(dot, endings[i]) == 0) {
            *out = (dt_tag_form)i;
            return true;
        }
    return false;
}

/* "corpus/heron-among_reeds.svg" -> "Heron among reeds". */
static void add_file_title(const char *path, dt_text *out) {
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path, *dot = strrchr(name, '.');
    size_t length = dot && dot != name ? (size_t)(dot - name) : strlen(name);
    for (size_t i = 0; i < length; i++) {
        char c = name[i] == '-' || name[i] == '_' ? ' ' : name[i];
        if (i == 0) c = (char)toupper((unsigned char)c);
        dt_text_add_bytes(out, &c, 1);
    }
    if (length == 0 || strcmp(path, "-") == 0) {
        dt_text_free(out);
        dt_text_add(out, "Puzzle");
    }
}

static void add_name(const dt_analysis *analysis, const char *name, dt_text *out) {
    enum { MOST_CHARACTERS = 120 };
    dt_text raw = DT_TEXT_EMPTY;
    if (!name || !*name) name = dt_drawing_title(dt_analysis_drawing(analysis));
    if (!*name) {
        add_file_title(dt_analysis_file(analysis), &raw);
        name = raw.bytes;
    }
    if (name) dt_text_add_plain(out, name, MOST_CHARACTERS);
    if (raw.failed) out->failed = true;
    dt_text_free(&raw);
}

static tag_facts facts_of(const dt_analysis *analysis, const char *name) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    const dt_settings *settings = dt_analysis_settings(analysis);
    const dt_rating *rating = dt_analysis_rating(analysis);
    tag_facts f = {.name = name,
                   .pieces = dt_pieces_count(pieces),
                   .whimsies = dt_pieces_whimsy_count(pieces),
                   .width_mm = words_finished_width(analysis),
                   .height_mm = words_finished_height(analysis),
                   .thickness_mm = settings->thickness_mm,
                   .material = settings->material,
                   .colours = rating->colours,
                   .picture = settings->picture,
                   .two_sided = settings->two_sided,
                   .tell_tale_edge = rating->tell_tale_edge,
                   .one_place = dt_analysis_verdict(analysis).one_place,
                   .points = rating->points,
                   .low_min = rating->low_min,
                   .high_min = rating->high_min,
                   .band = rating->band};
    for (uint32_t i = 0; i < f.pieces; i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        f.small_parts += piece->small_part;
        f.corners += piece->corner;
    }
    return f;
}

static dt_status write_raster(const tag_facts *f, dt_tag_form form, dt_text *out) {
    dt_text svg = DT_TEXT_EMPTY;
    tag_svg(f, &svg);
    dt_status status = DT_NO_MEMORY;
    if (!svg.failed && form == DT_TAG_PNG)
        status = raster_png(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, PNG_SCALE}, out);
    if (!svg.failed && form == DT_TAG_PDF) status = raster_pdf(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, 1.0}, out);
    dt_text_free(&svg);
    return status;
}

static dt_status write_form(const tag_facts *f, dt_tag_form form, dt_text *out) {
    switch (form) {
    case DT_TAG_SVG:
        tag_svg(f, out);
        return DT_OK;
    case DT_TAG_HTML:
        tag_html(f, out);
        return DT_OK;
    case DT_TAG_TEXT:
        tag_text(f, out);
        return DT_OK;
    case DT_TAG_PNG:
    case DT_TAG_PDF:
        return write_raster(f, form, out);
    }
    return DT_BAD_ARGUMENT;
}

dt_status dt_report_tag(const dt_analysis *analysis, const char *name, dt_tag_form form, dt_text *out) {
    dt_text title = DT_TEXT_EMPTY;
    dt_status status = DT_NO_MEMORY;
    add_name(analysis, name, &title);
    if (!title.failed) {
        tag_facts f = facts_of(analysis, title.bytes);
        status = write_form(&f, form, out);
    }
    dt_text_free(&title);
    return status == DT_OK && out->failed ? DT_NO_MEMORY : status;
}
