// SPDX-License-Identifier: MIT
// What the shop's own jobs found: which causes were confirmed on decks handed over, how often, how often on decks of
// one model, and how often such a deck came back under warranty.
#ifndef DW_BOOK_EXPERIENCE_H
#define DW_BOOK_EXPERIENCE_H

#include "book/store/book.h"

#include <stddef.h>
#include <stdint.h>

typedef struct {
    char *cause;      // as it was written first
    int64_t decks;    // jobs in which it was confirmed
    int64_t of_model; // of these on decks of the same make and model
    int64_t returned; // of these that came back under warranty
} DwExperienceRow;

// On how many of those decks the owner complained so.
typedef struct {
    char *cause, *symptom; // as the finding has them: a complaint a line
    int64_t decks;
    int64_t alone; // of these that had no other confirmed cause
} DwExperienceComplaint;

typedef struct {
    DwExperienceRow *rows; // most first
    size_t count;
    DwExperienceComplaint *complaints; // by cause
    size_t complaint_count;
    int64_t decks, of_model; // jobs with any confirmed cause
    struct {
        int64_t decks, of_model; // of these on decks with an automatic arm, and on changers
    } automatic, changer;
} DwExperience;

// Counts the other jobs that were handed over with a confirmed cause, on decks with the drive of JOB's deck (any drive
// where that is not known, or with JOB 0). Causes are one when their words are, whatever their case. The caller clears
// EXPERIENCE with dw_experience_clear().
DwStatus dw_experience_read(DwBook *book, int64_t job, DwExperience *experience, DwMessage *message);
void dw_experience_clear(DwExperience *experience);

#endif
