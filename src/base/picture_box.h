// SPDX-License-Identifier: MIT
// Strangers' pictures, decoded in a box (box.h) by a program of its own, which answers with their pixels.
#ifndef DW_BASE_PICTURE_BOX_H
#define DW_BASE_PICTURE_BOX_H

#include "base/status.h"

#include <stdbool.h>
#include <stdint.h>

#define DW_PICTURE_PROGRAM "deckwright-picture"

// How it came out.
typedef enum {
    DW_PIXELS_READ,
    DW_PIXELS_UNKNOWN,   // not of a kind that is read
    DW_PIXELS_TOO_LARGE, // more pixels than were asked for at most
    DW_PIXELS_DAMAGED,   // damaged or cut off
    DW_PIXELS_BROKE,     // the box broke down on it, or was ended
} DwPixelsEnd;

// Stood as it was held.
typedef struct {
    int width, height, channels;   // 3, or 4 with how opaque each pixel is
    int whole_width, whole_height; // of the whole picture, before it was made smaller
    uint8_t *bytes;                // rows one after another, without gaps; owned
} DwPixels;

// Whatever may be asked for.
typedef struct {
    bool heic;           // besides JPEG and PNG
    int side_most;       // made smaller where a side has more; 0: left as it is
    int64_t pixels_most; // of the whole picture
} DwPixelsWish;

// Reads the picture at PATH. *END tells how it came out; only with DW_PIXELS_READ there are PIXELS, whose bytes the
// caller frees with free(); with DW_PIXELS_TOO_LARGE their whole size; with DW_PIXELS_BROKE MESSAGE holds why, in words
// that stand inside a sentence. Status: DW_FAILED where the program cannot be started, DW_BAD_INPUT where there is no
// such file.
DwStatus dw_picture_box_read(const char *path, const DwPixelsWish *wish, DwPixels *pixels, DwPixelsEnd *end,
                             DwMessage *message);

// What the program answers first; the bytes follow.
enum { DW_PICTURE_MARK = 0x44575043 };
typedef struct {
    uint32_t mark, end;
    int32_t width, height, channels, whole_width, whole_height;
} DwPictureAnswer;

#endif
