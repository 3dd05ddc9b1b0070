/* A cut file of single pieces: true size in mm, each piece a closed path, laid out in rows without overlap. Only lines
 * to cut are in it. Openings lie in a layer of their own, `void`, because what is in them falls out; so the file, read
 * as a draft, gives just these pieces back. */
#include "pieces/grow.h"

#include <dovetell/report.h>
#include <math.h>
#include <stdlib.h>

#define GAP_MM 5.0 /* between pieces and round them: room for the kerf and for a bridge of sheet */
#define ROW_SHAPE                                                                                                      \
    1.3 /* a row is this much wider than the square root of all boxes, which makes the sheet about square */

typedef struct placed {
    uint32_t number; /* as the maker sees it */
    size_t copy;     /* 0, or how often the number came before */
    grown shape;
    dt_box box;
    dt_point shift; /* from the draft to the cut file */
} placed;

typedef struct sheet {
    placed *items;
    size_t count;
    double width, height;
    double grow_mm;
} sheet;

static size_t copies_before(const sheet *s, uint32_t number) {
    size_t copies = 0;
    for (size_t i = 0; i < s->count; i++) copies += s->items[i].number == number;
    return copies;
}

static dt_status take_piece(sheet *s, const dt_pieces *pieces, dt_piece_id id) {
    placed *item = &s->items[s->count];
    *item = (placed){.number = id.v + 1, .copy = copies_before(s, id.v + 1)};
    dt_status status = grow_piece(dt_pieces_get(pieces, id), s->grow_mm, &item->shape);
    if (status != DT_OK) return status;
    item->box = dt_box_of(item->shape.rings[0]);
    s->count++;
    return DT_OK;
}

static double width_of(dt_box box) {
    return box.high.x - box.low.x;
}

static double height_of(dt_box box) {
    return box.high.y - box.low.y;
}

/* In rows, in the order asked for. */
static void lay_out(sheet *s) {
    double boxes = 0.0, widest = 0.0;
    for (size_t i = 0; i < s->count; i++) {
        boxes += (width_of(s->items[i].box) + GAP_MM) * (height_of(s->items[i].box) + GAP_MM);
        widest = fmax(widest, width_of(s->items[i].box));
    }
    double row = fmax(widest, ROW_SHAPE * sqrt(boxes)) + 2 * GAP_MM, x = GAP_MM, y = GAP_MM, tallest = 0.0;
    for (size_t i = 0; i < s->count; i++) {
        placed *item = &s->items[i];
        if (x > GAP_MM && x + width_of(item->box) + GAP_MM > row) {
            x = GAP_MM;
            y += tallest + GAP_MM;
            tallest = 0.0;
        }
        item->shift = dt_point_sub((dt_point){x, y}, item->box.low);
        x += width_of(item->box) + GAP_MM;
        tallest = fmax(tallest, height_of(item->box));
        s->width = fmax(s->width, x);
    }
    s->height = y + tallest + GAP_MM;
}

static void add_ring(const placed *item, size_t ring, dt_text *out) {
    dt_text_addf(out, "<path id=\"piece-%u", item->number);
    if (item->copy > 0) dt_text_addf(out, "-copy-%zu", item->copy + 1);
    if (ring > 0) dt_text_addf(out, "-opening-%zu", ring);
    dt_text_add(out, "\" d=\"");
    dt_path path = item->shape.rings[ring];
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = dt_point_add(path.points[i], item->shift);
        dt_text_addf(out, "%s%.4f,%.4f", i == 0 ? "M" : i == 1 ? "L" : " ", p.x, p.y);
    }
    dt_text_add(out, "Z\"/>\n");
}

static void add_layer(const sheet *s, const char *layer, bool openings, dt_text *out) {
    size_t rings = 0;
    for (size_t i = 0; i < s->count; i++) rings += openings ? s->items[i].shape.count - 1 : 1;
    if (rings == 0) return;
    dt_text_addf(out, "<g id=\"%s\">\n", layer);
    for (size_t i = 0; i < s->count; i++)
        for (size_t r = openings ? 1 : 0; r < (openings ? s->items[i].shape.count : 1); r++)
            add_ring(&s->items[i], r, out);
    dt_text_add(out, "</g>\n");
}

static void write_sheet(const sheet *s, dt_text *out) {
    dt_text_addf(out,
                 "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%.4fmm\" height=\"%.4fmm\" "
                 "viewBox=\"0 0 %.4f %.4f\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.1\">\n",
                 s->width, s->height, s->width, s->height);
    dt_text_add(out, "<!-- Cut file in millimetres, true size. Cut along the middle of every line. -->\n");
    if (s->grow_mm > 0)
        dt_text_addf(
            out,
            "<!-- Every outline lies %g mm outside the drawn one (openings are smaller by as much), to make up for the "
            "width that the laser burns away. -->\n",
            s->grow_mm);
    else
        dt_text_add(
            out,
            "<!-- Outlines as drawn: a piece comes out smaller by half the width that the laser burns away, like its "
            "fellows. -->\n");
    add_layer(s, "void", true, out);
    add_layer(s, "cut", false, out);
    dt_text_add(out, "</svg>\n");
}

static dt_status check_request(const dt_pieces *pieces, const dt_piece_id *ids, size_t count, double grow_mm,
                               dt_error *error) {
    if (count == 0) return dt_fail(error, DT_BAD_ARGUMENT, "no piece was asked for: give at least one number");
    if (!(grow_mm >= 0) || grow_mm > DT_GROW_MOST_MM)
        return dt_fail(error, DT_BAD_ARGUMENT, "outlines can be moved outwards by 0 to %g mm, not by %g",
                       DT_GROW_MOST_MM, grow_mm);
    for (size_t i = 0; i < count; i++)
        if (ids[i].v >= dt_pieces_count(pieces))
            return dt_fail(error, DT_BAD_ARGUMENT, "there is no piece %llu: the numbers run from 1 to %zu",
                           (unsigned long long)ids[i].v + 1, dt_pieces_count(pieces));
    return DT_OK;
}

dt_status dt_report_cut_file(const dt_pieces *pieces, const dt_piece_id *ids, size_t count, double grow_mm,
                             dt_text *out, dt_error *error) {
    dt_status status = check_request(pieces, ids, count, grow_mm, error);
    if (status != DT_OK) return status;
    sheet s = {.items = calloc(count, sizeof(placed)), .grow_mm = grow_mm};
    if (!s.items) status = DT_NO_MEMORY;
    for (size_t i = 0; status == DT_OK && i < count; i++) status = take_piece(&s, pieces, ids[i]);
    if (status == DT_OK) {
        lay_out(&s);
        write_sheet(&s, out);
        if (out->failed) status = DT_NO_MEMORY;
    }
    for (size_t i = 0; i < s.count; i++) grown_free(&s.items[i].shape);
    free(s.items);
    return status == DT_OK ? DT_OK
                           : dt_fail(error, status, "the cut file could not be made: %s", dt_status_text(status));
}
