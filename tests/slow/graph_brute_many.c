/* Joints, held pieces and interlock against a sampled brute force: many seeds. */
#include "contest.h"

Suite *suite_graph_brute_many(void);
Suite *suite_graph_brute_many(void) {
    return contest_suite("graph_brute_many", (contest_seeds){.joints = 400, .curves = 300, .cells = 200, .tabs = 400});
}
