/* The picture: the draft as pieces in true size, faults ringed and numbered, twins lettered; below it the verdict and
 * what each number means; beside it the other assembly, if one was found. All measures are millimetres on the picture.
 */
#include <dovetell/report.h>

#include "report/draw.h"
#include "report/families.h"
#include "report/words.h"

#include <math.h>
#include <string.h>

typedef struct sheet {
    const dt_analysis *analysis;
    const dt_pieces *pieces;
    draw_plan *plan;
    families twins;
    dt_box box;    /* of the drawing with its margin */
    double beside; /* how far to the right the other assembly stands; 0 = there is none */
    double width;  /* of the whole picture */
    double letter; /* height of the text below */
    double marker; /* radius of a fault's ring */
} sheet;

enum { MOST_MARKERS = 5000, MOST_LEGEND = 30 };

/* What lies in both. */
static dt_box box_within(dt_box a, dt_box b) {
    return (dt_box){{fmax(a.low.x, b.low.x), fmax(a.low.y, b.low.y)},
                    {fmin(a.high.x, b.high.x), fmin(a.high.y, b.high.y)}};
}

/* Lines that bound no piece are shown as far as the puzzle is wide: a speck may lie metres away. */
static dt_box drawn_box(const dt_analysis *analysis) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    const dt_net *net = dt_analysis_net(analysis);
    dt_box box = dt_pieces_box(pieces), field = dt_box_grown(box, fmax(box.high.x - box.low.x, box.high.y - box.low.y));
    for (size_t i = 0; i < dt_net_loose_count(net); i++) {
        dt_box seen = box_within(dt_box_of(dt_net_loose(net, i)), field);
        if (!dt_box_is_empty(seen)) box = dt_box_join(box, seen);
    }
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        dt_point at = dt_pieces_fault(pieces, i)->at;
        box = dt_box_join(box, (dt_box){at, at});
    }
    return box;
}

static void lay_out(sheet *s) {
    dt_box box = drawn_box(s->analysis);
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y, size = fmax(width, height);
    s->box = dt_box_grown(box, fmax(4.0, 0.03 * size));
    double drawn = s->box.high.x - s->box.low.x;
    s->beside = dt_analysis_assembly(s->analysis)->other_count > 0 ? drawn : 0;
    s->width = fmax(drawn + s->beside, 100.0); /* narrower than 100 mm the words below would be broken up too much */
    s->letter = fmin(fmax(s->width / 75, 2.4), 9.0);
    s->marker = fmin(fmax(0.012 * size, 1.4), 8.0);
}

/* ---- the text below ---- */

/* Mean width of a letter, em, in the wider sans serifs. */
static const double PLAIN_EM = 0.56, BOLD_EM = 0.64;

/* Writes a sentence in lines no wider than the picture and returns the height that it took. */
static double add_text(const sheet *s, const char *text, bool bold, double y, dt_text *out) {
    size_t most = (size_t)((s->width - 4 * s->letter) / ((bold ? BOLD_EM : PLAIN_EM) * s->letter));
    size_t length = strlen(text);
    double height = 0;
    while (length > 0) {
        size_t cut = length;
        if (cut > most) {
            for (cut = most; cut > 0 && text[cut] != ' ';) cut--;
            if (cut == 0) cut = strcspn(text, " ");
        }
        dt_text part = DT_TEXT_EMPTY;
        dt_text_add_bytes(&part, text, cut);
        height += 1.45 * s->letter;
        dt_text_addf(out, "<text class=\"l\"%s x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\">",
                     bold ? " font-weight=\"bold\"" : "", s->box.low.x + 2 * s->letter, y + height, s->letter);
        if (part.failed)
            out->failed = true;
        else
            dt_text_add_escaped(out, part.bytes);
        dt_text_add(out, "</text>\n");
        dt_text_free(&part);
        text += cut;
        text += strspn(text, " ");
        length = strlen(text);
    }
    return height;
}

static double add_sentence(const sheet *s, dt_text *sentence, bool bold, double y, dt_text *out) {
    double height = 0;
    if (sentence->failed)
        out->failed = true;
    else if (sentence->length > 0)
        height = add_text(s, sentence->bytes, bold, y, out);
    dt_text_free(sentence);
    return height;
}

