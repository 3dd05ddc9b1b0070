/* Figures of drafts side by side (dovetell/report.h): one list of figures serves the table and the record. */
#include <dovetell/report.h>

#include "report/compare_figures.h"
#include "report/words.h"
#include <math.h>
#include <string.h>

static void add(figure *list, size_t *count, figure f) {
    if (*count < MOST_FIGURES) list[(*count)++] = f;
}

static void add_count(figure *list, size_t *count, const char *key, const char *label, size_t value) {
    add(list, count, (figure){FIGURE_COUNT, key, label, (double)value, 0});
}

static void add_measure(figure *list, size_t *count, figure f) {
    f.kind = FIGURE_MEASURE;
    add(list, count, f);
}

static void list_places(const dt_figures *f, figure *out, size_t *n) {
    add_count(out, n, "twins", "Twins (pairs)", f->twins);
    add_count(out, n, "near_twins", "Near twins (pairs)", f->near_twins);
    add_count(out, n, "turners", "Pieces that fit turned", f->turners);
    add_count(out, n, "false_mates", "False mates, all", f->false_mates);
    add_count(out, n, "alike_sides", "Sides that look alike", f->alike_sides);
    add_count(out, n, "locked_joints", "Joints that lock", f->locked_joints);
    add_count(out, n, "sliding_joints", "Joints that slide", f->sliding_joints);
    add_count(out, n, "free_joints", "Joints that are free", f->free_joints);
}

size_t list_figures(const dt_figures *f, figure out[MOST_FIGURES]) {
    size_t n = 0;
    add_count(out, &n, "pieces", "Pieces", f->pieces);
    add_count(out, &n, "edge_pieces", "Edge pieces", f->edge_pieces);
    add_count(out, &n, "whimsies", "Whimsies", f->whimsies);
    add_count(out, &n, "voids", "Drop-outs", f->voids);
    add_measure(out, &n, (figure){.key = "width", .label = "Width, mm", .value = f->width_mm, .decimals = 1});
    add_measure(out, &n, (figure){.key = "height", .label = "Height, mm", .value = f->height_mm, .decimals = 1});
    add_measure(out, &n, (figure){.key = "cut_length", .label = "Cut line, mm", .value = f->cut_length_mm});
    add_measure(
        out, &n,
        (figure){.key = "narrowest_neck", .label = "Narrowest neck, mm", .value = f->narrowest_neck_mm, .decimals = 2});
    add_count(out, &n, "faults", "Faults", f->all_faults);
    list_places(f, out, &n);
    add_measure(out, &n, (figure){.key = "points", .label = "Points", .value = f->points, .decimals = 1});
    for (int i = 0; i < DT_FACTORS; i++)
        add(out, &n,
            (figure){FIGURE_FACTOR, dt_factor_key((dt_factor)i), words_factor((dt_factor)i), f->factors[i], 1});
    add_measure(out, &n, (figure){.key = "median_minutes", .label = "Median time, min", .value = f->median_min});
    add(out, &n, (figure){FIGURE_ASKED, "cutting_minutes", "At the laser, min", f->cutting_min, 1});
    return n;
}

/* ---- the table ---- */

enum { LABEL_COLUMN = 26, VALUE_COLUMN = 14, LONGEST_FILE = 13 };

/* A file name from its end, which tells drafts apart, in at most LONGEST_FILE characters. */
static void add_file(dt_text *out, const char *path) {
    const char *slash = strrchr(path, '/');
    dt_text plain = DT_TEXT_EMPTY;
    dt_text_add_plain(&plain, slash ? slash + 1 : path, 0);
    if (plain.failed) out->failed = true;
    const char *start = plain.bytes ? plain.bytes : "";
    size_t columns = 0;
    for (const char *c = start; *c; c++) columns += ((unsigned char)*c & 0xC0) != 0x80;
    bool cut = columns > LONGEST_FILE;
    for (; columns > LONGEST_FILE - (cut ? 1 : 0); columns--) do
            start++;
        while (((unsigned char)*start & 0xC0) == 0x80);
    dt_text_addf(out, "%*s%s%s", (int)(VALUE_COLUMN - columns - cut), "", cut ? "\xE2\x80\xA6" : "", start);
    dt_text_free(&plain);
}

static void add_value(dt_text *out, const figure *f) {
    if (isfinite(f->value)) {
        dt_text_addf(out, "%*.*f", VALUE_COLUMN, f->decimals, f->value + 0.0);
    } else {
        dt_text_addf(out, "%*s", VALUE_COLUMN, "none");
    }
}

/* Nothing where both show the same. */
static void add_change(dt_text *out, const figure *old, const figure *now) {
    double scale = pow(10.0, old->decimals),
           change = round(now->value * scale) / scale - round(old->value * scale) / scale;
    if (isfinite(change) && change != 0.0) dt_text_addf(out, "%+*.*f", VALUE_COLUMN, old->decimals, change);
}

static const char *assembly_word(const dt_figures *f) {
    static const char *const words[] = {[DT_ONE] = "proved", [DT_SEVERAL] = "no", [DT_UNDECIDED] = "not known"};
    return f->verdict.one_place ? "proved" : f->assembly == DT_ONE ? "no" : words[f->assembly];
}

static void add_words(dt_text *out, const char *label, const dt_figures *figures, size_t count,
                      const char *(*word)(const dt_figures *)) {
    dt_text_addf(out, "%-*s", LABEL_COLUMN, label);
    for (size_t i = 0; i < count; i++) dt_text_addf(out, "%*s", VALUE_COLUMN, word(&figures[i]));
    dt_text_add(out, "\n");
}

static const char *band_word(const dt_figures *f) {
    return dt_band_name(f->band);
}

static const char *clean_word(const dt_figures *f) {
    return f->verdict.clean_lines ? "yes" : "no";
}

static void add_row(dt_text *out, const dt_figures *figures, size_t count, size_t index) {
    figure list[MOST_FIGURES], first;
    bool shown = false;
    for (size_t i = 0; i < count && !shown; i++) {
        list_figures(&figures[i], list);
        shown = list[index].kind == FIGURE_MEASURE || (isfinite(list[index].value) && fabs(list[index].value) >= 0.05);
    }
    if (!shown) return;
    int indent = list[index].kind == FIGURE_FACTOR ? 2 : 0;
    dt_text_addf(out, "%*s%-*s", indent, "", LABEL_COLUMN - indent, list[index].label);
    for (size_t i = 0; i < count; i++) {
        list_figures(&figures[i], list);
        add_value(out, &list[index]);
        if (i == 0) first = list[index];
    }
    if (count == 2) add_change(out, &first, &list[index]);
    dt_text_add(out, "\n");
}

void dt_report_compare_table(const dt_figures *figures, const char *const *files, size_t count, dt_text *out) {
    figure list[MOST_FIGURES];
    if (count == 0) return;
    size_t rows = list_figures(&figures[0], list);
    dt_text_addf(out, "%*s", LABEL_COLUMN, "");
    for (size_t i = 0; i < count; i++) add_file(out, files[i]);
    if (count == 2) dt_text_addf(out, "%*s", VALUE_COLUMN, "change");
    dt_text_add(out, "\n");
    for (size_t row = 0; row < rows; row++) add_row(out, figures, count, row);
    add_words(out, "Band", figures, count, band_word);
    add_words(out, "One place for each piece", figures, count, assembly_word);
    add_words(out, "Lines clean", figures, count, clean_word);
}
