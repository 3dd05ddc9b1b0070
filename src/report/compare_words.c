/* What a new draft did, in words (dovetell/report.h): one sentence in front, then what went and what came. */
#include <dovetell/report.h>

#include "report/words.h"
#include <math.h>
#include <stdlib.h>

static const double SAME_POINTS = 0.5;   /* less is no difference that a person could tell */
static const double SHARE_TO_NAME = 0.2; /* of the change: a smaller part of it is not named as a reason */
enum { MOST_REASONS = 2, MOST_NAMED = 12 };

/* ---- the sentence ---- */

static void add_ordinal(dt_text *out, size_t number) {
    static const char *const words[] = {"first", "second",  "third",  "fourth", "fifth",
                                        "sixth", "seventh", "eighth", "ninth",  "tenth"};
    if (number >= 1 && number <= 10)
        dt_text_addf(out, "The %s draft", words[number - 1]);
    else
        dt_text_addf(out, "Draft %zu", number);
}

/* The work of the new draft against the old one: ten points are twice the work. */
static void add_ratio(dt_text *out, double points) {
    static const struct {
        double below; /* ratio */
        const char *words;
    } table[] = {{0.22, "less than a quarter of the work"},
                 {0.29, "a quarter of the work"},
                 {0.40, "a third of the work"},
                 {0.58, "half the work"},
                 {0.71, "a third less work"},
                 {0.85, "a quarter less work"},
                 {0.95, "a tenth less work"},
                 {1.05, "about the same work"},
                 {1.15, "a tenth more work"},
                 {1.38, "a quarter more work"},
                 {1.70, "half as much work again"},
                 {2.40, "twice the work"},
                 {3.40, "three times the work"},
                 {4.60, "four times the work"}};
    double ratio = exp2(points / 10.0);
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        if (ratio < table[i].below) {
            dt_text_add(out, table[i].words);
            return;
        }
    dt_text_addf(out, "%.0f times the work", ratio);
}

typedef struct reason {
    dt_factor factor;
    double points;
} reason;

/* Largest first; equal ones in the order of the factors. */
static int by_weight(const void *a, const void *b) {
    const reason *x = a, *y = b;
    if (fabs(x->points) != fabs(y->points)) return fabs(x->points) > fabs(y->points) ? -1 : 1;
    return (x->factor > y->factor) - (x->factor < y->factor);
}

static void add_size_reason(dt_text *out, const dt_figures *old, const dt_figures *now) {
    if (now->pieces == old->pieces) {
        dt_text_add(out, "the work without any help differs");
        return;
    }
    bool more = now->pieces > old->pieces;
    size_t change = more ? now->pieces - old->pieces : old->pieces - now->pieces;
    dt_text_addf(out, "it has %zu %s piece%s", change, more ? "more" : "fewer", change == 1 ? "" : "s");
}

static void add_reason(dt_text *out, reason r, const dt_figures *old, const dt_figures *now) {
    static const char *const harder[DT_FACTORS] = {
        [DT_FACTOR_LOOK_ALIKES] = "more pieces look alike", [DT_FACTOR_EDGE] = "the edge gives less away",
        [DT_FACTOR_WHIMSIES] = "its whimsies help less",    [DT_FACTOR_COLOURS] = "its colours tell less",
        [DT_FACTOR_PICTURE] = "its picture tells less",     [DT_FACTOR_TWO_SIDED] = "having two sides costs more"};
    static const char *const easier[DT_FACTORS] = {
        [DT_FACTOR_LOOK_ALIKES] = "fewer pieces look alike", [DT_FACTOR_EDGE] = "the edge gives more away",
        [DT_FACTOR_WHIMSIES] = "its whimsies help more",     [DT_FACTOR_COLOURS] = "its colours tell more",
        [DT_FACTOR_PICTURE] = "its picture tells more",      [DT_FACTOR_TWO_SIDED] = "having two sides costs less"};
    if (r.factor == DT_FACTOR_SIZE)
        add_size_reason(out, old, now);
    else
        dt_text_add(out, (r.points > 0 ? harder : easier)[r.factor]);
    dt_text_addf(out, " (%.1f point%s)", fabs(r.points), fabs(r.points) >= 0.95 && fabs(r.points) < 1.05 ? "" : "s");
}

