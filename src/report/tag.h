/* tag.h - what stands on a tag, apart from how it is drawn. */
#ifndef DOVETELL_REPORT_TAG_H
#define DOVETELL_REPORT_TAG_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

enum { TAG_WIDTH = 600, TAG_HEIGHT = 300 };

typedef struct tag_facts {
    const char *name; /* plain: UTF-8 without controls */
    size_t pieces, whimsies, small_parts, corners;
    double width_mm, height_mm, thickness_mm;
    dt_material material;
    size_t colours;
    dt_picture picture;
    bool two_sided, tell_tale_edge, one_place;
    double points, low_min, high_min;
    dt_band band;
} tag_facts;

/* Phrases, without a full stop. */
void tag_pieces(const tag_facts *f, dt_text *out); /* "61 pieces, 3 whimsies" */
void tag_size(const tag_facts *f, dt_text *out);   /* "210 x 148 mm" */
void tag_sheet(const tag_facts *f, dt_text *out);  /* "3 mm plywood, two-sided" */
void tag_edge(const tag_facts *f, dt_text *out);   /* "easy to spot, 4 corners" */
void tag_face(const tag_facts *f, dt_text *out);   /* "5 colours, no picture" */
void tag_hours(const tag_facts *f, dt_text *out);  /* "2 1/2 to 6 hours" */
extern const char TAG_FOR_WHOM[];                  /* of the hours */
extern const char TAG_ONE_PLACE[];
extern const char TAG_CAUTION[], TAG_CAUTION_LAW[]; /* small parts; where the law stands */

/* The card as an SVG document. */
void tag_svg(const tag_facts *f, dt_text *out);
/* A few plain lines for a listing, each ended. */
void tag_text(const tag_facts *f, dt_text *out);
/* A page that holds the card and, for who cannot see it, the lines. */
void tag_html(const tag_facts *f, dt_text *out);

#endif
