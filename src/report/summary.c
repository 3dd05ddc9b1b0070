/* The summary of `rate` and the list of `check`: plain text for a terminal. Invariant: a summary has at most
 * SCREEN_LINES lines of at most SCREEN_WIDTH columns; what is cut off is said to be. */
#include <dovetell/report.h>

#include "report/words.h"

#include <math.h>
#include <string.h>

enum {
    SCREEN_LINES = 24,
    SCREEN_WIDTH = 98,
    LABEL_WIDTH = 13,
    MOST_PROBLEMS = 12,
    MOST_LISTED = 100,
    LONGEST_NOTE = 400
};

/* Columns that UTF-8 text takes: characters, that is bytes that do not continue one. */
static size_t columns(const char *text, size_t length) {
    size_t count = 0;
    for (size_t i = 0; i < length; i++) count += ((unsigned char)text[i] & 0xC0) != 0x80;
    return count;
}

/* Appends text broken at spaces; lines after the first are indented. Returns the number of lines. */
static size_t add_wrapped(dt_text *out, const char *text, size_t first_indent, size_t indent) {
    size_t lines = 1, at = first_indent;
    for (bool first = true; *text; first = false) {
        size_t length = strcspn(text, " "), width = columns(text, length);
        if (!first && at + 1 + width > SCREEN_WIDTH) {
            dt_text_addf(out, "\n%*s", (int)indent, "");
            at = indent;
            lines++;
        } else if (!first) {
            dt_text_add(out, " ");
            at++;
        }
        dt_text_add_bytes(out, text, length);
        at += width;
        text += length;
        text += strspn(text, " ");
    }
    dt_text_add(out, "\n");
    return lines;
}

/* A labelled line of the table: "Pieces      61, 22 at the edge". Nothing for an empty value. */
static void add_row(dt_text *out, const char *label, dt_text *value) {
    if (value->failed) out->failed = true;
    if (!value->failed && value->length > 0) {
        dt_text_addf(out, "%-*s", LABEL_WIDTH, label);
        add_wrapped(out, value->bytes, LABEL_WIDTH, LABEL_WIDTH);
    }
    dt_text_free(value);
}

/* ---- what is wrong, worst first: one list for the faults and the places ---- */

static size_t problem_count(const dt_analysis *analysis) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    size_t twins = dt_analysis_twin_count(analysis);
    return dt_pieces_fault_count(dt_analysis_pieces(analysis)) + twins +
           (twins == 0 && assembly->verdict == DT_SEVERAL ? 1 : 0);
}

static const dt_match *real_twin(const dt_analysis *analysis, size_t index) {
    const dt_fit *fit = dt_analysis_fit(analysis);
    for (size_t i = 0; i < dt_fit_twin_count(fit); i++)
        if (dt_analysis_is_double(analysis, dt_fit_twin(fit, i)) && index-- == 0) return dt_fit_twin(fit, i);
    return NULL;
}

static void add_problem(dt_text *out, const dt_analysis *analysis, size_t index) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    size_t faults = dt_pieces_fault_count(pieces);
    const dt_match *twin = index < faults ? NULL : real_twin(analysis, index - faults);
    if (index < faults) {
        words_fault(out, analysis, dt_pieces_fault(pieces, index));
    } else if (twin) {
        words_twin(out, analysis, twin);
    } else {
        words_assembly(out, analysis);
        dt_text_add(out, " ");
        words_witness(out, analysis);
    }
}

/* Writes those of the problems order[0..count) that fit in `most` lines; returns how many were written. */
static size_t add_problems(dt_text *out, const dt_analysis *analysis, const size_t *order, size_t count, size_t most) {
    size_t written = 0, lines = 0;
    for (size_t i = 0; i < count; i++) {
        dt_text sentence = DT_TEXT_EMPTY, block = DT_TEXT_EMPTY;
        add_problem(&sentence, analysis, order[i]);
        dt_text_add(&block, "  - ");
        size_t needed = sentence.failed ? 0 : add_wrapped(&block, sentence.bytes, 4, 4);
        bool fits = lines + needed <= most;
        if (fits && !block.failed) dt_text_add(out, block.bytes);
        out->failed |= sentence.failed || block.failed;
        dt_text_free(&sentence);
        dt_text_free(&block);
        lines += fits ? needed : 0;
        written += fits;
    }
    return written;
}

