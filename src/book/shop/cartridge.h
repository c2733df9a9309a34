// SPDX-License-Identifier: MIT
// A cartridge and the styli it has had, with their hours.
#ifndef DW_BOOK_CARTRIDGE_H
#define DW_BOOK_CARTRIDGE_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t deck_id; // 0 when it is on no deck
    char *make;
    char *model;
    char *serial;
    int kind;
    double force_low_mn; // the maker's range
    double force_high_mn;
    char *note;
} DwCartridge;

typedef struct {
    DwRecord record;
    int64_t cartridge_id;
    char *model;
    char *profile;
    int origin;
    char *bought_on;
    char *fitted_on;
    char *removed_on;
    double hours; // played, as known
    double rated_hours;
    int hours_from; // how well the hours are known
    bool guard_present;
    int grade; // DwVerdict
    char *inspected_on;
    char *next_due_on;
    char *note;
} DwStylus;

extern const DwEntity dw_cartridge_entity;
extern const DwEntity dw_stylus_entity;

// Adds HOURS (positive) played to the stylus.
DwStatus dw_stylus_play(DwBook *book, int64_t stylus, double hours, DwMessage *message);

#endif
