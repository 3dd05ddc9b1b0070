/* The server's own pages. Their scripts and style are files of the server, allowed by its policy header; what comes
 * from a draft or the file system is escaped. */
#include "pages.h"

#include <stdlib.h>
#include <string.h>

const unsigned char live_list_script[] = {
#include "live/list.js.inc"
};
const unsigned char live_drop_script[] = {
#include "live/drop.js.inc"
};
const unsigned char live_follow_script[] = {
#include "live/follow.js.inc"
};
const unsigned char live_style[] = {
#include "live/live.css.inc"
};
const size_t live_list_script_length = sizeof live_list_script, live_drop_script_length = sizeof live_drop_script,
             live_follow_script_length = sizeof live_follow_script, live_style_length = sizeof live_style;

void add_address_segment(dt_text *out, const char *name) {
    for (const unsigned char *s = (const unsigned char *)name; *s; s++) {
        bool plain =
            (*s >= 'a' && *s <= 'z') || (*s >= 'A' && *s <= 'Z') || (*s >= '0' && *s <= '9') || strchr("-._~", *s);
        dt_text_addf(out, plain ? "%c" : "%%%02X", *s);
    }
}

void add_version_mark(uint64_t version, dt_text *out) {
    dt_text_addf(out, "<meta name=\"dovetell-version\" content=\"%llu\">\n", (unsigned long long)version);
}

/* Both scripts of a page: what takes drops, and its own. */
static void page_head(const char *title, const char *script, dt_text *out) {
    dt_text_add(out,
                "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
                "content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light "
                "dark\">\n<title>");
    dt_text_add_escaped(out, title);
    dt_text_add(out, " - dovetell</title>\n<link rel=\"stylesheet\" href=\"/live.css\">\n");
    if (script)
        dt_text_addf(out, "<script src=\"/drop.js\" defer></script>\n<script src=\"%s\" defer></script>\n", script);
}

const char *state_name(card_state state) {
    return state == CARD_READY ? "ready" : state == CARD_BROKEN ? "broken" : "waiting";
}

static void add_paragraph(const char *class_name, const char *lead, const char *words, dt_text *out) {
    if (!words[0]) return;
    dt_text_addf(out, "<p class=\"%s\">%s", class_name, lead);
    dt_text_add_escaped(out, words);
    dt_text_add(out, "</p>\n");
}

static void add_card_words(const card_view *view, dt_text *out) {
    const draft_view *draft = &view->draft;
    if (view->state == CARD_WAITING) {
        add_paragraph("line", "", "not looked at yet", out);
    } else if (view->state == CARD_BROKEN) {
        add_paragraph("trouble", draft->page ? "The last save cannot be read; the picture is the one before. " : "",
                      view->reason, out);
    } else {
        add_paragraph("line", "", draft->line, out);
        add_paragraph(draft->ok ? "fine" : draft->wrong ? "trouble" : "unproved", "", draft->remark, out);
    }
}

static void add_card(const card_view *view, dt_text *out) {
    dt_text_addf(out, "<li class=\"%s%s\"><a href=\"/draft/", state_name(view->state), view->busy ? " busy" : "");
    add_address_segment(out, view->name);
    dt_text_add(out, "\">\n<span class=\"picture\">");
    if (view->draft.picture) dt_text_add(out, shared_text_bytes(view->draft.picture));
    dt_text_add(out, "<span class=\"work\">");
    dt_text_add_escaped(out, view->work);
    dt_text_add(out, "</span></span>\n<span class=\"name\">");
    dt_text_add_escaped(out, view->name);
    dt_text_add(out, "</span></a>\n");
    add_card_words(view, out);
    dt_text_add(out, "</li>\n");
}

void page_cards(board *b, dt_text *out) {
    card_view *views = NULL;
    size_t count = board_views(b, &views);
    if (!board_folder_is_there(b)) {
        dt_text_add(out, "<p class=\"empty\">The folder is not there at the moment. Its drafts will be shown as soon "
                         "as it is back.</p>\n");
    } else if (count == 0) {
        dt_text_add(
            out,
            "<p class=\"empty\">There is no draft in the folder yet. Save an SVG file there, or drop one here.</p>\n");
    }
    dt_text_add(out, "<ul class=\"cards\">\n");
    for (size_t i = 0; i < count; i++) {
        add_card(&views[i], out);
        card_view_drop(&views[i]);
    }
    dt_text_add(out, "</ul>\n");
    free(views);
}

void page_list(board *b, const char *folder, dt_text *out) {
    page_head("Drafts", "/list.js", out);
    dt_text_add(out, "</head>\n<body>\n<header><h1>Drafts in ");
    dt_text_add_escaped(out, folder);
    dt_text_add(out, "</h1>\n<p>Each save in your editor shows here by itself. To try a drawing from elsewhere, drop "
                     "it on this page or "
                     "<label class=\"pick\">choose a file<input type=\"file\" id=\"pick\" "
                     "accept=\".svg,.svgz,image/svg+xml\"></label>: it is "
                     "analysed in memory and not stored.</p>\n<p id=\"news\" role=\"status\" "
                     "aria-live=\"polite\"></p></header>\n<main "
                     "id=\"cards\">\n");
    page_cards(b, out);
    dt_text_add(out, "</main>\n<footer>Never leave the laser alone; follow the machine's manual and the material's "
                     "data sheet.</footer>\n"
                     "</body>\n</html>\n");
}

void page_waiting(const card_view *view, dt_text *out) {
    page_head(view->name, "/follow.js", out);
    add_version_mark(view->version, out);
    dt_text_add(out, "</head>\n<body>\n<header><p class=\"name\"></p><h1>");
    dt_text_add_escaped(out, view->name);
    dt_text_add(out, "</h1>\n");
    add_paragraph("news", "", view->state == CARD_BROKEN ? view->reason : "This draft is being looked at.", out);
    dt_text_add(out, "</header>\n</body>\n</html>\n");
}

void page_problem(const char *title, const char *sentence, dt_text *out) {
    page_head(title, NULL, out);
    dt_text_add(out, "</head>\n<body>\n<header><h1>");
    dt_text_add_escaped(out, title);
    dt_text_add(out, "</h1>\n<p>");
    dt_text_add_escaped(out, sentence);
    dt_text_add(out, "</p>\n<p><a href=\"/\">All drafts</a></p></header>\n</body>\n</html>\n");
}
