/* The table of pieces: comma-separated (RFC 4180, lines ended by a line feed), the columns named as in the JSON record.
 * No text of the draft stands in it, so nothing needs quotes and no cell can be taken for a formula. */
#include <dovetell/report.h>

#include <math.h>

static void add_number(dt_text *out, double value) {
    if (isfinite(value)) dt_text_addf(out, "%.10g", round(value * 1e4) / 1e4 + 0.0);
    dt_text_add(out, ",");
}

static void add_flag(dt_text *out, bool value) {
    dt_text_add(out, value ? "yes," : "no,");
}

static void add_neighbours(dt_text *out, const dt_graph *graph, dt_piece_id id) {
    size_t count;
    const dt_piece_id *around = dt_graph_around(graph, id, &count);
    for (size_t i = 0; i < count; i++) dt_text_addf(out, "%s%u", i ? " " : "", around[i].v + 1);
    dt_text_add(out, ",");
}

static void add_row(dt_text *out, const dt_analysis *analysis, dt_piece_id id) {
    const dt_piece *p = dt_pieces_get(dt_analysis_pieces(analysis), id);
    const dt_graph *graph = dt_analysis_graph(analysis);
    const dt_rating *rating = dt_analysis_rating(analysis);
    const double measures[] = {p->inside.x,  p->inside.y, p->area_mm2,     p->perimeter_mm,
                               p->length_mm, p->width_mm, p->neck.width_mm};
    dt_text_addf(out, "%u,", id.v + 1);
    for (size_t i = 0; i < sizeof measures / sizeof *measures; i++) add_number(out, measures[i]);
    add_neighbours(out, graph, id);
    add_flag(out, p->edge);
    add_flag(out, p->corner);
    add_flag(out, p->whimsy);
    if (p->colour != DT_NO_COLOUR) dt_text_addf(out, "#%06x", (unsigned)(p->colour & 0xFFFFFF));
    dt_text_addf(out, ",%u,%zu,", p->puzzle + 1, p->hole_count);
    add_flag(out, dt_graph_is_held(graph, id));
    add_flag(out, p->small_part);
    add_number(out, id.v < rating->place_count ? rating->places[id.v].alike : NAN);
    if (id.v < rating->place_count) dt_text_addf(out, "%.10g", round(rating->places[id.v].minutes * 1e4) / 1e4);
    dt_text_add(out, "\n");
}

dt_status dt_report_csv(const dt_analysis *analysis, dt_text *out) {
    dt_text_add(out, "id,x,y,area,perimeter,length,width,neck,neighbours,edge,corner,whimsy,colour,puzzle,holes,held,"
                     "small_part,alike,minutes\n");
    for (uint32_t i = 0; i < dt_pieces_count(dt_analysis_pieces(analysis)); i++)
        add_row(out, analysis, (dt_piece_id){i});
    return out->failed ? DT_NO_MEMORY : DT_OK;
}
