/* words.h - what dovetell says to a maker, sentence by sentence: shared by the screen, the record, the picture and the
 * page.
 *
 * Every text from a draft (names, layers) comes out of here as dt_text_add_plain leaves it: UTF-8 without controls, cut
 * short. Markup in it is still markup: whoever writes SVG or HTML escapes the whole sentence.
 */
#ifndef DOVETELL_REPORT_WORDS_H
#define DOVETELL_REPORT_WORDS_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

/* ---- values ---- */

void words_count(dt_text *out, size_t count, const char *one, const char *many); /* "1 gap", "3 gaps" */
void words_mm(dt_text *out, double mm);                                          /* "0.18 mm", "12.3 mm" */
void words_point(dt_text *out, dt_point p);                                      /* "(84.1, 33.0)" */
void words_minutes(dt_text *out, double minutes);                                /* "35 min", "1 h 10 min", "14 h" */
void words_turn(dt_text *out,
                const dt_match *match); /* "turned by 180 degrees", "turned over", "as it lies", "at any turn" */
/* "turned by 90 degrees and over": of a pose. */
void words_pose(dt_text *out, double turn, bool flipped);

/* ---- sentences ---- */

/* Where a draft comes from: its file name, or "standard input". */
void words_file(dt_text *out, const dt_analysis *analysis);
/* "Not ready to cut: 1 gap, 1 pair of twins." One or two sentences; never claims what was not proved. */
void words_verdict(dt_text *out, const dt_analysis *analysis);
/* What a maker should look at first, in a few words: "2 faults, 1 pair of twins", "one way not proved", "ready to cut".
 */
typedef struct words_findings {
    size_t faults, twins; /* twins that count */
    dt_assembly_verdict assembly;
    dt_verdict verdict;
} words_findings;
words_findings words_findings_of(const dt_analysis *analysis);
bool words_finds_wrong(words_findings found); /* that one way could not be proved is nothing wrong yet */
void words_remark(dt_text *out, words_findings found);
/* "61 pieces, 22 at the edge, ..." and "210.0 x 148.0 mm finished, 5.32 m of cut line." */
void words_pieces(dt_text *out, const dt_analysis *analysis);
void words_size(dt_text *out, const dt_analysis *analysis);
/* "At 12 mm/s about 6 min at the laser, 20 s of it from line to line (an estimate)." Nothing without --speed. */
void words_cutting(dt_text *out, const dt_analysis *analysis);
/* A fault with its place, its stroke and layer, its size, and what to do. */
void words_fault(dt_text *out, const dt_analysis *analysis, const dt_fault *fault);
/* A kind of fault as counted in the verdict: "gap" / "gaps". */
const char *words_fault_noun(dt_fault_kind kind, size_t count);
/* "Piece 12 also fits the place of piece 47, turned by 180 degrees: outlines differ by 0.08 mm, the laser takes 0.20.
 * ..." */
void words_twin(dt_text *out, const dt_analysis *analysis, const dt_match *twin);
void words_near_twin(dt_text *out, const dt_analysis *analysis, const dt_match *match);
void words_turner(dt_text *out, const dt_analysis *analysis, const dt_match *turner);
/* Is the border of a false mate shaped enough to tell pieces apart? Of those that are not, people need the number
 * alone. */
bool words_is_telling_mate(const dt_analysis *analysis, const dt_false_mate *mate);
size_t words_telling_mate_count(const dt_analysis *analysis);
void words_false_mate(dt_text *out, const dt_analysis *analysis, const dt_false_mate *mate);
/* Is there one way to put it together: proved, not, or not known. */
void words_assembly(dt_text *out, const dt_analysis *analysis);
/* "Pieces 3 and 4 together fit where 7 lies, and the other way round." Nothing without a witness. */
void words_witness(dt_text *out, const dt_analysis *analysis);
/* How the joints hold, and what comes off if the whole does not. */
void words_interlock(dt_text *out, const dt_analysis *analysis);
/* "8 to 20 min", "45 min to 2 h", "1 min" where both ends read alike. */
void words_range(dt_text *out, double low_min, double high_min);
/* "3 colours, known for each place by the drawing's fills: they save a quarter of the work (4.1 points)." Nothing
 * without colours. */
void words_colours(dt_text *out, const dt_analysis *analysis);
/* "52 points, steady: about 1 h 10 min to 2 h 50 min for the middle half of people (an estimate)". */
void words_difficulty(dt_text *out, const dt_analysis *analysis);
/* "at 150 mm wide 4 necks are below 2 mm; the smallest width that keeps all is 168 mm". Nothing without a thin neck. */
void words_scale(dt_text *out, const dt_analysis *analysis);
/* The same, and the necks that are no fault but narrower than the sheet is thick. Nothing without either. */
void words_necks(dt_text *out, const dt_analysis *analysis);
/* The usual cautions: small parts (with count) and the laser; each defers to the law, the manual and the data sheet. */
void words_small_parts(dt_text *out, const dt_analysis *analysis);
extern const char words_laser_caution[];
/* What was taken for granted about sizes: "" when the drawing gives its own units. */
const char *words_assumed(const dt_analysis *analysis);

const char *words_factor(dt_factor factor); /* "look-alikes" */
const char *words_joint(dt_joint joint);    /* the name in the record */

/* ---- what the sentences rest on ---- */

double words_finished_width(const dt_analysis *analysis); /* mm, of the finished puzzle */
double words_finished_height(const dt_analysis *analysis);

#endif
