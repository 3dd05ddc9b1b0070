/* ease.h - lets moved pieces rest where the largest misfit is least.
 *
 * The search lays each piece by least squares, so a knob that is off by a kerf on one side may be made up for by all the others.
 * Whether a group fits is asked of its largest misfit. Pieces that moved by the same motion are a CLUSTER: they were neighbours
 * where they were drawn and are so again, so the cluster may move as one, and only its outer border counts. Eased APART, each piece
 * moves for itself.
 */
#ifndef DOVETELL_ASSEMBLY_EASE_H
#define DOVETELL_ASSEMBLY_EASE_H

#include "assembly/problem.h"

/* poses: per tile, from its drawn place; those that are not the identity are eased, each cluster against all else where it lies
 * then. *misfit: the largest that is left on any border of a cluster, mm. DT_NO_MEMORY. O(rounds x clusters x points). */
dt_status dt_ease(const dt_task *task, bool apart, dt_pose *poses, double *misfit);

#endif
