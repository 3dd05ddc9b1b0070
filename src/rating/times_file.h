/* times_file.h - the constants that a file of learnt times may hold, with their ranges. */
#ifndef DOVETELL_RATING_TIMES_FILE_H
#define DOVETELL_RATING_TIMES_FILE_H

#include <dovetell/rating.h>

typedef struct times_field {
    const char *name;
    size_t offset; /* in dt_effort */
    double least, most;
} times_field;

extern const times_field TIMES_FIELDS[];
extern const size_t TIMES_FIELD_COUNT;

double *times_field_in(dt_effort *effort, const times_field *field);

#endif
