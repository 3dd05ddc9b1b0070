/* The effort model's formula, its constants, bands and factors (see effort.h).
 * Sources of the constants: 3.2 s at the assembly and 1.3 s at the picture a visit, 2.1 visits a piece: Pelz and Land,
 * eye-tracking of a 50-piece jigsaw (without a picture that glance goes to the open place). 0.25 s: one fixation a
 * piece looked over, 200 to 300 ms (from memory). Sorting 1.0 s a piece and 0.55 s for turning a piece over: common
 * practice, not measured. 6.2 piles with a full picture, 2.5 with a faint one: fitted to home and competition times
 * (tests/unit/rating_people.c). sd 0.7 of ln T between people: an open championship of 85 pairs, Spain 2011. */
#include "rating/effort.h"

#include <math.h>

static const char *const FACTOR_KEYS[] = {
#define FACTOR_KEY(name, key) key,
    DT_FACTOR_LIST(FACTOR_KEY)
#undef FACTOR_KEY
};

/* Upper end of each band but the last, in points: a factor of about three in work each. */
static const double BAND_ENDS[DT_BANDS - 1] = {32.0, 48.0, 64.0, 80.0, 96.0};
static const char *const BAND_NAMES[DT_BANDS] = {"breezy", "easy-going", "steady", "testing", "stubborn", "fiendish"};

const char *dt_factor_key(dt_factor factor) {
    return (unsigned)factor < DT_FACTORS ? FACTOR_KEYS[factor] : "unknown";
}

const char *dt_band_name(dt_band band) {
    return (unsigned)band < DT_BANDS ? BAND_NAMES[band] : "unknown";
}

dt_band dt_band_of(double points) {
    int band = 0;
    while (band < DT_BANDS - 1 && points >= BAND_ENDS[band]) band++;
    return (dt_band)band;
}

dt_effort dt_effort_default(void) {
    return (dt_effort){.sort_s = 1.0,
                       .scan_s = 0.25,
                       .try_s = 3.2,
                       .look_s = 1.3,
                       .flip_s = 0.55,
                       .alike_s = 3.2,
                       .looks_per_piece = 2.1,
                       .picture_full = 6.2,
                       .picture_faint = 2.5,
                       .log_sd = 0.7,
                       .person = 1.0};
}

static bool is_on(factor_set on, dt_factor factor) {
    return (on & FACTOR_BIT(factor)) != 0;
}

static double picture_divisor(const effort_case *c, const dt_effort *effort, factor_set on) {
    if (!is_on(on, DT_FACTOR_PICTURE) || c->picture == DT_PICTURE_NONE) return 1.0;
    return c->picture == DT_PICTURE_FULL ? effort->picture_full : effort->picture_faint;
}

static double piles(const effort_case *c, factor_set on) {
    return is_on(on, DT_FACTOR_COLOURS) ? c->unknown_colours : 1.0;
}

/* The work of `places` places whose m - 1 and k - 1 add up to these. */
static effort_work work_of(const effort_case *c, const dt_effort *e, factor_set on, const double sums[3]) {
    double places = sums[0], divisor = piles(c, on);
    double others = is_on(on, DT_FACTOR_LOOK_ALIKES) ? sums[2] / (2.0 * divisor) : 0.0;
    effort_work w = {.looks = (places + sums[1] / (2.0 * divisor)) / picture_divisor(c, e, on),
                     .tries = places * e->looks_per_piece + others};
    w.handling_s = e->person * places * (e->sort_s + e->looks_per_piece * (e->look_s + e->try_s));
    w.scanning_s = e->person * e->scan_s * w.looks;
    w.trying_s = e->person * e->alike_s * others;
    w.flipping_s = is_on(on, DT_FACTOR_TWO_SIDED) ? e->person * e->flip_s * w.tries / 2.0 : 0.0;
    w.total_s = w.handling_s + w.scanning_s + w.trying_s + w.flipping_s;
    return w;
}

/* Figures part the pile in two at sight. To part a pile in two saves half of the looking and trying at most (two equal
 * piles of n/2 have half of the pairs of one of n), so figures save no more than that, however many there are: where
 * all pieces are figures, none of them stands out. */
static const double LEAST_SHARE = 0.5;

static effort_work work_on(const effort_case *c, const dt_effort *effort, factor_set on, effort_basis basis) {
    int edge = is_on(on, DT_FACTOR_EDGE), colours = is_on(on, DT_FACTOR_COLOURS), two = is_on(on, DT_FACTOR_TWO_SIDED);
    const model_sums *s = &c->sums[basis.told_apart];
    return work_of(c, effort, on,
                   (const double[]){c->places, basis.share * s->looked[edge][colours],
                                    basis.share * s->alike[edge][colours][two]});
}

effort_basis effort_basis_of(const effort_case *c, const dt_effort *effort, factor_set on) {
    const effort_basis told_apart = {true, 1.0}, mixed = {false, 1.0}, parted = {false, LEAST_SHARE};
    if (!is_on(on, DT_FACTOR_WHIMSIES)) return mixed;
    return work_on(c, effort, on, told_apart).total_s < work_on(c, effort, on, parted).total_s ? parted : told_apart;
}

effort_work effort_of(const effort_case *c, const dt_effort *effort, factor_set on) {
    return work_on(c, effort, on, effort_basis_of(c, effort, on));
}

double effort_of_place(const effort_case *c, const dt_effort *effort, factor_set on, double m, double k) {
    return work_of(c, effort, on, (const double[]){1.0, m - 1.0, k - 1.0}).total_s;
}

double effort_points(double seconds) {
    return fmax(0.0, 10.0 * log2(seconds / 60.0));
}

static const dt_factor SWITCHES[] = {DT_FACTOR_LOOK_ALIKES, DT_FACTOR_EDGE,    DT_FACTOR_WHIMSIES,
                                     DT_FACTOR_COLOURS,     DT_FACTOR_PICTURE, DT_FACTOR_TWO_SIDED};
enum { SWITCH_COUNT = sizeof SWITCHES / sizeof *SWITCHES, SUBSETS = 1 << SWITCH_COUNT };

static factor_set switched_on(unsigned subset) {
    factor_set on = 0;
    for (unsigned i = 0; i < SWITCH_COUNT; i++)
        if (subset & 1u << i) on |= FACTOR_BIT(SWITCHES[i]);
    return on;
}

static unsigned bit_count(unsigned set) {
    unsigned count = 0;
    for (; set; set &= set - 1) count++;
    return count;
}

/* |S|! (n - 1 - |S|)! / n!: the share of the orders in which exactly S stands before the factor. */
static double shapley_weight(unsigned size) {
    double weight = 1.0 / SWITCH_COUNT;
    for (unsigned i = 1; i <= size; i++) weight *= (double)i / (SWITCH_COUNT - i);
    return weight;
}

void effort_factors(const effort_case *c, const dt_effort *effort, factor_set drawn, double factors[DT_FACTORS]) {
    double points[SUBSETS];
    for (unsigned s = 0; s < SUBSETS; s++)
        points[s] = effort_points(effort_of(c, effort, switched_on(s) & drawn).total_s);
    factors[DT_FACTOR_SIZE] = points[0];
    for (unsigned i = 0; i < SWITCH_COUNT; i++) {
        double value = 0.0;
        for (unsigned s = 0; s < SUBSETS; s++)
            if (!(s & 1u << i)) value += shapley_weight(bit_count(s)) * (points[s | 1u << i] - points[s]);
        factors[SWITCHES[i]] = value;
    }
}
