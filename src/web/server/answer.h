// SPDX-License-Identifier: MIT
// What is answered to a request: a value. Whoever answers says what is to be said; how
// that is sent, to a page's script or to a plain form, is one place's (render.c).
//
//     if (status != DW_OK)
//         return dw_answer_trouble(status, &message);
//     return dw_answer_kept(_("Kept."), "/shop");
#ifndef DW_WEB_ANSWER_H
#define DW_WEB_ANSWER_H

#include "base/status.h"
#include "web/server/pairs.h"

#include <stdbool.h>
#include <stdint.h>

// A header of a refusal: the revision that the record has by now, where somebody else changed what came too.
#define DW_NEWER_REVISION "Deckwright-Revision"

typedef enum {
    DW_ANSWER_BYTES,   // a page, a file, words
    DW_ANSWER_GO,      // the browser goes to PLACE
    DW_ANSWER_KEPT,    // something was kept: a page's script is told WORDS, a plain form goes to PLACE
    DW_ANSWER_REFUSED, // it was not done, for the reason WORDS
} DwAnswerKind;

// Start it with {0} or by one of the calls below; dw_answer_clear() frees what it holds.
typedef struct {
    DwAnswerKind kind;
    unsigned status; // HTTP's; 0 is 200
    bool asks;       // a form was not taken yet: the page asks first
    DwPairs headers;
    char *bytes; // NULL: an empty body
    size_t length;
    char *words;
    char *place;      // a page of ours, "/job/12"; of a refusal: where to try again, or NULL
    char *undo, *act; // of what was kept: what undoes it and in which words, "" when nothing does; NULL: not said
    int64_t revision; // of the record that was kept, said with UNDO
    char *session;    // the token of a session that the device is given, or NULL: it keeps its own
    unsigned session_seconds; // it is a paired device's for so long; 0 is until the browser ends
} DwAnswer;

// Frees what it holds; it says nothing then.
void dw_answer_clear(DwAnswer *answer);
// A copy of FROM, which the caller clears.
DwAnswer dw_answer_copy(const DwAnswer *from);

// LENGTH bytes of the media TYPE. Takes ownership of BYTES.
DwAnswer dw_answer_bytes(const char *type, char *bytes, size_t length);
// The same, which the browser may show again for SECONDS without asking: nothing of the book.
DwAnswer dw_answer_bytes_for(const char *type, char *bytes, size_t length, unsigned seconds);
// The same, which the browser may keep but shows again only when the bench has said so: a screen that was handed to a
// customer since then does not show it.
// Reference: RFC 9111, 5.2.2.4 (no-cache); RFC 9110, 8.8.3 (ETag).
DwAnswer dw_answer_bytes_asked(const char *type, char *bytes, size_t length);
// Where what ANSWER brings is what the browser has (KNOWN, its If-None-Match, or ""), nothing is sent again.
// Reference: RFC 9110, 13.1.2 and 15.4.5.
void dw_answer_unchanged(DwAnswer *answer, const char *known);
// The browser is sent to a page of ours, formatted as by printf.
DwAnswer dw_answer_go(const char *format, ...) __attribute__((format(printf, 1, 2)));
DwAnswer dw_answer_kept(const char *words, const char *place);
// Nothing was done, for the reason WORDS; STATUS is HTTP's (400, 404 …).
DwAnswer dw_answer_refusal(unsigned status, const char *words);
// The same with the page at which it can be tried again.
DwAnswer dw_answer_refusal_at(const char *place, unsigned status, const char *words);
// The refusal of a call that failed: 400 for bad input, 500 else.
DwAnswer dw_answer_trouble(DwStatus status, const DwMessage *message);

// Gives the device a session of its own with TOKEN; SECONDS 0 is until the browser ends,
// more is a paired device's.
void dw_answer_session(DwAnswer *answer, const char *token, unsigned seconds);
// Sets a header, in the place of one of that name.
void dw_answer_tell(DwAnswer *answer, const char *name, const char *value);
// Gives the browser a cookie that no script reads and no other site sends. SECONDS 0
// is until the browser ends; SECURE only over TLS.
void dw_answer_cookie(DwAnswer *answer, const char *name, const char *value, unsigned seconds, bool secure);
// Tells the scripts of the page that comes next that the form with the once-only WORD was taken (drafts.js).
void dw_answer_done(DwAnswer *answer, const char *word, bool secure);
// Whether WORD is a form's own: 32 figures of sixteen.
bool dw_answer_is_word(const char *word);

#endif
