// SPDX-License-Identifier: MIT
// The book's photographs as browsers are given them: stood upright, made smaller,
// without what else their files tell. Those asked for last are kept in memory, and
// nowhere else: a photograph that is erased leaves no copy on the disk.
#ifndef DW_WEB_PICTURES_H
#define DW_WEB_PICTURES_H

#include "book/store/attachment.h"
#include "report/picture.h"

typedef struct DwPictures DwPictures;

typedef enum {
    DW_PICTURES_SMALL, // in a list
    DW_PICTURES_LARGE, // on a page of its own
    DW_PICTURES_WHOLE, // to measure on
    DW_PICTURES_SIZES,
} DwPicturesSize;

// Small pictures kept for the pages that show them. The caller frees them with dw_pictures_free().
DwPictures *dw_pictures_new(void);
void dw_pictures_free(DwPictures *pictures);

// ATTACHMENT in SIZE. A file that is no picture, or not whole, is DW_BAD_INPUT. The
// caller frees copy->bytes with free().
DwStatus dw_pictures_get(DwPictures *pictures, const DwBook *book, const DwAttachment *attachment, DwPicturesSize size,
                         DwPictureCopy *copy, DwMessage *message);

#endif