static double add_fault_lines(const sheet *s, double y, dt_text *out) {
    size_t count = dt_pieces_fault_count(s->pieces);
    double height = 0;
    dt_text line = DT_TEXT_EMPTY;
    for (size_t i = 0; i < count && i < MOST_LEGEND; i++) {
        dt_text_addf(&line, "%zu  ", i + 1);
        words_fault(&line, s->analysis, dt_pieces_fault(s->pieces, i));
        height += add_sentence(s, &line, false, y + height, out);
    }
    if (count > MOST_LEGEND) {
        dt_text_addf(&line, "and %zu more faults", count - MOST_LEGEND);
        if (count > MOST_MARKERS) dt_text_addf(&line, "; only the worst %d are ringed", MOST_MARKERS);
        height += add_sentence(s, &line, false, y + height, out);
    }
    return height;
}

static void add_family(const sheet *s, uint32_t family, dt_text *line) {
    size_t named = 0, size = s->twins.sizes[family];
    families_add_letter(line, family);
    dt_text_add(line, "  Pieces ");
    for (uint32_t i = 0; i < dt_pieces_count(s->pieces) && named < 12; i++)
        if (s->twins.of[i] == family) dt_text_addf(line, "%s%u", named++ ? ", " : "", i + 1);
    if (size > named) dt_text_addf(line, " and %zu more", size - named);
    dt_text_add(line, " fit each other's places.");
}

static double add_twin_lines(const sheet *s, double y, dt_text *out) {
    double height = 0;
    dt_text line = DT_TEXT_EMPTY;
    for (uint32_t f = 0; f < s->twins.count && f < MOST_LEGEND; f++) {
        add_family(s, f, &line);
        height += add_sentence(s, &line, false, y + height, out);
    }
    return height;
}

static double add_legend(const sheet *s, double y, dt_text *out) {
    double start = y;
    dt_text line = DT_TEXT_EMPTY;
    words_verdict(&line, s->analysis);
    y += add_sentence(s, &line, true, y, out);
    y += add_fault_lines(s, y, out);
    y += add_twin_lines(s, y, out);
    words_witness(&line, s->analysis);
    if (line.length > 0) dt_text_add(&line, " The other way stands on the right.");
    y += add_sentence(s, &line, false, y, out);
    dt_text_addf(&line, "%.1f x %.1f mm, ", words_finished_width(s->analysis), words_finished_height(s->analysis));
    words_count(&line, dt_pieces_count(s->pieces), "piece", "pieces");
    dt_text_add(&line, ". ");
    dt_text_add(&line, words_assumed(s->analysis));
    y += add_sentence(s, &line, false, y, out);
    return y - start;
}

/* ---- the drawing ---- */

static void add_twins(const sheet *s, dt_text *out) {
    for (uint32_t i = 0; i < dt_pieces_count(s->pieces); i++) {
        if (s->twins.of[i] == NO_FAMILY) continue;
        const dt_piece *piece = dt_pieces_get(s->pieces, (dt_piece_id){i});
        double height = fmin(fmax(0.45 * piece->inradius_mm, 1.0), 4.0);
        double y = piece->inside.y - 0.4 * draw_number_height(piece, (dt_piece_id){i}) - 0.8 * height;
        dt_text_add(out, "<path class=\"tw\" d=\"");
        draw_piece_data(s->plan, (dt_piece_id){i}, out);
        dt_text_addf(out, "\"/><circle class=\"td\" cx=\"%.2f\" cy=\"%.2f\" r=\"%.2f\"/>", piece->inside.x, y,
                     0.75 * height);
        dt_text_addf(out, "<text class=\"tl\" x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\">", piece->inside.x,
                     y + 0.36 * height, height);
        families_add_letter(out, s->twins.of[i]);
        dt_text_add(out, "</text>\n");
    }
}

static void add_moved_path(const sheet *s, const dt_move *move, bool posed, dt_text *out) {
    draw_piece_data(s->plan, move->piece, out);
    if (posed) {
        dt_text_add(out, "\" transform=\"");
        draw_pose(move->pose, out);
    }
    dt_text_add(out, "\"/>");
}

