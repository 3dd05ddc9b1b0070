/* Sentences on places: twins and their kin, other assemblies (words.h). */
#include "report/words.h"

#include <math.h>

static unsigned number(dt_piece_id id) {
    return id.v + 1;
}

/* A seam much longer than the way from its one end to the other bulges: what lies on it is a knob to a maker. */
static const double KNOB_DETOUR = 1.25;

static bool is_on_knob(const dt_pieces *pieces, dt_piece_id id, dt_point at) {
    const dt_piece *piece = dt_pieces_get(pieces, id);
    const dt_seam *nearest = NULL;
    double least = INFINITY;
    for (size_t i = 0; i < piece->side_count; i++) {
        const dt_seam *seam = dt_pieces_seam(pieces, piece->sides[i].seam);
        double distance = dt_path_distance(seam->path, seam->closed, at);
        if (distance >= least) continue;
        least = distance;
        nearest = seam;
    }
    if (!nearest || nearest->closed || !DT_IS_PIECE(nearest->b) || nearest->path.count < 2) return false;
    double chord = dt_point_distance(nearest->path.points[0], nearest->path.points[nearest->path.count - 1]);
    return nearest->length > KNOB_DETOUR * chord;
}

/* How far a line must move so that the outlines differ by more than the laser takes however they are laid: what is
 * missing to the kerf, twice, because the best fit shares a move between both sides, and a little more; up to the next
 * 0.1 mm. */
static const double MOVE_ROOM_MM = 0.05;

static double telling_move(double kerf, double mismatch) {
    return ceil(10.0 * (2.0 * fmax(kerf - mismatch, 0.0) + MOVE_ROOM_MM) - 1e-6) / 10.0;
}

/* Where each piece is drawn with an outline of its own, more than the laser takes is free between them. */
static void add_difference(dt_text *out, const dt_analysis *analysis, const char *what, double mismatch) {
    double play = dt_analysis_play_mm(analysis);
    bool looser = play > dt_analysis_settings(analysis)->kerf_mm;
    dt_text_addf(out, ": %s differ by %.2f mm, %s %.2f", what, mismatch, looser ? "the play is" : "the laser takes",
                 play);
}

void words_twin(dt_text *out, const dt_analysis *analysis, const dt_match *twin) {
    double play = dt_analysis_play_mm(analysis);
    bool knob = is_on_knob(dt_analysis_pieces(analysis), twin->b, twin->differ_at);
    dt_text_addf(out, "Piece %u also fits the place of piece %u, ", number(twin->a), number(twin->b));
    words_turn(out, twin);
    add_difference(out, analysis, "outlines", twin->mismatch_mm);
    dt_text_add(out, ". ");
    if (!dt_analysis_is_double(analysis, twin)) {
        dt_text_add(out, "Only if turned over, which shows on a sheet with a face.");
        return;
    }
    dt_text_addf(out, "Move the %s at ", knob ? "knob" : "line");
    words_point(out, twin->differ_at);
    dt_text_addf(out, " by about %.1f mm to tell them apart.", telling_move(play, twin->mismatch_mm));
}

void words_near_twin(dt_text *out, const dt_analysis *analysis, const dt_match *match) {
    dt_text_addf(out, "Piece %u looks as if it went into the place of piece %u, ", number(match->a), number(match->b));
    words_turn(out, match);
    dt_text_add(out, ", but does not seat");
    add_difference(out, analysis, "outlines", match->mismatch_mm);
    dt_text_add(out, dt_analysis_is_double(analysis, match) ? "." : "; only if turned over.");
}

void words_turner(dt_text *out, const dt_analysis *analysis, const dt_match *turner) {
    dt_text_addf(out, "Piece %u also fits its own place ", number(turner->a));
    words_turn(out, turner);
    add_difference(out, analysis, "outlines", turner->mismatch_mm);
    dt_text_add(out, ".");
    if (!dt_analysis_is_double(analysis, turner))
        dt_text_add(out, " Only if turned over, which shows on a sheet with a face.");
}

/* No point of a nearly straight border is farther than the eye from the straight line between its ends: any other such
 * border, and any straight side, lies along it, so a mate there says little. */
bool words_is_telling_mate(const dt_analysis *analysis, const dt_false_mate *mate) {
    dt_path path = dt_pieces_seam(dt_analysis_pieces(analysis), mate->seam)->path;
    double eye = dt_analysis_settings(analysis)->eye_mm;
    for (size_t i = 1; i + 1 < path.count; i++)
        if (dt_segment_distance(path.points[i], path.points[0], path.points[path.count - 1], NULL) > eye) return true;
    return false;
}

size_t words_telling_mate_count(const dt_analysis *analysis) {
    const dt_fit *fit = dt_analysis_fit(analysis);
    size_t count = 0;
    for (size_t i = 0; i < dt_fit_false_mate_count(fit); i++)
        count += words_is_telling_mate(analysis, dt_fit_false_mate(fit, i));
    return count;
}

void words_false_mate(dt_text *out, const dt_analysis *analysis, const dt_false_mate *mate) {
    dt_text_addf(out, "Piece %u also mates with piece %u, in place of piece %u, along %.1f mm", number(mate->b),
                 number(mate->a), number(mate->instead_of), mate->length_mm);
    add_difference(out, analysis, "borders", mate->mismatch_mm);
    dt_text_add(out, ".");
    if (!words_is_telling_mate(analysis, mate))
        dt_text_add(out, " This border is nearly straight, so many others lie along it.");
}

/* ---- assemblies ---- */

static void add_ways(dt_text *out, const dt_assembly *assembly) {
    if (!assembly->counted || assembly->distinct < 2) return; /* one way and twins: the twins are told of beside */
    dt_text_addf(out, " (%s%llu ways to fill the outline, %llu but for turning the whole)",
                 assembly->exact ? "" : "at least ", (unsigned long long)assembly->fillings,
                 (unsigned long long)assembly->distinct);
}

void words_assembly(dt_text *out, const dt_analysis *analysis) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    size_t twins = dt_analysis_twin_count(analysis);
    switch (assembly->verdict) {
    case DT_ONE:
        dt_text_add(out, "One way to put it together: proved");
        dt_text_add(out, twins > 0 ? "; where twins trade places the whole is only turned." : ".");
        break;
    case DT_SEVERAL:
        dt_text_add(out, "There is more than one way to put it together");
        add_ways(out, assembly);
        dt_text_add(out, ".");
        break;
    case DT_UNDECIDED:
        if (twins > 0)
            dt_text_add(out, "More than one way: twins trade places.");
        else
            dt_text_addf(out, "Not proved that there is only one way: %s.", assembly->why);
        break;
    }
}
