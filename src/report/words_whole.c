/* Sentences on the puzzle as a whole: the verdict, joints, necks, difficulty, cautions (words.h). */
#include "report/words.h"

#include <math.h>
#include <string.h>

double words_finished_width(const dt_analysis *analysis) {
    dt_box box = dt_pieces_box(dt_analysis_pieces(analysis));
    return box.high.x - box.low.x;
}

double words_finished_height(const dt_analysis *analysis) {
    dt_box box = dt_pieces_box(dt_analysis_pieces(analysis));
    return box.high.y - box.low.y;
}

/* What --width scales: the span of the cut lines, strays and a tray included. */
static double cut_width(const dt_analysis *analysis) {
    const dt_net *net = dt_analysis_net(analysis);
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < dt_net_arc_count(net); i++) box = dt_box_join(box, dt_box_of(dt_net_arc(net, i)->path));
    return box.high.x - box.low.x;
}

/* ---- pieces and size ---- */

/* ", 4 corners"; nothing for none. */
static void add_some(dt_text *out, size_t count, const char *one, const char *many) {
    if (count == 0) return;
    dt_text_add(out, ", ");
    words_count(out, count, one, many);
}

words_findings words_findings_of(const dt_analysis *analysis) {
    size_t lost = dt_drawing_lost_count(dt_analysis_drawing(analysis));
    return (words_findings){dt_pieces_fault_count(dt_analysis_pieces(analysis)) + lost,
                            dt_analysis_twin_count(analysis), dt_analysis_assembly(analysis)->verdict,
                            dt_analysis_verdict(analysis)};
}

bool words_finds_wrong(words_findings found) {
    return found.faults || found.twins || !found.verdict.all_locked || found.assembly == DT_SEVERAL;
}

void words_remark(dt_text *out, words_findings found) {
    const char *between = "";
    if (found.verdict.ok) dt_text_add(out, "ready to cut");
    if (found.faults) {
        words_count(out, found.faults, "fault", "faults");
        between = ", ";
    }
    if (found.twins) {
        dt_text_add(out, between);
        words_count(out, found.twins, "pair of twins", "pairs of twins");
        between = ", ";
    } else if (!found.verdict.one_place) {
        dt_text_addf(out, "%s%s", between, found.assembly == DT_SEVERAL ? "more than one way" : "one way not proved");
        between = ", ";
    }
    if (!found.verdict.all_locked) dt_text_addf(out, "%sdoes not hold together", between);
}

void words_pieces(dt_text *out, const dt_analysis *analysis) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    size_t edge = 0, corner = 0;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        edge += dt_pieces_get(pieces, (dt_piece_id){i})->edge;
        corner += dt_pieces_get(pieces, (dt_piece_id){i})->corner;
    }
    words_count(out, dt_pieces_count(pieces), "piece", "pieces");
    dt_text_addf(out, ", %zu at the edge", edge);
    add_some(out, corner, "corner", "corners");
    add_some(out, dt_pieces_whimsy_count(pieces), "whimsy", "whimsies");
    add_some(out, dt_pieces_void_count(pieces), "drop-out", "drop-outs");
    if (dt_pieces_puzzle_count(pieces) > 1) dt_text_addf(out, "; %zu separate puzzles", dt_pieces_puzzle_count(pieces));
    double apart = dt_net_outlines_apart(dt_analysis_net(analysis));
    if (apart > 0.0)
        dt_text_addf(out,
                     ", %.2f mm apart: if they are one puzzle, draw one line between neighbours, or add --join %.1f",
                     apart, ceil(apart * 10 + 0.05) / 10);
    if (dt_pieces_tray_count(pieces) == 1) dt_text_add(out, "; a tray around");
    if (dt_pieces_tray_count(pieces) > 1) dt_text_addf(out, "; %zu trays around", dt_pieces_tray_count(pieces));
}

