// SPDX-License-Identifier: MIT
// Files sent to the bench. They are written to the disk as they come, under a
// name of ours in the book's folder, and are gone when their request ends.
#ifndef DW_WEB_UPLOAD_H
#define DW_WEB_UPLOAD_H

#include <sodium.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

enum { DW_UPLOADS_OF_REQUEST = 32 };

typedef struct DwUploads DwUploads;

// Files are kept in FOLDER/incoming. What lies there now is left over from an earlier run.
DwUploads *dw_uploads_new(const char *folder);
// Removes the leftovers, and nothing that came since. Only the bench that has the book may (book/store/hold.h).
void dw_uploads_clear_old(DwUploads *uploads);
void dw_uploads_free(DwUploads *uploads);

typedef struct {
    char *field;
    char *name; // what the device calls it: words only, never a path
    char *path; // ours
    FILE *file;
    uint64_t bytes;
    crypto_generichash_state *hash; // of what came so far
} DwUpload;

// The files of one request. Start it with {0}; dw_upload_end() removes them.
typedef struct {
    DwUpload *files;
    size_t count;
    bool shut;    // what comes next is no file of the list
    bool refused; // one was larger than is taken, one too many, or could not be written
} DwUploadList;

// A file called NAME begins in the form's field FIELD; then it comes in pieces.
void dw_upload_begin(DwUploads *uploads, DwUploadList *list, const char *field, const char *name);
void dw_upload_more(DwUploadList *list, const char *bytes, size_t length);
// What begins is not taken: nothing is kept of it.
void dw_upload_skip(DwUploadList *list);
// The file that came in FIELD, the one at PLACE (from 0) when there are several; NULL
// without one. Valid until the list ends.
const DwUpload *dw_upload_find(DwUploadList *list, const char *field, size_t place);
void dw_upload_end(DwUploads *uploads, DwUploadList *list);

#endif
