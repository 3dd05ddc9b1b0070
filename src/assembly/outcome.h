/* outcome.h - what a filling means: is it the drawn one turned, who lies where. */
#ifndef DOVETELL_ASSEMBLY_OUTCOME_H
#define DOVETELL_ASSEMBLY_OUTCOME_H

#include "assembly/state.h"

/* Where a body in a pose goes under symmetry h of the outline: *body becomes its mirror image where that is another. */
dt_pose dt_image_pose(const dt_problem *problem, uint32_t *body, dt_pose pose, uint32_t symmetry);

/* Where a placement goes under symmetry h of the outline: the body (a mirror image may be another) and its pose. */
dt_pose dt_image_of(const dt_state *state, uint32_t placement, uint32_t symmetry, uint32_t *body);

/* The same for any motion of the whole (of a single region). */
dt_pose dt_turned_image(const dt_state *state, uint32_t placement, dt_pose turn, uint32_t *body);

/* Are the laid placements the drawn assembly, moved by some symmetry of the outline? */
bool dt_is_drawn(dt_state *state);

/* The same, or moved as a whole besides, within the play, where an outline without corners lets it slide. */
bool dt_is_drawn_slid(dt_state *state);

/* Where each tile lies, from its drawn place, under the symmetry that leaves most tiles at home. poses: tile_count. */
void dt_read_poses(dt_state *state, dt_pose *poses);

#endif