/* The pieces that trade places, each looking the same here and in the other assembly. */
static void add_moved(const sheet *s, bool posed, dt_text *out) {
    const dt_assembly *assembly = dt_analysis_assembly(s->analysis);
    for (size_t i = 0; i < assembly->other_count; i++) {
        size_t mark = i / DRAW_MOVED_COLOURS % DRAW_MOVED_MARKS;
        dt_text_addf(out, "<path class=\"m%zu\" d=\"", i % DRAW_MOVED_COLOURS);
        add_moved_path(s, &assembly->other[i], posed, out);
        if (mark > 0) {
            dt_text_addf(out, "<path class=\"over-%zu\" d=\"", mark);
            add_moved_path(s, &assembly->other[i], posed, out);
        }
        dt_text_add(out, "\n");
    }
}

/* Numbers of the moved pieces where they lie now, upright. */
static void add_moved_numbers(const sheet *s, dt_text *out) {
    const dt_assembly *assembly = dt_analysis_assembly(s->analysis);
    for (size_t i = 0; i < assembly->other_count; i++) {
        dt_piece_id id = assembly->other[i].piece;
        const dt_piece *piece = dt_pieces_get(s->pieces, id);
        double height = draw_number_height(piece, id);
        dt_point at = dt_pose_apply(assembly->other[i].pose, piece->inside);
        if (height > 0)
            dt_text_addf(out, "<text class=\"n\" x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\">%u</text>\n", at.x,
                         at.y + 0.35 * height, height, id.v + 1);
    }
}

static void add_other_assembly(const sheet *s, dt_text *out) {
    if (s->beside <= 0) return;
    dt_text_addf(out, "<g class=\"still\" transform=\"translate(%.2f 0)\">\n", s->beside);
    draw_pieces(s->plan, out);
    add_moved(s, true, out);
    add_moved_numbers(s, out);
    dt_text_add(out, "</g>\n");
}

static void add_markers(const sheet *s, dt_text *out) {
    for (size_t i = 0; i < dt_pieces_fault_count(s->pieces) && i < MOST_MARKERS; i++)
        draw_marker(dt_pieces_fault(s->pieces, i)->at, s->marker, i + 1, out);
}

static void add_body(const sheet *s, dt_text *out) {
    if (dt_analysis_assembly(s->analysis)->other_count > DRAW_MOVED_COLOURS) draw_moved_marks(s->letter, out);
    draw_pieces(s->plan, out);
    add_moved(s, false, out);
    draw_loose(dt_analysis_net(s->analysis), out);
    add_twins(s, out);
    draw_numbers(s->plan, out);
    add_markers(s, out);
    add_other_assembly(s, out);
}

static void add_picture(const sheet *s, dt_text *out) {
    dt_text legend = DT_TEXT_EMPTY;
    double drawn = s->box.high.y - s->box.low.y, below = add_legend(s, s->box.high.y, &legend) + 2 * s->letter;
    dt_text_addf(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.2fmm\" height=\"%.2fmm\" viewBox=\"%.2f %.2f %.2f "
        "%.2f\">\n<title>",
        s->width, drawn + below, s->box.low.x, s->box.low.y, s->width, drawn + below);
    dt_text title = DT_TEXT_EMPTY;
    words_file(&title, s->analysis);
    if (!title.failed) dt_text_add_escaped(out, title.bytes);
    dt_text_add(out, "</title>\n");
    draw_style(out);
    dt_text_addf(out, "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"#fff\"/>\n", s->box.low.x,
                 s->box.low.y, s->width, drawn + below);
    add_body(s, out);
    if (!legend.failed) dt_text_add(out, legend.bytes);
    dt_text_add(out, "</svg>\n");
    out->failed |= legend.failed || title.failed;
    dt_text_free(&legend);
    dt_text_free(&title);
}

dt_status dt_report_svg(const dt_analysis *analysis, dt_text *out) {
    sheet s = {.analysis = analysis, .pieces = dt_analysis_pieces(analysis)};
    s.plan = draw_plan_new(s.pieces, dt_analysis_graph(analysis));
    bool ok = s.plan && families_find(analysis, &s.twins);
    if (ok) {
        lay_out(&s);
        add_picture(&s, out);
    }
    families_free(&s.twins);
    draw_plan_free(s.plan);
    return ok && !out->failed ? DT_OK : DT_NO_MEMORY;
}
