/* The laws of tests/unit/rating_drafts.c on hundreds of drafts. */
#define RATING_DRAFT_SEEDS 60
#define RATING_DRAFT_SUITE suite_rating_laws
#define RATING_DRAFT_NAME "rating_laws"
#include "../unit/rating_drafts.c"