void words_size(dt_text *out, const dt_analysis *analysis) {
    dt_text_addf(out, "%.1f x %.1f mm finished, %.2f m of cut line. ", words_finished_width(analysis),
                 words_finished_height(analysis), dt_net_cut_length(dt_analysis_net(analysis)) / 1000);
    dt_text_add(out, words_assumed(analysis));
}

static void add_seconds(dt_text *out, double seconds) {
    if (seconds < 59.5)
        dt_text_addf(out, "%.0f s", fmax(1.0, seconds));
    else
        words_minutes(out, seconds / 60);
}

void words_cutting(dt_text *out, const dt_analysis *analysis) {
    dt_cutting_time time;
    if (!dt_analysis_cutting(analysis, &time)) return;
    dt_text_addf(out, "At %g mm/s about ", dt_analysis_settings(analysis)->speed_mm_per_s);
    add_seconds(out, 60.0 * (time.cut_min + time.travel_min));
    dt_text_add(out, " at the laser, ");
    add_seconds(out, 60.0 * time.travel_min);
    dt_text_add(out, " of it from line to line (an estimate).");
}

/* ---- verdict ---- */

/* Items of a sentence: "a, b, c". */
static void add_item(dt_text *out, size_t *items) {
    if ((*items)++ > 0) dt_text_add(out, ", ");
}

static void add_lost(dt_text *out, const dt_drawing *drawing, size_t *items) {
    size_t lost = dt_drawing_lost_count(drawing);
    if (lost == 0) return;
    add_item(out, items);
    words_count(out, lost, "line that cannot be read as drawn", "lines that cannot be read as drawn");
}

static void add_fault_counts(dt_text *out, const dt_pieces *pieces, size_t *items) {
    size_t counts[DT_FAULT_KINDS] = {0};
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        const dt_fault *fault = dt_pieces_fault(pieces, i);
        counts[fault->kind] += fault->times > 1 ? fault->times : 1;
    }
    for (dt_fault_kind kind = 0; kind < DT_FAULT_KINDS; kind++) {
        if (counts[kind] == 0) continue;
        add_item(out, items);
        words_count(out, counts[kind], words_fault_noun(kind, 1), words_fault_noun(kind, 2));
    }
}

static void add_place_problems(dt_text *out, const dt_analysis *analysis, size_t *items) {
    size_t twins = dt_analysis_twin_count(analysis);
    if (twins > 0) {
        add_item(out, items);
        if (dt_fit_leaves_out(dt_analysis_fit(analysis), DT_LIST_TWINS)) dt_text_add(out, "at least ");
        words_count(out, twins, "pair of twins", "pairs of twins");
    } else if (dt_analysis_assembly(analysis)->verdict == DT_SEVERAL) {
        add_item(out, items);
        dt_text_add(out, "another way to put it together");
    }
}

/* No fault and no known other way: what is proved, what is not. */
static void add_clean_verdict(dt_text *out, const dt_analysis *analysis, dt_verdict verdict) {
    if (verdict.ok) {
        dt_text_add(out, "Ready to cut: the lines are clean, each of ");
        words_count(out, dt_pieces_count(dt_analysis_pieces(analysis)), "piece", "pieces");
        dt_text_add(out, " has one place only, and the whole holds together.");
        return;
    }
    dt_text_add(out, verdict.one_place ? "The lines are clean and each piece has one place only"
                                       : "The lines are clean and no piece was found that fits another's place");
    if (!verdict.all_locked) dt_text_add(out, ", but it can be pulled apart");
    dt_text_add(out, verdict.one_place ? "." : "; one way to put it together is not proved.");
}

void words_verdict(dt_text *out, const dt_analysis *analysis) {
    dt_verdict verdict = dt_analysis_verdict(analysis);
    dt_text problems = DT_TEXT_EMPTY;
    size_t items = 0;
    add_lost(&problems, dt_analysis_drawing(analysis), &items);
    add_fault_counts(&problems, dt_analysis_pieces(analysis), &items);
    add_place_problems(&problems, analysis, &items);
    if (problems.failed) {
        out->failed = true;
    } else if (items == 0) {
        add_clean_verdict(out, analysis, verdict);
    } else {
        dt_text_addf(out, "Not ready to cut: %s.", problems.bytes);
        if (!verdict.all_locked) dt_text_add(out, " Also it can be pulled apart.");
    }
    dt_text_free(&problems);
}

