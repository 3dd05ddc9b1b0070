/* node.h - strokes to noded cuts: cuts that meet at their ends only. */
#ifndef DOVETELL_LINES_NODE_H
#define DOVETELL_LINES_NODE_H

#include "net.h"

dt_status dt_node_strokes(dt_strokes strokes, dt_cuts *out);

#endif
