/* outcome.h - what a filling means: is it the drawn one turned, how much does it count, who lies where.
 *
 * With the turns and mirror images of the outline fixed by ranks (search.c) a filling F is found once for each symmetry h whose image of
 * F has the least rank. With g symmetries, of which s carry F onto itself and t give the least rank, the g/s images of F are found
 * t/s times in all: so each find counts g/t fillings and s/t distinct ones (orbit counting).
 */
#ifndef DOVETELL_ASSEMBLY_OUTCOME_H
#define DOVETELL_ASSEMBLY_OUTCOME_H

#include "assembly/state.h"

/* The image of a placement under symmetry h, if such a placement is known; else DT_NONE. */
uint32_t dt_image_of(const dt_state *state, uint32_t placement, uint32_t symmetry);

/* The same for any motion of the whole (of a single region). */
uint32_t dt_turned_image(const dt_state *state, uint32_t placement, dt_pose turn);

/* Are the laid placements the drawn assembly, moved by some symmetry of the outline? */
bool dt_is_drawn(dt_state *state);

/* Where each tile lies, from its drawn place, under the symmetry that leaves most tiles at home. poses: tile_count. */
void dt_read_poses(dt_state *state, dt_pose *poses);

#endif
