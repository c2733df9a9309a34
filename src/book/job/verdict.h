// SPDX-License-Identifier: MIT
// Verdicts: one grade per item, never averaged, and the three that a customer
// reads. The latest verdict on an item stands. An unsafe one keeps the deck in
// the shop until somebody writes down that it leaves unsafe and who was told.
#ifndef DW_BOOK_VERDICT_H
#define DW_BOOK_VERDICT_H

#include "base/sheet.h"
#include "book/job/job.h"

typedef enum {
    DW_ASPECT_USE,         // is it safe to use
    DW_ASPECT_RECORDS,     // is it safe for records
    DW_ASPECT_PERFORMANCE, // does it perform to its class
    DW_ASPECT_APPEARANCE,
    DW_ASPECT_COUNT,
} DwAspect;

typedef struct {
    DwRecord record;
    int64_t job_id;
    char *item;
    int aspect; // DwAspect
    int phase;  // DwPhase
    int grade;  // DwVerdict
    char *evidence;
    char *action;
    char *at;
    char *who;
} DwItemVerdict;

// That a deck leaves although an item is unsafe: whose word, and what was said.
typedef struct {
    DwRecord record;
    int64_t verdict_id;
    char *person; // the owner or whoever was told
    char *words;
    char *at;
    char *who;
} DwAcknowledgement;

// How one aspect stands: the grade of its worst item, and which that is. An
// untested item outranks good and serviceable, and so does one that could not be
// told, for what is not known is never a pass. Nothing at all is "not tested".
typedef struct {
    DwVerdict grade;
    char *item; // "" when there is none
    size_t tested, not_tested;
} DwOverall;

extern const DwEntity dw_verdict_entity;
extern const DwEntity dw_acknowledgement_entity;

// Adds an initialised VERDICT with its job, item, aspect, phase and grade; time
// and author are the book's. An unsafe verdict takes a job that was ready back
// to verifying.
DwStatus dw_verdict_give(DwBook *book, DwItemVerdict *verdict, DwMessage *message);
// The verdicts that stand on JOB, one per item, in the order the items first came.
// The caller frees them with dw_records_clear().
DwStatus dw_verdict_standing(DwBook *book, int64_t job, DwRecords *verdicts, DwMessage *message);
// Writes down that PERSON was told WORDS about every unsafe item that stands.
// No such item, or an empty PERSON or WORDS, is DW_BAD_INPUT.
DwStatus dw_verdict_acknowledge(DwBook *book, int64_t job, const char *person, const char *words, DwMessage *message);
// The overall verdict of each aspect. The caller frees them with dw_verdict_overall_clear().
DwStatus dw_verdict_overall(DwBook *book, int64_t job, DwOverall overall[DW_ASPECT_COUNT], DwMessage *message);
void dw_verdict_overall_clear(DwOverall overall[DW_ASPECT_COUNT]);

#endif
