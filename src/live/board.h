/* board.h - what is known of every draft in the folder, kept up to date by threads of its own.
 *
 * Vocabulary: the BOARD holds a CARD for each draft. A card is WAITING (not analysed yet), READY, BROKEN (the last save
 * could not be analysed; its page is that of the last good one, if any). Every change of a card gives it a new, higher
 * version, higher also than any of an earlier run of the program. A DROP is a drawing that is in no file. Invariant:
 * cards are sorted by name; names are those of plain files in the folder itself (no links out of it).
 */
#ifndef DOVETELL_LIVE_BOARD_H
#define DOVETELL_LIVE_BOARD_H

#include "draft_view.h"

typedef enum card_state { CARD_WAITING, CARD_READY, CARD_BROKEN } card_state;

/* A view of a card: the holder drops it. */
typedef struct card_view {
    card_state state;
    bool busy;     /* a newer save is being looked at, or the search for other assemblies goes on */
    char work[64]; /* what is being done with it: "checking the joints, 40 %"; "" = nothing at the moment */
    uint64_t version;
    char name[256];
    draft_view draft; /* of the last good save */
    char reason[480]; /* why it is broken */
} card_view;

typedef struct board board;

/* A card changed; or drafts came or went (name NULL); or the work on a card goes on (work not NULL, the rest is as it
 * was). */
typedef struct board_news {
    const char *name, *work;
    uint64_t version;
} board_news;

/* Told of everything new by the board's threads, without the board's lock. */
typedef void board_listener(void *context, const board_news *news);

dt_status board_new(const char *folder, const dt_settings *settings, board_listener *listener, void *context,
                    board **out, dt_error *error);
/* Stops what is under way, answers every waiting drop, and waits for the threads. Views can still be asked for. */
void board_end(board *b);
void board_free(board *b); /* after board_end */

bool board_folder_is_there(board *b);
/* Copies of all cards' views, sorted by name; the caller drops each and frees the list. */
size_t board_views(board *b, card_view **out);
bool board_view(board *b, const char *name, card_view *out);
void card_view_drop(card_view *view);

/* Told once of a drop's page, or NULL and the reason, by a thread of the board; takes over one hold of the page. */
typedef void drop_listener(void *context, shared_text *page, const dt_error *error);

/* Analyses a drawing that is in no file as soon as it is its turn, before any draft. Takes over the text. false (and
 * nothing is told) when too many are waiting, memory has run out or the board has ended. */
bool board_drop(board *b, const char *name, dt_text *bytes, drop_listener *listener, void *context);

#endif
