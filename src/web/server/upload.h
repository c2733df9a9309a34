// SPDX-License-Identifier: MIT
// Files sent to the bench. They are written to the disk as they come, under a
// name of ours in the book's folder, and are gone when their visit ends.
#ifndef DW_WEB_UPLOAD_H
#define DW_WEB_UPLOAD_H

#include "web/server/visit.h"

typedef struct DwUploads DwUploads;
struct _u_request;

// Files are kept in FOLDER/incoming. What lies there now is left over from an earlier run.
DwUploads *dw_uploads_new(const char *folder);
// Removes the leftovers, and nothing that came since. Only the bench that has the book may (book/store/hold.h).
void dw_uploads_clear_old(DwUploads *uploads);
void dw_uploads_free(DwUploads *uploads);

// Ulfius's file callback; CLS is the server.
int dw_uploads_take(const struct _u_request *request, const char *key, const char *file_name, const char *content_type,
                    const char *transfer_encoding, const char *data, uint64_t offset, size_t size, void *cls);

// The file that came in the field KEY of REQUEST, the one at PLACE (from 0) when there are
// several; false without one.
bool dw_uploads_find(DwUploads *uploads, const struct _u_request *request, const char *key, size_t place,
                     DwVisitFile *file);
// Whether a file of REQUEST was larger than is taken, one too many, or could not be written.
bool dw_uploads_refused(DwUploads *uploads, const struct _u_request *request);
// Removes the files of REQUEST.
void dw_uploads_end(DwUploads *uploads, const struct _u_request *request);

#endif
