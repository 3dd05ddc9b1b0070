/* board.h - what is known of every draft in the folder, kept up to date by a thread of its own.
 *
 * Vocabulary: the BOARD holds a CARD for each draft. A card is WAITING (not analysed yet), READY, BROKEN (the last save could not be
 * analysed; its page is that of the last good one, if any) . Every change of a card gives it a new, higher version.
 * Invariant: cards are sorted by name; names are those of plain files in the folder itself (no links out of it).
 */
#ifndef DOVETELL_LIVE_BOARD_H
#define DOVETELL_LIVE_BOARD_H

#include "shared_text.h"
#include <dovetell/settings.h>

typedef enum card_state { CARD_WAITING, CARD_READY, CARD_BROKEN } card_state;

/* A view of a card: the holder drops page and picture. */
typedef struct card_view {
    card_state state;
    uint64_t version;
    char name[256];
    char line[480];          /* "60 pieces, steady (57 points), 2 faults", or why it is broken */
    char band[24];
    shared_text *page, *picture;
} card_view;

typedef struct board board;

/* Told of each change by the board's thread, without the board's lock. name is NULL when drafts came or went. */
typedef void board_listener(void *context, const char *name, uint64_t version);

dt_status board_new(const char *folder, const dt_settings *settings, board_listener *listener, void *context, board **out,
                    dt_error *error);
void board_free(board *b); /* stops an analysis that is under way, and waits for the thread */

bool board_folder_is_there(board *b);
/* Copies of all cards' views, sorted by name; the caller drops each and frees the list. */
size_t board_views(board *b, card_view **out);
bool board_view(board *b, const char *name, card_view *out);
void card_view_drop(card_view *view);

/* Analyses a drawing that is in no file: its page, or NULL with the reason in *error. Waits for its turn after a running
 * analysis. */
shared_text *board_try(board *b, const char *name, const void *bytes, size_t count, dt_error *error);

#endif
