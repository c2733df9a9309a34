// SPDX-License-Identifier: MIT
// What is measured on a photograph: its scale, from two points whose distance is
// known, and lengths and angles with the points they were taken from, so that
// anybody can put the same points on the same picture. Points count in pixels of
// the picture as it is shown upright, to the right and down from its upper left corner.
#ifndef DW_BOOK_PHOTO_H
#define DW_BOOK_PHOTO_H

#include "book/store/record.h"

#include <stdbool.h>

typedef struct {
    DwRecord record;
    int64_t attachment_id;
    double x1, y1, x2, y2;
    double length_mm; // between the two points
    double mm_per_pixel;
    char *reference; // what lies between them: "headshell, 15.0 mm by caliper"
    char *at;
    char *who;
} DwPhotoScale;

typedef enum {
    DW_PHOTO_LENGTH, // from point 1 to point 2, in mm
    DW_PHOTO_ANGLE,  // from the line 1-2 to the line 3-4, in degrees, anticlockwise, -180 to 180
    DW_PHOTO_RAKE,   // at the stylus's tip (1) from the record towards the pivot (3) to the stylus (2), 0 to 180
    DW_PHOTO_FLAT,   // a length too small for mm: a worn flat, in um
    // What is only drawn, on the page and on the papers; its value is how far apart its points are, in px.
    DW_PHOTO_ARROW,  // from point 1, with its head at point 2
    DW_PHOTO_CIRCLE, // about point 1, through point 2
    DW_PHOTO_WORDS,  // its name, written from point 1 to point 2
    // What the papers show of the picture; the last of each holds. Two opposite corners.
    DW_PHOTO_CROP,    // nothing but this
    DW_PHOTO_LIGHTEN, // all of it lighter, so that this place can be made out
} DwPhotoKind;

// What a kind tells of the picture.
typedef enum { DW_PHOTO_TELLS_LENGTH, DW_PHOTO_TELLS_ANGLE, DW_PHOTO_TELLS_RAKE, DW_PHOTO_TELLS_NOTHING } DwPhotoTells;

typedef struct {
    DwRecord record;
    int64_t attachment_id;
    int kind;   // DwPhotoKind
    char *name; // what was measured
    double x1, y1, x2, y2;
    double x3, y3, x4, y4; // as the kind needs them, else NAN
    double mm_per_pixel;   // the scale that held; NAN for an angle
    double value;
    char *unit;
    double uncertainty; // 95 %, in the unit; NAN when not known
    char *remark;
    char *at;
    char *who;
} DwPhotoMeasure;

extern const DwEntity dw_photo_scale_entity;
extern const DwEntity dw_photo_measure_entity;

// Adds an initialised SCALE with its picture, points and length, and works out the
// millimetres a pixel. Points on one place, or no length, are DW_BAD_INPUT.
DwStatus dw_photo_scale_add(DwBook *book, DwPhotoScale *scale, DwMessage *message);
// The scale that was set last on the picture, into an initialised record, which stays
// empty (id 0) when none was.
DwStatus dw_photo_scale_last(DwBook *book, int64_t attachment, DwPhotoScale *scale, DwMessage *message);
// The scale that holds for the picture: the last that was set, else that of a stylus
// image. NAN when it has none.
DwStatus dw_photo_scale_of(DwBook *book, int64_t attachment, double *mm_per_pixel, DwMessage *message);
// Adds an initialised MEASURE with its picture, kind and points, and works out value
// and unit (mm, deg or um). A length on a picture without a scale, points that are missing or make
// no line, and a mark on a picture that carries 60 already, are DW_BAD_INPUT.
DwStatus dw_photo_measure_add(DwBook *book, DwPhotoMeasure *measure, DwMessage *message);
// What is measured by KIND; nothing by one that is drawn or shows the picture otherwise.
DwPhotoTells dw_photo_tells(DwPhotoKind kind);
// Whether nothing is measured by KIND.
bool dw_photo_is_mark(int kind);
// The length or angle that the points of MEASURE make; NAN when they make none.
double dw_photo_measure_value(const DwPhotoMeasure *measure);

#endif
