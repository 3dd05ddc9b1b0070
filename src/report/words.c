/* Values and the sentences on lines and places (words.h). A number is rounded where it is written, nowhere before. */
#include "report/words.h"

#include <math.h>
#include <string.h>

enum { LONGEST_NAME = 40 };

/* ---- values ---- */

/* 1234567 as 1,234,567. */
static void add_grouped(dt_text *out, size_t count) {
    if (count >= 1000) {
        add_grouped(out, count / 1000);
        dt_text_addf(out, ",%03zu", count % 1000);
    } else {
        dt_text_addf(out, "%zu", count);
    }
}

void words_count(dt_text *out, size_t count, const char *one, const char *many) {
    add_grouped(out, count);
    dt_text_addf(out, " %s", count == 1 ? one : many);
}

static double mm_step(double mm) {
    return mm < 9.995 ? 0.01 : mm < 999.95 ? 0.1 : 1.0;
}

void words_mm(dt_text *out, double mm) {
    double step = mm_step(fabs(mm));
    dt_text_addf(out, "%.*f mm", step < 0.05 ? 2 : step < 0.5 ? 1 : 0, mm);
}

/* Never "-0.0". */
static double to_tenths(double mm) {
    return mm < 0.0 && mm > -0.05 ? 0.0 : mm;
}

void words_point(dt_text *out, dt_point p) {
    dt_text_addf(out, "(%.1f, %.1f)", to_tenths(p.x), to_tenths(p.y));
}

void words_minutes(dt_text *out, double minutes) {
    if (minutes < 1) {
        dt_text_add(out, "1 min");
    } else if (minutes < 59.5) {
        dt_text_addf(out, "%.0f min", minutes);
    } else if (minutes < 297.5) { /* to 5 minutes below 5 hours: it is an estimate */
        unsigned fives = (unsigned)lround(minutes / 5);
        dt_text_addf(out, "%u h", fives / 12);
        if (fives % 12) dt_text_addf(out, " %u min", fives % 12 * 5);
    } else {
        double hours = minutes / 60;
        add_grouped(out, (size_t)(hours < 100 ? lround(hours) : 10 * lround(hours / 10)));
        dt_text_add(out, " h");
    }
}

void words_pose(dt_text *out, double turn, bool flipped) {
    bool turned = isfinite(turn) && fabs(turn) >= 0.05;
    if (turned) dt_text_addf(out, "turned by %.*f degrees", fabs(turn - round(turn)) < 0.05 ? 0 : 1, fabs(turn));
    if (turned && fabs(turn) < 179.95) dt_text_add(out, turn > 0 ? " anticlockwise" : " clockwise");
    if (flipped) dt_text_add(out, turned ? " and turned over" : "turned over");
    if (!turned && !flipped) dt_text_add(out, isnan(turn) ? "at any turn" : "as it lies");
}

void words_turn(dt_text *out, const dt_match *match) {
    words_pose(out, match->turn, match->pose.flipped);
}

const char *words_factor(dt_factor factor) {
    static const char *const names[DT_FACTORS] = {
        [DT_FACTOR_SIZE] = "number of pieces", [DT_FACTOR_LOOK_ALIKES] = "look-alikes", [DT_FACTOR_EDGE] = "edge",
        [DT_FACTOR_WHIMSIES] = "whimsies",     [DT_FACTOR_COLOURS] = "colours",         [DT_FACTOR_PICTURE] = "picture",
        [DT_FACTOR_TWO_SIDED] = "two sides",
    };
    return names[factor];
}

const char *words_joint(dt_joint joint) {
    static const char *const names[] = {[DT_LOCKED] = "locked", [DT_SLIDES] = "slides", [DT_FREE] = "free"};
    return names[joint];
}

void words_file(dt_text *out, const dt_analysis *analysis) {
    const char *file = dt_analysis_file(analysis);
    dt_text_add_plain(out, strcmp(file, "-") == 0 ? "standard input" : file, 200);
}

/* ---- strokes ---- */

/* `"reed-7" in layer "cut"`, or `a line in layer "cut" (line 62 of the file)`. */
static void add_stroke(dt_text *out, const dt_analysis *analysis, uint32_t index) {
    dt_strokes strokes = dt_drawing_strokes(dt_analysis_drawing(analysis));
    const dt_stroke *stroke = index < strokes.count ? &strokes.strokes[index] : NULL;
    if (stroke && *stroke->name) {
        dt_text_add(out, "\"");
        dt_text_add_plain(out, stroke->name, LONGEST_NAME);
        dt_text_add(out, "\"");
    } else {
        dt_text_add(out, "a line");
    }
    if (!stroke) return;
    if (*stroke->layer) {
        dt_text_add(out, " in layer \"");
        dt_text_add_plain(out, stroke->layer, LONGEST_NAME);
        dt_text_add(out, "\"");
    }
    if (!*stroke->name && stroke->line) dt_text_addf(out, " (line %u of the file)", stroke->line);
}

