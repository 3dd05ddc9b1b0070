/* rating.h - how hard the puzzle is: the work of a person who puts it together.
 *
 * An estimate, not a validated rating; the formula, its constants and their sources stand in src/rating.
 */
#ifndef DOVETELL_RATING_H
#define DOVETELL_RATING_H

#include <dovetell/fit.h>
#include <dovetell/graph.h>

#define DT_FACTOR_LIST(X)                                                                                              \
    X(DT_FACTOR_SIZE, "size")                                                                                          \
    X(DT_FACTOR_LOOK_ALIKES, "look_alikes")                                                                            \
    X(DT_FACTOR_EDGE, "edge")                                                                                          \
    X(DT_FACTOR_WHIMSIES, "whimsies")                                                                                  \
    X(DT_FACTOR_COLOURS, "colours")                                                                                    \
    X(DT_FACTOR_PICTURE, "picture")                                                                                    \
    X(DT_FACTOR_TWO_SIDED, "two_sided")

typedef enum dt_factor {
#define DT_FACTOR_ENUM(name, key) name,
    DT_FACTOR_LIST(DT_FACTOR_ENUM)
#undef DT_FACTOR_ENUM
        DT_FACTORS
} dt_factor;
const char *dt_factor_key(dt_factor factor);

typedef enum dt_band { DT_BREEZY, DT_EASY_GOING, DT_STEADY, DT_TESTING, DT_STUBBORN, DT_FIENDISH, DT_BANDS } dt_band;
const char *dt_band_name(dt_band band); /* "easy-going" */
dt_band dt_band_of(double points);

/* Constants of the model: seconds, counts, ratios. dt_effort_default has the published ones. */
typedef struct dt_effort {
    double sort_s, scan_s, try_s, look_s, flip_s;
    double alike_s;                     /* trying a piece that only looks right: try_s until learnt otherwise */
    double looks_per_piece;             /* b */
    double picture_full, picture_faint; /* what scanning is divided by */
    double log_sd;                      /* of ln T between people */
    double person;                      /* factor of the maker's own testers, 1 = median adult */
} dt_effort;
dt_effort dt_effort_default(void);

typedef struct dt_place_cost {
    double minutes;     /* expected, for this place */
    double looked_over; /* m: loose pieces looked over */
    double alike;       /* k: pieces that look alike for it when it is filled */
    uint32_t turn;      /* when it is filled, from 0, in the model's order */
} dt_place_cost;

/* Minutes of a median adult by what they are spent on; they add up to 2^(points / 10) from one minute on. */
typedef struct dt_work {
    double handling_min; /* sorting, visits to the assembly, turning pieces over */
    double scanning_min; /* looking over loose pieces */
    double trying_min;   /* trying pieces that look alike */
} dt_work;

typedef struct dt_rating {
    double points;
    dt_band band;
    double factors[DT_FACTORS];           /* points; they add up to `points` */
    double tries, looks;                  /* expected, for the whole puzzle */
    double low_min, median_min, high_min; /* minutes: middle half of people, with the constants handed in */
    dt_work work;                         /* with the published constants, like points, factors, tries and looks */
    bool tell_tale_edge;                  /* an edge piece is known as one at sight */
    size_t colours;                       /* groups of sheet colours, 1 = none to go by */
    bool colours_by_place; /* they come from the drawing's fills, so each place has its own; else only how many there
                              are is known */
    const dt_place_cost *places; /* by piece */
    size_t place_count;
} dt_rating;

/* Uses two_sided, colours, picture, eye_mm. effort NULL = default. Near linear in sides and candidates. */
dt_status dt_rating_new(const dt_pieces *pieces, const dt_graph *graph, const dt_fit *fit, const dt_settings *settings,
                        const dt_effort *effort, dt_rating **out, dt_error *error);
void dt_rating_free(dt_rating *rating);

#endif
