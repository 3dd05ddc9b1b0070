/* learn.h - the maker's own times: reading what was learnt. */
#ifndef DOVETELL_LEARN_H
#define DOVETELL_LEARN_H

#include <dovetell/rating.h>

/* Reads a result file of `dovetell learn` over the constants in *effort. DT_CANNOT_READ, DT_BAD_TIMES with a sentence. */
dt_status dt_effort_read(const char *path, dt_effort *effort, dt_error *error);

#endif
