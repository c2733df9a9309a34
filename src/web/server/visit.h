// SPDX-License-Identifier: MIT
// One request being answered: what was asked, and by whom.
#ifndef DW_WEB_VISIT_H
#define DW_WEB_VISIT_H

#include "book/store/book.h"
#include "web/server/answer.h"
#include "web/server/content.h"

#include <stdint.h>

typedef struct DwWebRequest DwWebRequest;
typedef struct DwServer DwServer;
typedef struct DwSite DwSite;
typedef struct DwHtml DwHtml;

typedef struct {
    DwServer *server;
    const DwSite *site;
    DwBook *book; // lent for this visit; its actor is the device's name
    DwWebRequest *request;
    const char *page;       // the path that was asked for
    char device[80];        // its name for the journal
    char token[65];         // the session's, "" without one
    bool new_token;         // the device is given the token with the answer
    unsigned token_seconds; // it keeps it for; 0 is until the browser ends
    char seal[65];          // what a form must bring back (access.h)
    char once[33];          // what makes each act of this page's forms one (once.h); "" until a form is written
    bool known;             // has shown who it is, or sits at this computer
    bool local;             // sits at this computer
    int64_t device_id;      // of a paired device in the book, else 0
    bool secure;            // it came by TLS
    bool large_type;        // the bench theme
    DwHtml *html;           // of the page being written, or NULL
    unsigned fields;        // in it so far, for their ids
    unsigned status;        // the page's
} DwVisit;

// A part of the path ("number" of "/job/:number"), a value after '?' or a field
// of a posted form; "" when it was not sent. UTF-8. Valid while the visit lasts.
const char *dw_visit_path(const DwVisit *visit, const char *name);
const char *dw_visit_query(const DwVisit *visit, const char *name);
const char *dw_visit_field(const DwVisit *visit, const char *name);
bool dw_visit_sent(const DwVisit *visit, const char *name); // a field, were it empty
// A part of the path, or a value after '?', that is a whole number above 0, else 0.
int64_t dw_visit_id(const DwVisit *visit, const char *name);
// The fields of a posted form one after another; false past the last.
bool dw_visit_field_at(const DwVisit *visit, size_t index, const char **name, const char **value);
// A header's value, "" without it.
const char *dw_visit_header(const DwVisit *visit, const char *name);

// A file of a posted form, kept on the disk until the visit ends.
typedef struct {
    const char *path; // ours
    const char *name; // what the device calls it: words only, never a path
    size_t bytes;
} DwVisitFile;
// False when no file came in the field NAME.
bool dw_visit_file(const DwVisit *visit, const char *name, DwVisitFile *file);
// The files of a field that takes several, one after another; false past the last.
bool dw_visit_file_at(const DwVisit *visit, const char *name, size_t index, DwVisitFile *file);
// The same, told by its content, which must be one of KINDS (DwContentKind, or-ed).
// False when there is none or it is another: REFUSAL says so.
bool dw_visit_file_of(DwVisit *visit, const char *name, unsigned kinds, DwVisitFile *file, const DwContent **content,
                      DwAnswer *refusal);

// Gives the book back before the visit is answered, which may take long. There is none in it from then on.
void dw_visit_give_back(DwVisit *visit);
// Whether a page's script asks, which wants words and no page.
bool dw_visit_by_script(const DwVisit *visit);
// The whole of the file at PATH, to be sent; NULL when it cannot be read. The caller frees it with free().
char *dw_visit_read(const char *path, size_t *length);
// WORDS of the program as whoever asks may read them: to a device every path of this
// computer is "…". The caller frees them with free().
char *dw_veil(const DwVisit *visit, const char *words);

#endif
