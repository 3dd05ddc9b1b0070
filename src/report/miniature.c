/* A small picture of the pieces, for lists: borders simplified to what a few hundred pixels show, no numbers, no marks.
 */
#include <dovetell/report.h>

#include "report/draw.h"

#include <math.h>

/* A miniature is about 300 pixels wide: half a pixel is not seen. */
static const double PIXELS = 300.0;
enum { MANY = 800 }; /* pieces of so many are few pixels wide: borders as wide as usual would hide them */

void dt_report_miniature(const dt_analysis *analysis, dt_text *out) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    dt_box box = dt_pieces_box(pieces);
    double size = fmax(box.high.x - box.low.x, box.high.y - box.low.y);
    box = dt_box_grown(box, 0.01 * size);
    draw_plan *plan = draw_plan_new_coarse(pieces, dt_analysis_graph(analysis), 0.5 * size / PIXELS);
    if (!plan) {
        out->failed = true;
        return;
    }
    dt_text_addf(out, "<svg class=\"mini%s\" viewBox=\"%.2f %.2f %.2f %.2f\" aria-hidden=\"true\">\n",
                 dt_pieces_count(pieces) > MANY ? " many" : "", box.low.x, box.low.y, box.high.x - box.low.x,
                 box.high.y - box.low.y);
    draw_pieces(plan, out);
    dt_text_add(out, "</svg>\n");
    draw_plan_free(plan);
}