/* ---- joints ---- */

static const char *direction_name(double degrees) {
    static const char *const names[] = {"right", "upper right", "top",    "upper left",
                                        "left",  "lower left",  "bottom", "lower right"};
    return names[(unsigned)lround(fmod(degrees + 720, 360) / 45) % 8];
}

static void add_group(dt_text *out, const dt_interlock *interlock) {
    enum { MOST_NAMED = 6 };
    dt_text_add(out, interlock->loose_count == 1 ? "piece " : "pieces ");
    for (size_t i = 0; i < interlock->loose_count && i < MOST_NAMED; i++)
        dt_text_addf(out, "%s%u", i ? ", " : "", interlock->loose[i].v + 1);
    if (interlock->loose_count > MOST_NAMED) dt_text_addf(out, " and %zu more", interlock->loose_count - MOST_NAMED);
    dt_text_add(out, interlock->loose_count == 1 ? " comes off towards the " : " come off together towards the ");
    dt_text_add(out, direction_name(interlock->loose_direction));
}

static void add_joint_counts(dt_text *out, const dt_interlock *interlock, size_t all) {
    if (interlock->locked_joints > 0)
        dt_text_addf(out, "%zu of %zu joints lock%s", interlock->locked_joints, all,
                     interlock->locked_joints == 1 ? "s" : "");
    else
        dt_text_addf(out, all == 1 ? "The only joint does not lock" : "None of %zu joints locks", all);
    if (interlock->sliding_joints > 0) {
        dt_text_add(out, ", ");
        words_count(out, interlock->sliding_joints, "slides", "slide");
    }
    if (interlock->free_joints > 0) {
        dt_text_add(out, ", ");
        words_count(out, interlock->free_joints, "is free", "are free");
    }
}

void words_interlock(dt_text *out, const dt_analysis *analysis) {
    const dt_interlock *interlock = dt_graph_interlock(dt_analysis_graph(analysis));
    size_t all = interlock->locked_joints + interlock->sliding_joints + interlock->free_joints;
    if (all == 0) {
        dt_text_add(out, "No joints: no two pieces share a border.");
        return;
    }
    if (interlock->locked_joints == all)
        dt_text_add(out, all == 1 ? "The only joint locks" : "All joints lock");
    else
        add_joint_counts(out, interlock, all);
    if (interlock->holds_together) {
        dt_text_add(out, "; the whole holds together.");
        return;
    }
    dt_text_add(out, "; it can be pulled apart");
    if (interlock->loose_count > 0) {
        dt_text_add(out, ": ");
        add_group(out, interlock);
    }
    dt_text_add(out, ".");
    if (!DT_IS_PIECE(interlock->mend_a) || !DT_IS_PIECE(interlock->mend_b)) return;
    dt_text_addf(out, " The joint between %u and %u would have to lock.", interlock->mend_a.v + 1,
                 interlock->mend_b.v + 1);
}

/* ---- necks and scale ---- */

static const double MOST_WIDER = 4.0; /* no one makes a puzzle wider still for the sake of a neck */

void words_scale(dt_text *out, const dt_analysis *analysis) {
    double limit = dt_neck_limit_mm(dt_analysis_settings(analysis)->material), width = cut_width(analysis);
    dt_safe_width safe = dt_pieces_safe_width(dt_analysis_pieces(analysis), width, limit);
    if (safe.thin == 0) return;
    dt_text_addf(out, "At a width of %.0f mm ", width);
    words_count(out, safe.thin, "neck falls", "necks fall");
    dt_text_addf(out, " below %.1f mm", limit);
    if (safe.width_mm <= MOST_WIDER * width)
        dt_text_addf(out, "; the smallest that keeps all is %.0f mm", ceil(safe.width_mm));
    else if (isfinite(safe.width_mm))
        dt_text_add(out, "; even four times as wide it would not keep all");
    dt_text_add(out, ".");
}