/* The factors that pull the same way as the whole, the largest two of them that matter. */
static void add_reasons(dt_text *out, const dt_figures *old, const dt_figures *now) {
    double whole = now->points - old->points;
    reason reasons[DT_FACTORS];
    size_t count = 0;
    for (int i = 0; i < DT_FACTORS; i++) {
        double part = now->factors[i] - old->factors[i];
        if (part / whole >= SHARE_TO_NAME) reasons[count++] = (reason){(dt_factor)i, part};
    }
    qsort(reasons, count, sizeof *reasons, by_weight);
    for (size_t i = 0; i < count && i < MOST_REASONS; i++) {
        dt_text_add(out, i == 0 ? " because " : " and ");
        add_reason(out, reasons[i], old, now);
    }
}

/* " It mends 2 faults, parts 1 pair of twins." Nothing where nothing of the kind changed. */
static void add_mending(dt_text *out, const dt_comparison *c) {
    size_t counts[4], said = 0;
    static const char *const verbs[] = {"mends", "brings", "parts", "brings"};
    static const char *const one[] = {"fault", "new fault", "pair of twins", "new pair of twins"};
    static const char *const many[] = {"faults", "new faults", "pairs of twins", "new pairs of twins"};
    dt_compare_faults_went(c, &counts[0]);
    dt_compare_faults_came(c, &counts[1]);
    dt_compare_twins_went(c, &counts[2]);
    dt_compare_twins_came(c, &counts[3]);
    for (int i = 0; i < 4; i++) {
        if (counts[i] == 0) continue;
        dt_text_addf(out, "%s %s ", said++ ? "," : " It", verbs[i]);
        words_count(out, counts[i], one[i], many[i]);
    }
    if (said) dt_text_add(out, ".");
}

void dt_report_compare_verdict(const dt_comparison *c, size_t number, dt_text *out) {
    dt_figures old = dt_figures_of(dt_compare_old(c)), now = dt_figures_of(dt_compare_now(c));
    double change = now.points - old.points;
    add_ordinal(out, number);
    if (fabs(change) < SAME_POINTS) {
        dt_text_add(out, " is as hard as the one before");
    } else {
        double shown = fabs(change) < 9.95 ? round(10.0 * fabs(change)) / 10.0 : round(fabs(change));
        dt_text_addf(out, " is %g point%s %s (", shown, shown == 1.0 ? "" : "s", change > 0 ? "harder" : "easier");
        add_ratio(out, change);
        dt_text_add(out, ")");
        add_reasons(out, &old, &now);
    }
    dt_text_add(out, ".");
    add_mending(out, c);
    if (now.verdict.ok != old.verdict.ok)
        dt_text_add(out, now.verdict.ok ? " It is ready to cut." : " It is not ready to cut any more.");
    dt_text_add(out, "\n");
}

/* ---- what went and came ---- */

static void add_more(dt_text *out, size_t count) {
    if (count > MOST_NAMED) dt_text_addf(out, " and %zu more", count - MOST_NAMED);
}

static void add_pieces(dt_text *out, const char *label, const dt_piece_id *ids, size_t count) {
    if (count == 0) return;
    dt_text_add(out, label);
    for (size_t i = 0; i < count && i < MOST_NAMED; i++) dt_text_addf(out, "%s%u", i ? ", " : " ", ids[i].v + 1);
    add_more(out, count);
    dt_text_add(out, ".\n");
}

static void add_pairs(dt_text *out, const char *label, const dt_pair *pairs, size_t count) {
    if (count == 0) return;
    dt_text_add(out, label);
    for (size_t i = 0; i < count && i < MOST_NAMED; i++)
        dt_text_addf(out, "%s%u and %u", i ? "; " : " ", pairs[i].a.v + 1, pairs[i].b.v + 1);
    add_more(out, count);
    dt_text_add(out, ".\n");
}