static bool is_first_of_kind(const dt_pieces *pieces, size_t fault) {
    return fault == 0 || dt_pieces_fault(pieces, fault)->kind != dt_pieces_fault(pieces, fault - 1)->kind;
}

/* What the screen shows first: the worst fault, the first of the places, the worst fault of each further kind, then the
 * rest, so that a long list of one kind hides nothing else. */
static size_t screen_order(const dt_analysis *analysis, size_t *order, size_t room) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    size_t count = problem_count(analysis), faults = dt_pieces_fault_count(pieces), chosen = 0;
    if (faults > 0) order[chosen++] = 0;
    if (faults < count) order[chosen++] = faults;
    for (size_t i = 1; i < faults && chosen < room; i++)
        if (is_first_of_kind(pieces, i)) order[chosen++] = i;
    for (size_t i = 1; i < count && chosen < room; i++)
        if (i < faults ? !is_first_of_kind(pieces, i) : i > faults) order[chosen++] = i;
    return chosen;
}

/* Takes at most `most` lines, one of which may have to say how many are left out. */
static void add_screen_problems(dt_text *out, const dt_analysis *analysis, size_t most) {
    size_t order[MOST_PROBLEMS], count = problem_count(analysis);
    size_t chosen = screen_order(analysis, order, MOST_PROBLEMS);
    size_t written = add_problems(out, analysis, order, chosen, most > 1 ? most - 1 : 1);
    if (written < count) dt_text_addf(out, "    and %zu more (see --json or dovetell check)\n", count - written);
}

/* ---- the table ---- */

static void add_some(dt_text *out, bool at_least, size_t count, const char *one, const char *many) {
    if (count == 0) return;
    dt_text_add(out, at_least ? ", at least " : ", ");
    words_count(out, count, one, many);
}

static void add_places_row(dt_text *out, const dt_analysis *analysis) {
    const dt_fit *fit = dt_analysis_fit(analysis);
    dt_text value = DT_TEXT_EMPTY;
    words_assembly(&value, analysis);
    dt_text_add(&value, " ");
    size_t alike = dt_fit_alike_side_count(fit), sides = dt_fit_side_count(fit);
    dt_text_addf(&value, "%s%zu of %zu sides look like others",
                 dt_fit_leaves_out(fit, DT_LIST_LOOK_ALIKES) && alike < sides ? "At least " : "", alike, sides);
    size_t telling = words_telling_mate_count(analysis), plain = dt_fit_false_mate_count(fit) - telling;
    size_t over = dt_fit_twin_count(fit) - dt_analysis_twin_count(analysis);
    add_some(&value, dt_fit_leaves_out(fit, DT_LIST_FALSE_MATES), telling, "false mate", "false mates");
    add_some(&value, dt_fit_leaves_out(fit, DT_LIST_NEAR_TWINS), dt_fit_near_twin_count(fit), "near twin", "near twins");
    if (!dt_fit_sought_near_twins(fit)) dt_text_add(&value, "; near twins were not sought among so many");
    dt_text_add(&value, ".");
    if (plain) {
        dt_text_addf(&value, " On nearly straight borders %s ", plain == 1 ? "there is" : "there are");
        words_count(&value, plain, "more", "more");
        dt_text_add(&value, ", as straight lines always lie together.");
    }
    if (over) {
        dt_text_add(&value, dt_fit_leaves_out(fit, DT_LIST_TWINS) ? " At least " : " ");
        words_count(&value, over, "pair of pieces", "pairs of pieces");
        dt_text_add(&value, " would trade places only if turned over.");
    }
    add_row(out, "Places", &value);
}

