/* The tag as a page (tag.h): the card, and the same in words under it for copying into a listing and for screen
 * readers. Nothing from outside, no script. */
#include "report/tag.h"

#include <string.h>

/* Each line a paragraph. Changes the text. */
static void add_paragraphs(dt_text *out, char *lines) {
    for (char *line = lines, *end; (end = strchr(line, '\n')) != NULL; line = end + 1) {
        *end = '\0';
        dt_text_add(out, "<p>");
        dt_text_add_escaped(out, line);
        dt_text_add(out, "</p>\n");
    }
}

void tag_html(const tag_facts *f, dt_text *out) {
    dt_text lines = DT_TEXT_EMPTY;
    tag_text(f, &lines);
    dt_text_add(
        out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
             "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
             "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>");
    dt_text_add_escaped(out, f->name);
    dt_text_add(out, "</title>\n<style>\nbody{margin:1.5rem auto;max-width:600px;padding:0 1rem;font:1rem/1.5 "
                     "sans-serif;color:#20302f;"
                     "background:#fff}\nfigure{margin:0}\nsvg{display:block;width:100%;height:auto}\n"
                     "p{margin:.3rem 0;font-size:.9rem;overflow-wrap:anywhere}\n</style>\n</head>\n<body>\n<figure>\n");
    tag_svg(f, out);
    dt_text_add(out, "<figcaption>\n");
    if (lines.failed) {
        out->failed = true;
    } else {
        add_paragraphs(out, lines.bytes);
    }
    dt_text_add(out, "</figcaption>\n</figure>\n</body>\n</html>\n");
    dt_text_free(&lines);
}
