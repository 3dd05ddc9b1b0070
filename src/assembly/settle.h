/* settle.h - lays a body against others so that their lines fall together as well as they can. */
#ifndef DOVETELL_ASSEMBLY_SETTLE_H
#define DOVETELL_ASSEMBLY_SETTLE_H

#include "assembly/body.h"

/* A body in its place; poses here are never flipped (a piece turned over is a body of its own). */
typedef struct dt_laid {
    const dt_body *body;
    dt_pose pose;
} dt_laid;

typedef struct dt_settling {
    const dt_body *body;      /* that is laid; asked only where there are normals */
    const dt_point *points;   /* of the body that is laid, in its own axes */
    const dt_point *normals;  /* into the solid, or NULL: then points count whichever way the line runs that they lie on */
    size_t point_count;
    const dt_laid *others;
    size_t other_count;
    double contact_mm;        /* points farther than this from all others' lines do not count */
    bool anchored;            /* hold `from` (own axes) near `to`: decides what the lines leave open */
    dt_point from, to;
    double hold;              /* share of each point's weight that holds the pose where it was: what short lines with errors leave all but open
                                 is not decided by the errors */
    bool roughly;             /* a first look: it ends where a step moves the body by less than a micrometre */
} dt_settling;

/* Moves *pose to where the points lie on the others' lines, by least squares of their depths (Gauss-Newton with a little damping,
 * so that a motion the lines leave open is not made). Gives the largest |depth| among the points in contact at the end, or INFINITY
 * when none is. O(rounds x points x others). */
double dt_settle(const dt_settling *s, dt_pose *pose);

/* A point of a body's outline with its normal into the solid, in the axes of the body. */
typedef struct dt_probe {
    dt_point at, normal;
} dt_probe;

/* Does a body's line run along the other's, solid against solid, where the probe found `hit` in the other? Their normals are
 * opposite within about 15 degrees; but two straight lines that part by more than twice `contact` over the shorter of them only
 * cross there, as the lines of a sharp corner do. */
bool dt_runs_along(dt_laid own, dt_probe probe, const dt_body *other, const dt_depth *hit, double contact);

/* The depth of point p of the plane in a laid body. */
dt_depth dt_laid_depth(dt_laid laid, dt_point p);

#endif