static void add_factors(dt_text *out, const dt_rating *rating) {
    size_t shown = 0;
    for (dt_factor f = 0; f < DT_FACTORS; f++) {
        if (fabs(rating->factors[f]) < 0.05) continue;
        dt_text_addf(out, shown++ ? ", %s %+.1f" : "%s %.1f", words_factor(f), rating->factors[f]);
    }
}

static void add_sentence_row(dt_text *out, const dt_analysis *analysis, const char *label,
                             void (*words)(dt_text *, const dt_analysis *)) {
    dt_text value = DT_TEXT_EMPTY;
    words(&value, analysis);
    add_row(out, label, &value);
}

static void add_difficulty_rows(dt_text *out, const dt_analysis *analysis) {
    dt_text value = DT_TEXT_EMPTY;
    words_difficulty(&value, analysis);
    dt_text_add(&value, ".");
    add_row(out, "Difficulty", &value);
    add_factors(&value, dt_analysis_rating(analysis));
    add_row(out, "  made up of", &value);
    add_sentence_row(out, analysis, "Colours", words_colours);
}

/* What was lost comes first. */
static void add_notes(dt_text *out, const dt_analysis *analysis) {
    const dt_drawing *drawing = dt_analysis_drawing(analysis);
    size_t count = dt_drawing_note_count(drawing), first = 0;
    dt_text value = DT_TEXT_EMPTY;
    while (first < count && dt_drawing_lost_count(drawing) && !dt_drawing_note(drawing, first).lost) first++;
    if (count > 0) dt_text_add_plain(&value, dt_drawing_note(drawing, first).text, 2 * SCREEN_WIDTH - 40);
    if (count > 1) dt_text_addf(&value, " (and %zu more)", count - 1);
    add_row(out, "Drawing", &value);
}

static void add_cautions(dt_text *out, const dt_analysis *analysis) {
    add_sentence_row(out, analysis, "Small parts", words_small_parts);
    dt_text value = DT_TEXT_EMPTY;
    dt_text_add(&value, words_laser_caution);
    add_row(out, "Laser", &value);
}

static void add_head(dt_text *out, const dt_analysis *analysis) {
    dt_text head = DT_TEXT_EMPTY;
    words_file(&head, analysis);
    dt_text_add(&head, ": ");
    words_verdict(&head, analysis);
    if (head.failed)
        out->failed = true;
    else
        add_wrapped(out, head.bytes, 0, 2);
    dt_text_free(&head);
}

static size_t count_lines(const dt_text *text) {
    size_t lines = 0;
    for (size_t i = 0; i < text->length; i++) lines += text->bytes[i] == '\n';
    return lines;
}

static void add_table(dt_text *out, const dt_analysis *analysis) {
    add_sentence_row(out, analysis, "Pieces", words_pieces);
    add_sentence_row(out, analysis, "Size", words_size);
    add_sentence_row(out, analysis, "Cutting", words_cutting);
    add_sentence_row(out, analysis, "Joints", words_interlock);
    add_sentence_row(out, analysis, "Necks", words_necks);
    add_places_row(out, analysis);
    add_difficulty_rows(out, analysis);
    add_notes(out, analysis);
    add_cautions(out, analysis);
}

/* The table comes first to know how many lines it leaves for what is wrong. */
void dt_report_verdict(const dt_analysis *analysis, dt_text *out) {
    words_verdict(out, analysis);
}

void dt_report_summary(const dt_analysis *analysis, dt_text *out) {
    dt_text head = DT_TEXT_EMPTY, table = DT_TEXT_EMPTY;
    add_head(&head, analysis);
    add_table(&table, analysis);
    size_t taken = count_lines(&head) + count_lines(&table);
    if (!head.failed) dt_text_add(out, head.bytes);
    add_screen_problems(out, analysis, taken < SCREEN_LINES ? SCREEN_LINES - taken : 0);
    if (!table.failed) dt_text_add(out, table.bytes);
    out->failed |= head.failed || table.failed;
    dt_text_free(&head);
    dt_text_free(&table);
}

/* ---- check ---- */

