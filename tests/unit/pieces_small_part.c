/* Small parts. Source of the body: 16 CFR 1501.4 (small-parts cylinder: 31.75 mm wide, slanted floor from 25.40 to 57.15 mm; EN 71-1
 * has the same body in 31.7 mm); the depths are from memory. */
#include "draft.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

static bool rectangle_fits(double width, double length, double thickness, double turn) {
    double c = cos(turn), s = sin(turn);
    const dt_point corners[] = {{0, 0}, {c * length, s * length}, {c * length - s * width, s * length + c * width},
                                {-s * width, c * width}};
    return dt_small_part_fits((dt_path){corners, 4}, thickness);
}

/* Longest rectangles that fit: own derivation, two independent numerical searches, good to 0.2 mm. */
START_TEST(longest_rectangles) {
    const double table[][3] = {{3, 10, 59.1}, {3, 20, 54.3}, {3, 25, 50.1}, {3, 30, 43.6},
                               {6, 10, 54.3}, {6, 20, 49.6}, {6, 30, 40.5}};
    const double *row = table[_i];
    for (double turn = 0; turn < 3; turn += 0.7) {
        ck_assert(rectangle_fits(row[1], row[2] - 0.2, row[0], turn));
        ck_assert(!rectangle_fits(row[1], row[2] + 0.2, row[0], turn));
    }
}
END_TEST

/* Upright in the middle of the cylinder: side^2 + thickness^2 = 31.75^2. */
START_TEST(largest_squares) {
    ck_assert(rectangle_fits(31.61 - 0.05, 31.61 - 0.05, 3, 1) && !rectangle_fits(31.61 + 0.05, 31.61 + 0.05, 3, 1));
    ck_assert(rectangle_fits(31.17 - 0.05, 31.17 - 0.05, 6, 1) && !rectangle_fits(31.17 + 0.05, 31.17 + 0.05, 6, 1));
}
END_TEST

static dt_path disc_path(dt_point *points, size_t count, double radius) {
    for (size_t i = 0; i < count; i++) {
        double a = 2 * PI * (double)i / (double)count;
        points[i] = (dt_point){radius * cos(a), radius * sin(a)};
    }
    return (dt_path){points, count};
}

START_TEST(what_needs_no_search) {
    dt_point points[400];
    ck_assert(dt_small_part_fits(disc_path(points, 400, 15.87), 6));   /* lies flat: circle of at most 31.75 mm */
    ck_assert(!dt_small_part_fits(disc_path(points, 400, 15.95), 0.1)); /* wider than 31.75 everywhere */
    ck_assert(!rectangle_fits(0.5, 65.6, 0.1, 0.3));                   /* longer than sqrt(31.75^2 + 57.15^2) = 65.38 */
    ck_assert(rectangle_fits(0.1, 65.1, 0.1, 0.3));
    ck_assert(!rectangle_fits(10, 10, 60, 0));                         /* a block as high as the cylinder is deep */
    const dt_point wedge[] = {{0, 0}, {31, 0}, {31, 55.5}, {0, 24.5}}; /* the cylinder's own upright cut, a little smaller */
    ck_assert(dt_small_part_fits((dt_path){wedge, 4}, 1.0));
    const dt_point mirrored[] = {{0, 0}, {31, 0}, {31, 24.5}, {0, 55.5}};
    ck_assert(dt_small_part_fits((dt_path){mirrored, 4}, 1.0));
}
END_TEST

/* ---- the twin: random poses by the thousand, shift by the exact half planes and a plain grid for the axis ---- */

typedef struct pose {
    double m[3][3];
} pose;

static pose random_rotation(uint64_t *state) {
    double u = draft_random(state), v = 2 * PI * draft_random(state), w = 2 * PI * draft_random(state);
    double x = sqrt(1 - u) * sin(v), y = sqrt(1 - u) * cos(v), z = sqrt(u) * sin(w), r = sqrt(u) * cos(w);
    return (pose){{{1 - 2 * (y * y + z * z), 2 * (x * y - z * r), 2 * (x * z + y * r)},
                   {2 * (x * y + z * r), 1 - 2 * (x * x + z * z), 2 * (y * z - x * r)},
                   {2 * (x * z - y * r), 2 * (y * z + x * r), 1 - 2 * (x * x + y * y)}}};
}

