/* The page of a draft (page.h): head with the content policy, the verdict and figures in words, the picture as inline
 * SVG, the data, the scripts. Without scripts the words and the picture are still there. */
#include "report/page.h"

#include <dovetell/report.h>

#include "base/digest.h"
#include "report/draw.h"
#include "report/words.h"

#include <math.h>

static const unsigned char style[] = {
#include "report/page.css.inc"
};
static const unsigned char head_js[] = {
#include "report/page_head.js.inc"
};
static const unsigned char core_js[] = {
#include "report/page.js.inc"
};
static const unsigned char map_js[] = {
#include "report/page_map.js.inc"
};
static const unsigned char card_js[] = {
#include "report/page_card.js.inc"
};
static const unsigned char views_js[] = {
#include "report/page_views.js.inc"
};
static const unsigned char scatter_js[] = {
#include "report/page_scatter.js.inc"
};
static const unsigned char play_js[] = {
#include "report/page_play.js.inc"
};

/* In the order in which they run, the first in the head, the others at the end. A further script is one file and one
 * line. */
static const page_script scripts[] = {
    {head_js, sizeof head_js},
    {core_js, sizeof core_js},
    {map_js, sizeof map_js},
    {card_js, sizeof card_js},
    {views_js, sizeof views_js},
    {scatter_js, sizeof scatter_js},
    {play_js, sizeof play_js},
};
enum { SCRIPTS = sizeof scripts / sizeof *scripts };

/* ---- content policy ---- */

/* " 'sha256-...'" as the policy wants it: base64 of the digest of exactly the bytes between the tags. */
static void add_digest(dt_text *out, const unsigned char *bytes, size_t count) {
    char digest[45];
    dt_digest_base64(bytes, count, digest);
    dt_text_addf(out, " 'sha256-%s'", digest);
}

static void add_policy(dt_text *out, const page_options *options) {
    dt_text_add(
        out, "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; base-uri 'none'; form-action "
             "'none'; style-src");
    add_digest(out, style, sizeof style);
    dt_text_add(out, "; script-src");
    for (size_t i = 0; i < SCRIPTS; i++) add_digest(out, scripts[i].bytes, scripts[i].count);
    for (size_t i = 0; i < options->more_count; i++) add_digest(out, options->more[i].bytes, options->more[i].count);
    if (options->policy) dt_text_addf(out, "; %s", options->policy);
    dt_text_add(out, "\">\n");
}

static void add_script(dt_text *out, const page_script *script) {
    dt_text_add(out, "<script>");
    dt_text_add_bytes(out, script->bytes, script->count);
    dt_text_add(out, "</script>\n");
}

/* ---- words ---- */

/* Escapes a sentence of words.h and frees it. */
static void add_sentence(dt_text *out, dt_text *sentence) {
    if (sentence->failed)
        out->failed = true;
    else if (sentence->length > 0)
        dt_text_add_escaped(out, sentence->bytes);
    dt_text_free(sentence);
}

static void add_entry(dt_text *out, const char *term, dt_text *sentence) {
    if (sentence->length == 0 && !sentence->failed) return;
    dt_text_addf(out, "<dt>%s</dt><dd>", term);
    add_sentence(out, sentence);
    dt_text_add(out, "</dd>\n");
}

static void add_words(dt_text *out, const char *term, const dt_analysis *analysis,
                      void (*words)(dt_text *, const dt_analysis *)) {
    dt_text sentence = DT_TEXT_EMPTY;
    words(&sentence, analysis);
    add_entry(out, term, &sentence);
}

static void add_notes(dt_text *out, const dt_analysis *analysis) {
    enum { MOST_NOTES = 20 };
    const dt_drawing *drawing = dt_analysis_drawing(analysis);
    for (size_t i = 0; i < dt_drawing_note_count(drawing) && i < MOST_NOTES; i++) {
        dt_text note = DT_TEXT_EMPTY;
        dt_text_add_plain(&note, dt_drawing_note(drawing, i).text, 300);
        add_entry(out, "Drawing", &note);
    }
}

static void add_overview(dt_text *out, const dt_analysis *analysis) {
    dt_text sentence = DT_TEXT_EMPTY;
    dt_text_add(out, "<section id=\"overview\" aria-label=\"Overview\">\n<dl>\n");
    words_pieces(&sentence, analysis);
    add_entry(out, "Pieces", &sentence);
    words_size(&sentence, analysis);
    add_entry(out, "Size", &sentence);
    add_words(out, "Cutting", analysis, words_cutting);
    add_words(out, "Joints", analysis, words_interlock);
    add_words(out, "Necks", analysis, words_necks);
    add_words(out, "Places", analysis, words_assembly);
    add_words(out, "Difficulty", analysis, words_difficulty);
    add_words(out, "Colours", analysis, words_colours);
    add_notes(out, analysis);
    add_words(out, "Small parts", analysis, words_small_parts);
    dt_text_add(&sentence, words_laser_caution);
    add_entry(out, "Laser", &sentence);
    dt_text_add(out, "</dl>\n</section>\n");
}