void words_necks(dt_text *out, const dt_analysis *analysis) {
    const dt_settings *settings = dt_analysis_settings(analysis);
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    dt_delicate_necks care =
        dt_pieces_delicate_necks(pieces, settings->thickness_mm, dt_neck_limit_mm(settings->material));
    size_t before = out->length;
    words_scale(out, analysis);
    if (care.count == 0) return;
    if (out->length > before) dt_text_add(out, " ");
    words_count(out, care.count, "neck is", "necks are");
    dt_text_addf(out, " narrower than the sheet is thick (%g mm)%s ", settings->thickness_mm,
                 care.count == 1 ? ":" : ", the narrowest");
    words_mm(out, dt_pieces_get(pieces, care.narrowest)->neck.width_mm);
    dt_text_addf(out, " in piece %u. Push %s out with care.", care.narrowest.v + 1,
                 care.count == 1 ? "it" : "these pieces");
}

/* ---- difficulty ---- */

void words_range(dt_text *out, double low, double high) {
    if (high >= 1.5 && high < 59.5) dt_text_addf(out, "%.0f to ", fmax(1.0, low));
    if (high >= 59.5) {
        words_minutes(out, low);
        dt_text_add(out, " to ");
    }
    words_minutes(out, high);
}

void words_difficulty(dt_text *out, const dt_analysis *analysis) {
    const dt_rating *rating = dt_analysis_rating(analysis);
    dt_text_addf(out, "%.0f points, %s: about ", rating->points, dt_band_name(rating->band));
    words_range(out, rating->low_min, rating->high_min);
    dt_text_add(out, " for the middle half of people (an estimate)");
}

void words_colours(dt_text *out, const dt_analysis *analysis) {
    const dt_rating *rating = dt_analysis_rating(analysis);
    double points = -rating->factors[DT_FACTOR_COLOURS], share = 100.0 * (1.0 - exp2(-points / 10.0));
    if (rating->colours < 2) return;
    dt_text_addf(out, "%zu colours, %s: they save ", rating->colours,
                 rating->colours_by_place ? "known for each place by the drawing's fills"
                                          : "where each one lies is not known");
    if (share < 0.5)
        dt_text_add(out, "next to nothing.");
    else
        dt_text_addf(out, "about %.0f %% of the work (%.1f points; an estimate).", share, points);
}

/* ---- cautions ---- */

void words_small_parts(dt_text *out, const dt_analysis *analysis) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    const dt_piece *smallest = NULL;
    uint32_t number = 0;
    size_t small = 0;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        if (!piece->small_part) continue;
        small++;
        if (smallest && smallest->length_mm <= piece->length_mm) continue;
        smallest = piece;
        number = i + 1;
    }
    if (small == 0) {
        dt_text_add(out, "No piece fits the small-parts cylinder (16 CFR 1501.4, EN 71-1) as drawn; broken ones may");
    } else {
        words_count(out, small, "piece fits", "pieces fit");
        dt_text_add(out, " the small-parts cylinder (16 CFR 1501.4, EN 71-1)");
        if (smallest)
            dt_text_addf(out, ", the smallest is %u, %.0f x %.0f mm", number, smallest->length_mm, smallest->width_mm);
        dt_text_add(out, ": not for children under 3");
    }
    dt_text_add(out, ". No promise of compliance: see the law.");
}

const char words_laser_caution[] =
    "Never cut PVC or unknown plastics, never leave the laser alone (fire), extract the fumes; the "
    "machine's manual, the material's data sheet and local rules come first.";

const char *words_assumed(const dt_analysis *analysis) {
    switch (dt_drawing_unit_source(dt_analysis_drawing(analysis))) {
    case DT_UNITS_96DPI:
        return "The drawing gives no units: 96 to the inch was assumed. Give the true size with --width.";
    case DT_UNITS_OPTION:
        return "Sizes follow from --width.";
    default:
        return "";
    }
}