static void add_check_line(dt_text *out, dt_text *sentence) {
    if (sentence->failed)
        out->failed = true;
    else if (sentence->length > 0)
        dt_text_addf(out, "  - %s\n", sentence->bytes);
    dt_text_free(sentence);
}

/* A list longer than a person reads ends in a count of what is left out. */
static void add_check_rest(dt_text *out, size_t rest, const char *what) {
    if (rest == 0) return;
    dt_text_add(out, "  - and ");
    words_count(out, rest, "more", "more");
    dt_text_addf(out, " %s: --json lists them all.\n", what);
}

static void add_check_lost(dt_text *out, const dt_analysis *analysis) {
    const dt_drawing *drawing = dt_analysis_drawing(analysis);
    for (size_t i = 0; i < dt_drawing_note_count(drawing); i++) {
        dt_text sentence = DT_TEXT_EMPTY;
        if (!dt_drawing_note(drawing, i).lost) continue;
        dt_text_add(&sentence, "Not read as drawn: ");
        dt_text_add_plain(&sentence, dt_drawing_note(drawing, i).text, LONGEST_NOTE);
        dt_text_add(&sentence, ". Lines may be missing here; draw it anew or take it out.");
        add_check_line(out, &sentence);
    }
}

/* The worst of each kind, so that thousands of one hide no other. */
static void add_check_faults(dt_text *out, const dt_analysis *analysis) {
    const dt_pieces *pieces = dt_analysis_pieces(analysis);
    size_t count = dt_pieces_fault_count(pieces);
    for (size_t first = 0, end; first < count; first = end) {
        dt_fault_kind kind = dt_pieces_fault(pieces, first)->kind;
        for (end = first; end < count && dt_pieces_fault(pieces, end)->kind == kind; end++) {
            dt_text sentence = DT_TEXT_EMPTY;
            if (end - first < MOST_LISTED) words_fault(&sentence, analysis, dt_pieces_fault(pieces, end));
            add_check_line(out, &sentence);
        }
        if (end - first > MOST_LISTED)
            add_check_rest(out, end - first - MOST_LISTED, words_fault_noun(kind, end - first - MOST_LISTED));
    }
}

static void add_check_twins(dt_text *out, const dt_analysis *analysis) {
    const dt_fit *fit = dt_analysis_fit(analysis);
    size_t twins = 0;
    for (size_t i = 0; i < dt_fit_twin_count(fit); i++) {
        dt_text sentence = DT_TEXT_EMPTY;
        if (!dt_analysis_is_double(analysis, dt_fit_twin(fit, i))) continue;
        if (twins++ < MOST_LISTED) words_twin(&sentence, analysis, dt_fit_twin(fit, i));
        add_check_line(out, &sentence);
    }
    if (twins > MOST_LISTED)
        add_check_rest(out, twins - MOST_LISTED, twins == MOST_LISTED + 1 ? "pair of twins" : "pairs of twins");
}

void dt_report_check(const dt_analysis *analysis, dt_text *out) {
    dt_verdict verdict = dt_analysis_verdict(analysis);
    words_file(out, analysis);
    dt_text_add(out, ": ");
    words_verdict(out, analysis);
    dt_text_add(out, "\n");
    dt_text sentence = DT_TEXT_EMPTY;
    size_t faults = dt_pieces_fault_count(dt_analysis_pieces(analysis));
    add_check_lost(out, analysis);
    add_check_faults(out, analysis);
    if (dt_analysis_twin_count(analysis) == 0 && problem_count(analysis) > faults) {
        add_problem(&sentence, analysis, faults); /* another assembly */
        add_check_line(out, &sentence);
    }
    add_check_twins(out, analysis);
    words_scale(&sentence, analysis);
    add_check_line(out, &sentence);
    if (!verdict.all_locked) words_interlock(&sentence, analysis);
    add_check_line(out, &sentence);
}

void dt_report_fault(const dt_analysis *analysis, const dt_fault *fault, dt_text *out) {
    words_fault(out, analysis, fault);
}
