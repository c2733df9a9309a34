// SPDX-License-Identifier: MIT
// What a file is, told by its first bytes. Its name, and the type that a device
// sends with it, are words and count for nothing.
#ifndef DW_BASE_CONTENT_H
#define DW_BASE_CONTENT_H

#include <stdbool.h>
#include <stddef.h>

typedef enum {
    DW_CONTENT_PICTURE = 1 << 0,
    DW_CONTENT_SOUND = 1 << 1,
    DW_CONTENT_DOCUMENT = 1 << 2,
} DwContentKind;

typedef struct {
    const char *name;   // "JPEG"
    const char *media;  // "image/jpeg", what it is sent out as
    const char *ending; // ".jpg"
    DwContentKind kind;
    bool may_be_film; // beside its sound: a film and sound alone begin alike
} DwContent;

// Enough of a file's beginning to tell it by.
enum { DW_CONTENT_BYTES = 64 };

// What the file that begins with LENGTH bytes at BYTES is; NULL when it is none
// of the kinds the bench takes. Valid for ever.
const DwContent *dw_content_of(const void *bytes, size_t length);
// The same of the file at PATH; NULL too when it cannot be read.
const DwContent *dw_content_of_file(const char *path);

#endif
