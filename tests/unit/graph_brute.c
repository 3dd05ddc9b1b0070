/* Joints, held pieces and interlock against a sampled brute force: a few seeds; the slow suite runs many. */
#include "contest.h"

Suite *suite_graph_brute(void);
Suite *suite_graph_brute(void) {
    return contest_suite("graph_brute", (contest_seeds){.joints = 16, .curves = 8, .cells = 8, .tabs = 24});
}
