// SPDX-License-Identifier: MIT
// One request being answered: what was asked, and by whom.
#ifndef DW_WEB_REQUEST_H
#define DW_WEB_REQUEST_H

#include "book/store/book.h"
#include "web/server/answer.h"
#include "base/content.h"

#include <stdint.h>

typedef struct DwIncoming DwIncoming;
typedef struct DwServer DwServer;
typedef struct DwSite DwSite;

typedef struct {
    DwServer *server;
    const DwSite *site;
    DwBook *book; // lent for this request, or NULL; its actor is the person or the device
    DwIncoming *incoming;
    const char *path;              // the path that was asked for
    char device[80];               // its name for the journal
    char token[65];                // the session's, "" without one
    bool new_token;                // it was drawn for this request
    char form_token[65];           // what a form must bring back (access.h)
    bool known;                    // has shown who it is, or sits at this computer
    bool local;                    // sits at this computer
    int64_t device_id;             // of a paired device in the book, else 0
    bool secure;                   // it came by TLS
    bool large_type;               // the bench theme
    bool locked;                   // to one page, for a customer's eyes
    struct DwPeople *people;       // who works in the shop (book/shop/people.h)
    const struct DwPerson *person; // who of them is at work on this device, or NULL (person.h)
} DwWebRequest;

// A part of the path ("number" of "/job/:number"), a value after '?' or a field
// of a posted form; "" when it was not sent. UTF-8. Valid while the request lasts.
const char *dw_request_path(const DwWebRequest *request, const char *name);
const char *dw_request_query(const DwWebRequest *request, const char *name);
const char *dw_request_field(const DwWebRequest *request, const char *name);
bool dw_request_sent(const DwWebRequest *request, const char *name); // a field, were it empty
// A part of the path, or a value after '?', that is a whole number above 0, else 0.
int64_t dw_request_id(const DwWebRequest *request, const char *name);
// The fields of a posted form one after another; false past the last.
bool dw_request_field_at(const DwWebRequest *request, size_t index, const char **name, const char **value);
// A header's value, "" without it.
const char *dw_request_header(const DwWebRequest *request, const char *name);

// A file of a posted form, kept on the disk until the request ends. Instead of bringing it the form may name one that
// came in pieces before (arriving.c): NAME.sent is its key, NAME.name what the device calls it, NAME.bytes its length.
typedef struct {
    const char *path; // ours
    const char *name; // what the device calls it: words only, never a path
    size_t bytes;
} DwSentFile;
// False when no file came in the field NAME.
bool dw_request_file(const DwWebRequest *request, const char *name, DwSentFile *file);
// The files of a field that takes several, one after another; false past the last.
bool dw_request_file_at(const DwWebRequest *request, const char *name, size_t index, DwSentFile *file);
// What came in pieces before in the field NAME is kept elsewhere now: it goes with the request.
void dw_request_file_taken(const DwWebRequest *request, const char *name);
// The same, told by its content, which must be one of KINDS (DwContentKind, or-ed).
// False when there is none or it is another: REFUSAL says so.
bool dw_request_file_of(const DwWebRequest *request, const char *name, unsigned kinds, DwSentFile *file,
                        const DwContent **content, DwAnswer *refusal);

// Whether a page's script asks, which wants words and no page.
bool dw_request_by_script(const DwWebRequest *request);
// The whole of the file at PATH, to be sent; NULL when it cannot be read. The caller frees it with free().
char *dw_request_read(const char *path, size_t *length);
// WORDS of the program as whoever asks may read them: to a device every path of this
// computer is "…". The caller frees them with free().
char *dw_veil(const DwWebRequest *request, const char *words);

#endif
