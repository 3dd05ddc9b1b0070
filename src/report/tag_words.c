/* The phrases of a tag (tag.h): short, without numbers that pretend to be exact, and never a promise of compliance. */
#include "report/tag.h"

#include "report/words.h"
#include <math.h>

const char TAG_FOR_WHOM[] = "for the middle half of people";
const char TAG_ONE_PLACE[] = "One place only for every piece: proved";
/* 16 CFR 1500.19 asks for a warning of this meaning; the maker is sent to the law for its exact words, size and place.
 */
const char TAG_CAUTION[] = "Choking hazard: small parts. Not for children under 3.";
const char TAG_CAUTION_LAW[] = "The law decides: 16 CFR 1500.19 and 1501, EN 71-1 (text of 2026)";

void tag_pieces(const tag_facts *f, dt_text *out) {
    words_count(out, f->pieces, "piece", "pieces");
    if (f->whimsies == 0) return;
    dt_text_add(out, ", ");
    words_count(out, f->whimsies, "whimsy", "whimsies");
}

void tag_size(const tag_facts *f, dt_text *out) {
    dt_text_addf(out, "%.0f \xC3\x97 %.0f mm", f->width_mm, f->height_mm);
}

void tag_sheet(const tag_facts *f, dt_text *out) {
    dt_text_addf(out, "%.3g mm %s", f->thickness_mm, f->material == DT_ACRYLIC ? "acrylic" : "plywood");
    if (f->two_sided) dt_text_add(out, ", two-sided");
}

void tag_edge(const tag_facts *f, dt_text *out) {
    dt_text_add(out, f->tell_tale_edge ? "easy to spot, " : "hard to spot, ");
    if (f->corners == 0) {
        dt_text_add(out, "no corners");
    } else {
        words_count(out, f->corners, "corner", "corners");
    }
}

void tag_face(const tag_facts *f, dt_text *out) {
    static const char *const pictures[] = {"no picture", "faint picture", "full picture"};
    if (f->colours > 1) dt_text_addf(out, "%zu colours, ", f->colours);
    dt_text_add(out, pictures[f->picture]);
}

/* Minutes to whole fives from 10 on; below, to the minute. */
static double round_minutes(double minutes) {
    return minutes < 10 ? fmax(1, round(minutes)) : 5 * round(minutes / 5);
}

/* Halves below 10 hours, whole hours below 100, then tens. */
static double round_hours(double hours) {
    if (hours < 10) return fmax(0.5, round(2 * hours) / 2);
    return hours < 100 ? round(hours) : 10 * round(hours / 10);
}

static void add_number(dt_text *out, double value) {
    double whole = floor(value);
    if (whole > 0 || value == 0) dt_text_addf(out, "%.0f", whole);
    if (value > whole) dt_text_add(out, "\xC2\xBD");
}

void tag_hours(const tag_facts *f, dt_text *out) {
    bool in_hours = f->high_min >= 100;
    double low = in_hours ? round_hours(f->low_min / 60) : round_minutes(f->low_min);
    double high = in_hours ? round_hours(f->high_min / 60) : round_minutes(f->high_min);
    if (f->high_min < 1) {
        dt_text_add(out, "under a minute");
        return;
    }
    if (low < high) {
        add_number(out, low);
        dt_text_add(out, " to ");
    } else {
        dt_text_add(out, "about ");
    }
    add_number(out, high);
    dt_text_add(out, in_hours ? " hours" : high == 1 ? " minute" : " minutes");
}

static void add_line(dt_text *out, const char *label, void (*phrase)(const tag_facts *, dt_text *),
                     const tag_facts *f) {
    dt_text_add(out, label);
    phrase(f, out);
    dt_text_add(out, "\n");
}

void tag_text(const tag_facts *f, dt_text *out) {
    dt_text_addf(out, "%s\n", f->name);
    add_line(out, "", tag_pieces, f);
    add_line(out, "Finished size: ", tag_size, f);
    add_line(out, "Sheet: ", tag_sheet, f);
    add_line(out, "Edge: ", tag_edge, f);
    add_line(out, "Face: ", tag_face, f);
    dt_text_addf(out, "Difficulty: %s (step %d of %d, %.0f points), ", dt_band_name(f->band), (int)f->band + 1,
                 DT_BANDS, f->points);
    tag_hours(f, out);
    dt_text_addf(out, " %s (an estimate)\n", TAG_FOR_WHOM);
    if (f->one_place) dt_text_addf(out, "%s\n", TAG_ONE_PLACE);
    if (f->small_parts) dt_text_addf(out, "%s %s.\n", TAG_CAUTION, TAG_CAUTION_LAW);
}
