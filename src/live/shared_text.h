/* shared_text.h - a text that several threads hold: counted, never changed after it was made. */
#ifndef DOVETELL_LIVE_SHARED_TEXT_H
#define DOVETELL_LIVE_SHARED_TEXT_H

#include <dovetell/text.h>

typedef struct shared_text shared_text;

/* Takes over the bytes of *text and leaves it empty; NULL when memory has run out or the text had failed. */
shared_text *shared_text_new(dt_text *text);
shared_text *shared_text_hold(shared_text *shared); /* one more holder; NULL stays NULL */
void shared_text_drop(shared_text *shared);         /* one holder less; the last one frees */
const char *shared_text_bytes(const shared_text *shared);
size_t shared_text_length(const shared_text *shared);

#endif