static bool is_same_stroke(const dt_fault *fault) {
    return fault->other_stroke == DT_NO_INDEX || fault->other_stroke == fault->stroke;
}

/* Two subpaths of one element: naming it twice would say nothing. */
static bool is_same_element(const dt_analysis *analysis, const dt_fault *fault) {
    dt_strokes strokes = dt_drawing_strokes(dt_analysis_drawing(analysis));
    if (fault->stroke >= strokes.count || fault->other_stroke >= strokes.count) return false;
    const dt_stroke *a = &strokes.strokes[fault->stroke], *b = &strokes.strokes[fault->other_stroke];
    return a->line && a->line == b->line && strcmp(a->name, b->name) == 0 && !a->lone;
}

/* ---- faults: what, how large and where, then the stroke, then what to do ---- */

static void add_sized(dt_text *out, const char *what, const dt_fault *fault, const char *how) {
    dt_text_add(out, what);
    words_mm(out, fault->size_mm);
    dt_text_add(out, how);
    dt_text_add(out, " at ");
    words_point(out, fault->at);
    dt_text_add(out, ": ");
}

static void add_pieces(dt_text *out, const dt_fault *fault) {
    if (fault->pieces[0] == DT_NO_INDEX) return;
    if (fault->pieces[1] == DT_NO_INDEX || fault->pieces[1] == fault->pieces[0])
        dt_text_addf(out, "piece %u", fault->pieces[0] + 1);
    else
        dt_text_addf(out, "pieces %u and %u", fault->pieces[0] + 1, fault->pieces[1] + 1);
}

/* "piece 14 (next to 13, 15 and 21)": two that ran together are found more easily by who borders on them. */
static void add_merged_piece(dt_text *out, const dt_analysis *analysis, uint32_t piece) {
    enum { MOST_NAMED = 6 };
    size_t count = 0;
    const dt_piece_id *around = dt_graph_around(dt_analysis_graph(analysis), (dt_piece_id){piece}, &count);
    dt_text_addf(out, "piece %u", piece + 1);
    for (size_t i = 0; i < count && i < MOST_NAMED; i++)
        dt_text_addf(out, "%s%u", i == 0 ? " (next to " : i + 1 == count ? " and " : ", ", around[i].v + 1);
    if (count > MOST_NAMED) dt_text_addf(out, " and %zu more", count - MOST_NAMED);
    if (count > 0) dt_text_add(out, ")");
}

static void add_crossing(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    dt_text_add(out, "Figures cross at ");
    words_point(out, fault->at);
    dt_text_add(out, ": ");
    add_stroke(out, analysis, fault->stroke);
    dt_text_add(out, " and ");
    add_stroke(out, analysis, fault->other_stroke);
    dt_text_add(out, ". Move one of them.");
}

static void add_gap(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    add_sized(out, "Gap of ", fault, "");
    add_stroke(out, analysis, fault->stroke);
    dt_text_add(out, " ends short of ");
    if (is_same_stroke(fault))
        dt_text_add(out, "the line that it aims for");
    else if (is_same_element(analysis, fault))
        dt_text_add(out, "another part of the same path");
    else
        add_stroke(out, analysis, fault->other_stroke);
    if (fault->mended) {
        dt_text_add(out, ". Joined here; draw the end on to the line.");
    } else if (fault->pieces[0] != DT_NO_INDEX) {
        dt_text_add(out, ". Left open, so two pieces may have run together as ");
        add_merged_piece(out, analysis, fault->pieces[0]);
        dt_text_add(out, "; draw the end on to the line.");
    } else {
        dt_text_add(out, ". Left open; draw the end on to the line.");
    }
}

static void add_stretches(dt_text *out, const dt_fault *fault) {
    words_count(out, fault->times, "stretch", "stretches");
    dt_text_add(out, ", ");
    words_mm(out, fault->size_mm);
    dt_text_add(out, " in all, first at ");
    words_point(out, fault->at);
}