/* Largest amount by which a corner of the prism leaves the body, the axis at (ax, ay) and the lowest corner on the floor. */
static double excess(dt_path outline, double thickness, const pose *q, double ax, double ay) {
    double lowest = INFINITY, roof = -INFINITY, wall = -INFINITY;
    for (size_t i = 0; i < 2 * outline.count; i++) {
        dt_point p = outline.points[i / 2];
        double t = i % 2 ? thickness : 0, c[3];
        for (int k = 0; k < 3; k++) c[k] = q->m[k][0] * p.x + q->m[k][1] * p.y + q->m[k][2] * t;
        lowest = fmin(lowest, c[2]);
        roof = fmax(roof, c[2] - (c[0] - ax));
        wall = fmax(wall, hypot(c[0] - ax, c[1] - ay) - 15.875);
    }
    return fmax(wall, (roof - lowest - 41.275) / sqrt(2.0));
}

/* Random walk over turns and shifts that only takes what is better: finds fitting poses by luck alone. */
static double luck(dt_path outline, double thickness, uint64_t *state) {
    double best = INFINITY;
    for (int round = 0; round < 12; round++) {
        pose q = random_rotation(state);
        double x = 0, y = 0, here = excess(outline, thickness, &q, x, y), size = 1;
        for (int i = 0; i < 3000; i++, size *= 0.9975) {
            pose r = q;
            double angle = size * (draft_random(state) - 0.5) * 2;
            int a = (int)(3 * draft_random(state)), b = (a + 1) % 3;
            for (int k = 0; k < 3; k++) {
                r.m[a][k] = cos(angle) * q.m[a][k] - sin(angle) * q.m[b][k];
                r.m[b][k] = sin(angle) * q.m[a][k] + cos(angle) * q.m[b][k];
            }
            double nx = x + 20 * size * (draft_random(state) - 0.5), ny = y + 20 * size * (draft_random(state) - 0.5);
            double there = excess(outline, thickness, &r, nx, ny);
            if (there >= here) continue;
            q = r, x = nx, y = ny, here = there;
        }
        best = fmin(best, here);
    }
    return best;
}

/* Whatever luck can fit, the search must call a small part. */
START_TEST(nothing_that_luck_can_fit_is_missed) {
    uint64_t state = (uint64_t)_i + 100;
    dt_point corners[6];
    for (int tries = 0; tries < 3; tries++) {
        double length = 40 + 25 * draft_random(&state), width = 10 + 24 * draft_random(&state);
        for (size_t i = 0; i < 6; i++) corners[i] = (dt_point){length * draft_random(&state), width * draft_random(&state)};
        double thickness = 1 + 6 * draft_random(&state);
        dt_path outline = {corners, 6};
        double best = luck(outline, thickness, &state);
        bool fits = dt_small_part_fits(outline, thickness);
        ck_assert_msg(fits || best > 0, "luck fits it by %.3f mm", -best);
        ck_assert_msg(!fits || best < 1.0, "luck misses by %.3f mm what is said to fit", best);
    }
}
END_TEST

Suite *suite_pieces_small_part(void);
Suite *suite_pieces_small_part(void) {
    Suite *suite = suite_create("pieces_small_part");
    TCase *cases = tcase_create("pieces_small_part");
    tcase_add_loop_test(cases, longest_rectangles, 0, 7);
    tcase_add_test(cases, largest_squares);
    tcase_add_test(cases, what_needs_no_search);
    tcase_add_loop_test(cases, nothing_that_luck_can_fit_is_missed, 0, 16);
    suite_add_tcase(suite, cases);
    return suite;
}
