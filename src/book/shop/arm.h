// SPDX-License-Identifier: MIT
// An arm, on the deck it is mounted on.
#ifndef DW_BOOK_ARM_H
#define DW_BOOK_ARM_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t deck_id; // 0 when it is on no deck
    char *make;
    char *model;
    char *serial;
    double pivot_to_spindle_mm; // as built
    double effective_length_mm;
    int headshell;
    char *counterweights;
    char *anti_skate;
    char *cables;
    char *bearing_rule; // play and friction as this model wants them, with who says so
    char *note;
} DwDeckArm;

extern const DwEntity dw_arm_entity;

#endif