static void add_doubled(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    if (fault->apart_mm > 0.0) {
        dt_text_add(out, "Each piece has an outline of its own, ");
        words_mm(out, fault->apart_mm);
        dt_text_add(out, " from the next: ");
        add_stretches(out, fault);
        dt_text_add(
            out,
            ". Taken for one line half way between; the laser would cut each twice and leave the pieces looser, so "
            "draw one line there.");
        return;
    }
    if (fault->times > 1) {
        dt_text_add(out, "Lines drawn twice: ");
        add_stretches(out, fault);
        dt_text_add(out, ": the pieces seem to be drawn as whole outlines. Counted once here; the laser would cut each "
                         "twice, so keep one of each.");
        return;
    }
    add_sized(out, "Doubled line of ", fault, "");
    add_stroke(out, analysis, fault->stroke);
    if (is_same_stroke(fault)) {
        dt_text_add(out, " runs over itself");
    } else {
        dt_text_add(out, " and ");
        add_stroke(out, analysis, fault->other_stroke);
        dt_text_add(out, " run along each other");
    }
    dt_text_add(out, ". Keep one of them, or the laser cuts twice.");
}

/* Below 1 mm a neck breaks, whatever the sheet (common practice). */
static const double BREAKS_MM = 1.0;

static void add_neck(dt_text *out, const dt_fault *fault) {
    add_sized(out, "Thin neck of ", fault, "");
    add_pieces(out, fault);
    dt_text_addf(out, " %s here. Widen it.", fault->size_mm < BREAKS_MM ? "will break" : "may snap");
}

static void add_strip(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    add_sized(out, "Cuts only ", fault, " apart");
    if (fault->stroke == DT_NO_INDEX) { /* found in the piece, not between two lines */
        dt_text_add(out, "what is left of ");
        add_pieces(out, fault);
        dt_text_add(out, " between them");
    } else {
        dt_text_add(out, "the strip between ");
        add_stroke(out, analysis, fault->stroke);
        dt_text_add(out, " and ");
        if (is_same_stroke(fault))
            dt_text_add(out, "itself");
        else
            add_stroke(out, analysis, fault->other_stroke);
    }
    dt_text_add(out, " burns away. Move them apart or let them meet.");
}

static void add_sliver(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    add_sized(out, "Sliver ", fault, " wide");
    add_stroke(out, analysis, fault->stroke);
    dt_text_add(out, " leaves a face too thin to be a piece. Bring the lines together.");
}

static void add_plain_fault(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    const struct {
        const char *what, *then;
    } forms[DT_FAULT_KINDS] = {
        [DT_FAULT_STRAY] = {"Stray line of ", " bounds no piece. Join its ends or take it out."},
        [DT_FAULT_TAIL] = {"Tail of ", " runs on past the line it meets. Trim it there."},
        [DT_FAULT_OPEN_OUTLINE] = {"Open outline, ", " does not close. Join its loose ends."},
    };
    if (fault->kind == DT_FAULT_CROSSING) {
        add_crossing(out, analysis, fault);
        return;
    }
    if (fault->outside) {
        add_sized(out, "Line runs out by ", fault, " over the outside border");
        add_stroke(out, analysis, fault->stroke);
        dt_text_add(out, " goes on beyond the puzzle. Trim it at the border.");
        return;
    }
    add_sized(out, forms[fault->kind].what, fault, "");
    add_stroke(out, analysis, fault->stroke);
    dt_text_add(out, forms[fault->kind].then);
}

void words_fault(dt_text *out, const dt_analysis *analysis, const dt_fault *fault) {
    switch (fault->kind) {
    case DT_FAULT_GAP:
        add_gap(out, analysis, fault);
        break;
    case DT_FAULT_DOUBLED:
        add_doubled(out, analysis, fault);
        break;
    case DT_FAULT_THIN_NECK:
        add_neck(out, fault);
        break;
    case DT_FAULT_CLOSE_CUTS:
        add_strip(out, analysis, fault);
        break;
    case DT_FAULT_SLIVER:
        add_sliver(out, analysis, fault);
        break;
    default:
        add_plain_fault(out, analysis, fault);
        break;
    }
}

const char *words_fault_noun(dt_fault_kind kind, size_t count) {
    static const struct {
        const char *one, *many;
    } nouns[DT_FAULT_KINDS] = {
        [DT_FAULT_OPEN_OUTLINE] = {"open outline", "open outlines"},
        [DT_FAULT_CROSSING] = {"crossing", "crossings"},
        [DT_FAULT_GAP] = {"gap", "gaps"},
        [DT_FAULT_DOUBLED] = {"doubled line", "doubled lines"},
        [DT_FAULT_THIN_NECK] = {"thin neck", "thin necks"},
        [DT_FAULT_SLIVER] = {"sliver", "slivers"},
        [DT_FAULT_CLOSE_CUTS] = {"strip that burns away", "strips that burn away"},
        [DT_FAULT_STRAY] = {"stray line", "stray lines"},
        [DT_FAULT_TAIL] = {"tail", "tails"},
    };
    return count == 1 ? nouns[kind].one : nouns[kind].many;
}
