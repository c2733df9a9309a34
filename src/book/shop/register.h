// SPDX-License-Identifier: MIT
// The registers that let a number be defended: test records with their known
// errors and plays, instruments with their checks, and recording chains.
#ifndef DW_BOOK_REGISTER_H
#define DW_BOOK_REGISTER_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    char *name; // by which measurements call it; unique
    char *title;
    char *catalogue_number;
    char *maker;
    char *country;
    int copy; // best kept or working
    int64_t plays;
    double eccentricity_mm;
    double level_error_db;
    double tone_error; // ppm, against the stated frequency
    char *bought_on;
    char *retired_on;
    char *note;
} DwTestRecord;

typedef struct {
    DwRecord record;
    char *name; // unique
    char *kind; // scale, caliper, meter, microscope …
    char *serial;
    double resolution;
    double uncertainty;
    char *unit;
    int64_t check_days; // between checks; 0 for none
    char *retired_on;
    char *note;
} DwInstrument;

typedef struct {
    DwRecord record;
    int64_t instrument_id;
    char *checked_on;
    char *reference; // "check weight 2 g, class M1"
    double expected;
    double found;
    double tolerance; // allowed on either side
    char *unit;
    bool passed; // worked out from the three
    char *who;
    char *note;
} DwInstrumentCheck;

typedef struct {
    DwRecord record;
    char *name; // unique
    char *preamplifier;
    char *interface;
    double gain_db;
    double rate_hz;
    int64_t bits;
    int equalisation;   // after RIAA or before
    double clock_error; // ppm
    char *checked_on;
    char *note;
} DwChain;

extern const DwEntity dw_test_record_entity;
extern const DwEntity dw_instrument_entity;
extern const DwEntity dw_instrument_check_entity;
extern const DwEntity dw_chain_entity;

// Adds an initialised CHECK with instrument, expected, found and tolerance;
// works out whether it passed, and sets the day and author where they are not set.
DwStatus dw_instrument_check(DwBook *book, DwInstrumentCheck *check, DwMessage *message);

// Notes that the clock of CHAIN was found off by ERROR_PPM today.
DwStatus dw_chain_check_clock(DwBook *book, int64_t chain, double error_ppm, DwMessage *message);

// Whether an instrument may be relied on today.
typedef enum {
    DW_CHECK_NOT_NEEDED, // no interval is set
    DW_CHECK_NEVER,
    DW_CHECK_OVERDUE,
    DW_CHECK_FAILED,
    DW_CHECK_VALID,
} DwCheckState;

// The state of INSTRUMENT's last check, and its day ("" when there is none).
DwStatus dw_instrument_state(DwBook *book, int64_t instrument, DwCheckState *state, char checked_on[DW_DATE_SIZE],
                             DwMessage *message);

#endif
