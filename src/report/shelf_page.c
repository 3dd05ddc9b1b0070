/* The page of a shelf: one card for each draft with its small picture, hardest first. Self-contained like the page of a
 * draft; it has no script at all, so its policy allows none. */
#include <dovetell/report.h>

#include "base/digest.h"
#include "report/shelf_words.h"

static const char style[] = {
#include "report/shelf.css.inc"
    0};

static void add_card(dt_text *out, size_t rank, const dt_shelf_row *row) {
    const dt_shelf_figures *f = &row->figures;
    dt_text_add(out, "<li>\n");
    dt_text_add(out, row->picture);
    dt_text_addf(out, "<h2><span class=\"rank\">%zu</span> ", rank);
    dt_text_add_escaped(out, shelf_name(row));
    dt_text_addf(out, "</h2>\n<p class=\"band\">%s <span>%.0f points</span></p>\n<p>", dt_band_name(f->band),
                 f->points);
    words_range(out, f->low_min, f->high_min);
    dt_text_addf(out, "</p>\n<p>%llu pieces, %.0f by %.0f mm", (unsigned long long)f->pieces, f->width_mm,
                 f->height_mm);
    if (f->whimsies) {
        dt_text_add(out, ", ");
        words_count(out, f->whimsies, "whimsy", "whimsies");
    }
    dt_text_addf(out, "</p>\n<p class=\"remark %s\">",
                 f->verdict.ok                          ? "ready"
                 : words_finds_wrong(shelf_findings(f)) ? "unready"
                                                        : "unproved");
    words_remark(out, shelf_findings(f));
    dt_text_add(out, "</p>\n</li>\n");
}

static void add_unreadable(dt_text *out, const dt_shelf *shelf) {
    size_t count = dt_shelf_count(shelf), bad = dt_shelf_unreadable(shelf);
    if (bad == 0) return;
    dt_text_add(out, "<h2>Not readable</h2>\n<ul class=\"bad\">\n");
    for (size_t i = count - bad; i < count; i++) {
        dt_text_add(out, "<li>");
        dt_text_add_escaped(out, dt_shelf_row_at(shelf, i)->reason);
        dt_text_add(out, "</li>\n");
    }
    dt_text_add(out, "</ul>\n");
}

void dt_report_shelf_html(const dt_shelf *shelf, dt_text *out) {
    char digest[45];
    dt_digest_base64(style, sizeof style - 1, digest);
    dt_text_addf(out,
                 "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<meta "
                 "http-equiv=\"Content-Security-Policy\" "
                 "content=\"default-src 'none'; base-uri 'none'; form-action 'none'; style-src 'sha256-%s'\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                 "<meta name=\"color-scheme\" content=\"light dark\">\n<title>The shelf - dovetell</title>\n<style>",
                 digest);
    dt_text_add_bytes(out, style, sizeof style - 1);
    dt_text_add(out, "</style>\n</head>\n<body>\n<h1>");
    words_count(out, dt_shelf_count(shelf), "draft", "drafts");
    dt_text_add(out, ", hardest first</h1>\n<p class=\"caution\">Times are estimates for the middle half of adults "
                     "with no practice on the "
                     "puzzle.</p>\n<ol>\n");
    for (size_t i = 0; i < dt_shelf_count(shelf) - dt_shelf_unreadable(shelf); i++)
        add_card(out, i + 1, dt_shelf_row_at(shelf, i));
    dt_text_add(out, "</ol>\n");
    add_unreadable(out, shelf);
    dt_text_add(out, "</body>\n</html>\n");
}
