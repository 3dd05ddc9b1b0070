/* pages.h - the pages of the server itself: the list of drafts, and what stands in for a draft that has no page yet. */
#ifndef DOVETELL_LIVE_PAGES_H
#define DOVETELL_LIVE_PAGES_H

#include "board.h"

void page_list(board *b, const char *folder, dt_text *out); /* the whole page of the list */
void page_cards(board *b, dt_text *out);                    /* only what changes in it */
void page_waiting(const card_view *view, dt_text *out); /* a draft without a page: why, and it follows the next save */
void page_problem(const char *title, const char *sentence, dt_text *out);

/* Tells the script which version of the draft the page shows. */
void add_version_mark(uint64_t version, dt_text *out);
const char *state_name(card_state state); /* "waiting", "ready", "broken" */

/* A path segment of an address: letters, digits and -._~ as they are, other bytes as %XX (RFC 3986). */
void add_address_segment(dt_text *out, const char *name);

extern const unsigned char live_list_script[], live_drop_script[], live_follow_script[], live_style[];
extern const size_t live_list_script_length, live_drop_script_length, live_follow_script_length, live_style_length;

#endif