/* The mark before the verdict: nothing wrong that was found is no alarm, though not all is proved. */
static const char *verdict_class(const dt_analysis *analysis) {
    if (dt_analysis_verdict(analysis).ok) return "ready";
    return dt_analysis_finds_wrong(analysis) ? "unready" : "unproved";
}

static void add_header(dt_text *out, const dt_analysis *analysis) {
    dt_text sentence = DT_TEXT_EMPTY;
    dt_text_add(out, "<header>\n<p class=\"name\">");
    words_file(&sentence, analysis);
    add_sentence(out, &sentence);
    dt_text_addf(out, "</p>\n<h1 class=\"%s\">", verdict_class(analysis));
    words_verdict(&sentence, analysis);
    add_sentence(out, &sentence);
    dt_text_add(out, "</h1>\n</header>\n");
}

/* ---- picture ---- */

/* Of more pieces the numbers cannot be read at once, but take their time to lay out: a script shows those in view. */
enum { MOST_NUMBERS = 1000 };

static void add_map(dt_text *out, const dt_analysis *analysis, const draw_plan *plan) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    dt_box box = dt_pieces_box(pieces);
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    box = dt_box_grown(box, 0.03 * fmax(width, height));
    dt_text_addf(out,
                 "<div id=\"map\"><svg id=\"sheet\" viewBox=\"%.2f %.2f %.2f %.2f\" role=\"img\" aria-label=\"The "
                 "draft, drawn as "
                 "%zu pieces\">\n<g id=\"pieces\">\n",
                 box.low.x, box.low.y, box.high.x - box.low.x, box.high.y - box.low.y, dt_pieces_count(pieces));
    draw_pieces(plan, out);
    draw_loose(dt_analysis_net(analysis), out);
    dt_text_add(out, "</g>\n");
    if (dt_pieces_count(pieces) <= MOST_NUMBERS) {
        dt_text_add(out, "<g id=\"numbers\">\n");
        draw_numbers(plan, out);
        dt_text_add(out, "</g>\n");
    }
    dt_text_add(out, "</svg></div>\n");
}

static dt_status add_body(dt_text *out, const dt_analysis *analysis, const page_options *options) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    draw_plan *plan = draw_plan_new(pieces, dt_analysis_graph(analysis));
    if (!plan) return DT_NO_MEMORY;
    dt_text_add(out, "<body>\n");
    add_header(out, analysis);
    dt_text_add(out, "<main>\n");
    add_map(out, analysis, plan);
    dt_text_add(out, "<div id=\"panel\">\n");
    add_overview(out, analysis);
    dt_text_add(out, "</div>\n</main>\n<script type=\"application/json\" id=\"data\">");
    dt_status status = page_data(analysis, plan, out);
    dt_text_add(out, "</script>\n");
    for (size_t i = 1; i < SCRIPTS; i++) add_script(out, &scripts[i]);
    for (size_t i = 0; i < options->more_count; i++) add_script(out, &options->more[i]);
    dt_text_add(out, "</body>\n</html>\n");
    draw_plan_free(plan);
    return status;
}

dt_status page_write(const dt_analysis *analysis, const page_options *options, dt_text *out) {
    static const page_options plain = {NULL, 0, NULL, NULL};
    if (!options) options = &plain;
    dt_text title = DT_TEXT_EMPTY;
    dt_text_add(out, "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n");
    add_policy(out, options);
    dt_text_add(out,
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" "
                "content=\"light dark\">\n<title>");
    words_file(&title, analysis);
    add_sentence(out, &title);
    dt_text_add(out, " - dovetell</title>\n<style>");
    dt_text_add_bytes(out, style, sizeof style);
    dt_text_add(out, "</style>\n");
    add_script(out, &scripts[0]);
    if (options->head) dt_text_add(out, options->head);
    dt_text_add(out, "</head>\n");
    dt_status status = add_body(out, analysis, options);
    return status == DT_OK && out->failed ? DT_NO_MEMORY : status;
}

dt_status dt_report_html(const dt_analysis *analysis, dt_text *out) {
    return page_write(analysis, NULL, out);
}
