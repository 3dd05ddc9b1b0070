/* A shelf on the screen and as a table: hardest first, unreadable drafts last with the reason. */
#include <dovetell/report.h>

#include "report/shelf_words.h"

#include <math.h>
#include <string.h>

const char *shelf_name(const dt_shelf_row *row) {
    const char *slash = strrchr(row->file, '/');
    return slash && slash[1] ? slash + 1 : row->file;
}

words_findings shelf_findings(const dt_shelf_figures *f) {
    return (words_findings){(size_t)f->faults, (size_t)f->twins, f->assembly, f->verdict};
}

static void add_row(dt_text *out, size_t rank, const dt_shelf_row *row) {
    dt_text hours = DT_TEXT_EMPTY, name = DT_TEXT_EMPTY;
    words_range(&hours, row->figures.low_min, row->figures.high_min);
    dt_text_add_plain(&name, shelf_name(row), 28);
    dt_text_addf(out, "%4zu  %6.1f  %-10s %6llu  %-20s  %-29s ", rank, row->figures.points,
                 dt_band_name(row->figures.band), (unsigned long long)row->figures.pieces,
                 hours.bytes ? hours.bytes : "", name.bytes ? name.bytes : "");
    words_remark(out, shelf_findings(&row->figures));
    dt_text_add(out, "\n");
    dt_text_free(&hours);
    dt_text_free(&name);
}

void dt_report_shelf(const dt_shelf *shelf, dt_text *out) {
    size_t count = dt_shelf_count(shelf), bad = dt_shelf_unreadable(shelf);
    dt_text_addf(out, "%4s  %6s  %-10s %6s  %-20s  %-29s %s\n", "", "points", "band", "pieces", "middle half of people",
                 "draft", "");
    for (size_t i = 0; i < count - bad; i++) add_row(out, i + 1, dt_shelf_row_at(shelf, i));
    if (count > bad) dt_text_add(out, "Times are estimates for adults with no practice on the puzzle.\n");
    if (bad) dt_text_add(out, "Not readable:\n");
    for (size_t i = count - bad; i < count; i++) {
        dt_text_add(out, "  ");
        dt_text_add_plain(out, dt_shelf_row_at(shelf, i)->reason, 0);
        dt_text_add(out, "\n");
    }
}

/* ---- comma-separated (RFC 4180, lines ended by a line feed) ---- */

/* Quoted; a text that a spreadsheet would take for a formula gets an apostrophe in front. */
static void add_cell(dt_text *out, const char *text) {
    dt_text plain = DT_TEXT_EMPTY;
    dt_text_add_plain(&plain, text, 0);
    dt_text_add(out, "\"");
    if (strchr("=+-@", text[0]) && text[0]) dt_text_add(out, "'");
    for (const char *s = plain.bytes ? plain.bytes : ""; *s; s++)
        dt_text_add_bytes(out, *s == '"' ? "\"\"" : s, *s == '"' ? 2 : 1);
    dt_text_add(out, "\"");
    dt_text_free(&plain);
}

static const char *yes(bool value) {
    return value ? "yes" : "no";
}

void dt_report_shelf_csv(const dt_shelf *shelf, dt_text *out) {
    dt_text_add(
        out,
        "file,pieces,edge_pieces,whimsies,width,height,cut_length,points,band,low,median,high,faults,twins,one_place,"
        "all_locked,ok,reason\n");
    for (size_t i = 0; i < dt_shelf_count(shelf); i++) {
        const dt_shelf_row *row = dt_shelf_row_at(shelf, i);
        const dt_shelf_figures *f = &row->figures;
        add_cell(out, row->file);
        if (row->readable)
            dt_text_addf(out, ",%llu,%llu,%llu,%.10g,%.10g,%.10g,%.2f,%s,%.2f,%.2f,%.2f,%llu,%llu,%s,%s,%s,\n",
                         (unsigned long long)f->pieces, (unsigned long long)f->edge_pieces,
                         (unsigned long long)f->whimsies, round(f->width_mm * 1e2) / 1e2,
                         round(f->height_mm * 1e2) / 1e2, round(f->cut_length_mm * 1e2) / 1e2, f->points,
                         dt_band_name(f->band), f->low_min, f->median_min, f->high_min, (unsigned long long)f->faults,
                         (unsigned long long)f->twins, yes(f->verdict.one_place), yes(f->verdict.all_locked),
                         yes(f->verdict.ok));
        else {
            dt_text_add(out, ",,,,,,,,,,,,,,,,,");
            add_cell(out, row->reason);
            dt_text_add(out, "\n");
        }
    }
}
