// SPDX-License-Identifier: MIT
// What the pages about photographs share.
#ifndef DW_WEB_PHOTO_H
#define DW_WEB_PHOTO_H

#include "book/job/job.h"
#include "book/store/attachment.h"
#include "web/page/page.h"
#include "web/photo/pictures.h"
#include "web/server/request.h"

// The picture whose number stands in the path as ":id", into ATTACHMENT, which is
// initialised here. False when there is none: REFUSAL says so. Clear it with
// dw_record_clear() either way.
bool dw_photo_find(const DwWebRequest *request, DwAttachment *attachment, DwAnswer *refusal);
// "Main bearing, as received", or "Photograph, during the work". The caller frees it with free().
char *dw_photo_words(const DwBook *book, const DwAttachment *attachment);
// Where the picture is in SIZE; another turn is another address. The caller frees it with free().
char *dw_photo_path(const DwAttachment *attachment, DwPicturesSize size);
// The picture as an <img>.
void dw_photo_show(DwPage *page, const DwAttachment *attachment, DwPicturesSize size);
// A choice among the words of the attachment's field KEY, of which CHOSEN stands.
void dw_photo_choice(DwPage *page, const char *key, const char *label, int chosen, const char *help);
// Goes back to the photographs of the job, or to the board without one.
DwAnswer dw_photo_leave(const DwWebRequest *request, int64_t job, const char *words);

// What turns a picture WIDTH by HEIGHT pixels large as TURN says, as an SVG transform. The caller frees it with free().
char *dw_photo_turn(int width, int height, int turn);

// The part of the page of JOB's photographs that takes a picture out of one of its films; nothing where ALL, what is
// attached to it, has none.
void dw_photo_frame_write(DwPage *page, const DwJob *job, const DwRecords *all);
// The part of a photograph's page that measures on it, of a picture WIDTH by HEIGHT pixels
// before its turn.
void dw_photo_measure_write(DwPage *page, const DwAttachment *attachment, int width, int height);

#endif
