// SPDX-License-Identifier: MIT
// The body of a posted form, read as it comes in pieces of any size. Nothing is
// looked at before its end is there, so where a piece ends changes nothing.
//
//     DwBody *body = dw_body_new(content_type, files);
//     dw_body_push(body, bytes, length); // as often as something comes
//     if (dw_body_end(body) == DW_BODY_WHOLE)
//         … dw_body_fields(body) …
//     dw_body_free(body);
#ifndef DW_WEB_BODY_H
#define DW_WEB_BODY_H

#include "web/server/pairs.h"

enum {
    DW_BODY_MOST = 4 << 20,       // bytes of a form without its files
    DW_BODY_MOST_FIELD = 2 << 20, // of one field
};

typedef enum {
    DW_BODY_WHOLE,
    DW_BODY_NO_FORM,   // of another kind than the two of forms
    DW_BODY_NO_MARK,   // it does not say how its parts are told apart
    DW_BODY_TOO_LARGE, // what came after that was let go
    DW_BODY_NO_TEXT,   // dw_body_wrong() names the field
    DW_BODY_TWICE,     // and so does this: a field came twice, of which one would be lost
    DW_BODY_BROKEN,    // it ended too early, or a part has no head
} DwBodyState;

// Where the files of a form go, piece by piece; nothing of them is kept here.
typedef struct {
    // A file named NAME (as it was sent) began in the field FIELD.
    void (*begin)(void *context, const char *field, const char *name);
    void (*more)(void *context, const char *bytes, size_t length);
    void *context;
} DwBodyFiles;

typedef struct DwBody DwBody;

// TYPE is the Content-Type it was sent with, "" without one. The caller frees it
// with dw_body_free(). References: WHATWG URL Standard 5.1 and RFC 7578 (2015).
DwBody *dw_body_new(const char *type, DwBodyFiles files);
void dw_body_free(DwBody *body);

// Nothing more is taken: too large.
void dw_body_stop(DwBody *body);
void dw_body_push(DwBody *body, const char *bytes, size_t length);
// All has come. Asking again gives the same answer.
DwBodyState dw_body_end(DwBody *body);
// The fields in their order, files apart; lines in them end in LF. Valid as long as BODY.
const DwPairs *dw_body_fields(const DwBody *body);
// The field that is no text or came twice, "" when its name is no text. Valid as long as BODY.
const char *dw_body_wrong(const DwBody *body);

#endif