static void add_faults(dt_text *out, const char *label, const dt_analysis *a, const uint32_t *faults, size_t count) {
    for (size_t i = 0; i < count && i < MOST_NAMED; i++) {
        dt_text_addf(out, "%s ", label);
        dt_report_fault(a, dt_pieces_fault(dt_analysis_pieces(a), faults[i]), out);
        dt_text_add(out, "\n");
    }
    if (count > MOST_NAMED) dt_text_addf(out, "%s %zu more faults.\n", label, count - MOST_NAMED);
}

/* Pieces of one draft without a counterpart in the other. */
static void add_lone(dt_text *out, const char *label, const dt_comparison *c, size_t count,
                     dt_piece_id (*counterpart)(const dt_comparison *, dt_piece_id)) {
    size_t lone = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (DT_IS_PIECE(counterpart(c, (dt_piece_id){i}))) continue;
        if (lone == 0) dt_text_add(out, label);
        if (lone < MOST_NAMED) dt_text_addf(out, "%s%u", lone ? ", " : " ", i + 1);
        lone++;
    }
    add_more(out, lone);
    if (lone) dt_text_add(out, ".\n");
}

static dt_piece_id became(const dt_comparison *c, dt_piece_id id) {
    return dt_compare_became(c, id, NULL);
}

static void add_changed(dt_text *out, const dt_comparison *c) {
    size_t changed = 0, count = dt_pieces_count(dt_analysis_pieces(dt_compare_old(c)));
    for (uint32_t i = 0; i < count; i++) {
        double differ = 0.0;
        dt_piece_id now = dt_compare_became(c, (dt_piece_id){i}, &differ);
        if (!DT_IS_PIECE(now) || differ <= DT_COMPARE_SAME_MM) continue;
        if (changed < MOST_NAMED) {
            dt_text_addf(out, "%s%u", changed ? ", " : "Changed: ", i + 1);
            if (now.v != i) dt_text_addf(out, " (now %u)", now.v + 1);
            dt_text_add(out, " by ");
            words_mm(out, differ);
        }
        changed++;
    }
    add_more(out, changed);
    if (changed) dt_text_add(out, ".\n");
}

static void add_piece_changes(dt_text *out, const dt_comparison *c) {
    size_t old = dt_pieces_count(dt_analysis_pieces(dt_compare_old(c))),
           now = dt_pieces_count(dt_analysis_pieces(dt_compare_now(c)));
    dt_point shift = dt_compare_shift(c);
    if (shift.x != 0.0 || shift.y != 0.0) {
        dt_text_add(out, "The whole was moved by ");
        words_point(out, shift);
        dt_text_add(out, " mm.\n");
    }
    words_count(out, dt_compare_same_count(c), "piece is", "pieces are");
    dt_text_addf(out, " the same, %zu changed, %zu gone, %zu new.\n", dt_compare_changed_count(c),
                 old - dt_compare_same_count(c) - dt_compare_changed_count(c),
                 now - dt_compare_same_count(c) - dt_compare_changed_count(c));
    add_changed(out, c);
    add_lone(out, "Gone:", c, old, became);
    add_lone(out, "New:", c, now, dt_compare_was);
}

void dt_report_compare_changes(const dt_comparison *c, dt_text *out) {
    size_t count;
    add_piece_changes(out, c);
    const uint32_t *faults = dt_compare_faults_went(c, &count);
    add_faults(out, "Mended:", dt_compare_old(c), faults, count);
    faults = dt_compare_faults_came(c, &count);
    add_faults(out, "New fault:", dt_compare_now(c), faults, count);
    const dt_pair *pairs = dt_compare_twins_went(c, &count);
    add_pairs(out, "No longer twins:", pairs, count);
    pairs = dt_compare_twins_came(c, &count);
    add_pairs(out, "New twins:", pairs, count);
    const dt_piece_id *ids = dt_compare_alike_went(c, &count);
    add_pieces(out, "No longer look like others:", ids, count);
    ids = dt_compare_alike_came(c, &count);
    add_pieces(out, "Look like others now:", ids, count);
}
