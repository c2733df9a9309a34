// SPDX-License-Identifier: MIT
// What `reseat` has gathered from its recordings, and the sheet it makes of it.
#ifndef DW_PROCEDURE_RESEAT_SHEET_H
#define DW_PROCEDURE_RESEAT_SHEET_H

#include "base/sheet.h"
#include "measure/speed/seating.h"

typedef enum {
    DW_RESEAT_MARK,    // of the platter, at a stated time
    DW_RESEAT_LABEL,   // of the record, at a stated time
    DW_RESEAT_CLICK,   // of the platter, heard once a turn
    DW_RESEAT_SCRATCH, // of the record, heard once a turn
    DW_RESEAT_NONE,
} DwReseatReference;

// One recording.
typedef struct {
    DwSeating *seating;
    DwSeatingReading reading;
    DwSeat seat[2]; // as seen by the once- and the twice-per-revolution line
    double angle_deg;
    double radius_mm; // NAN when not stated
    double passes_s;  // when the mark passes; NAN without a reference
    size_t ticks;     // heard, of a click or scratch
} DwReseatPart;

typedef struct {
    DwReseatReference reference;
    DwReseatPart parts[DW_SHARES_SEATS_MOST];
    size_t count, bands;
    double offset_deg; // of the arm, NAN when not stated
    double play_mm;    // of the hole, at each seating
    double stylus_deg; // from the pointer round to the stylus; NAN when not stated
    bool marks_stated; // when the mark passes; else it does as each recording begins
    DwShares shares[2];
    bool misfit;                             // the recordings contradict one another, given their angles
    double angle_fits[DW_SHARES_SEATS_MOST]; // where they would not, with some angles turned the other way; NAN first
    DwShares other_way; // of two recordings, had the record been turned the other way; `possible` where that is
                        // another answer
} DwReseat;

// Looks whether the recordings fit together once the shares are split, and whether they would with
// an angle of the other sign.
void dw_reseat_doubt_angles(DwReseat *reseat);

// Adds readings, table, remarks and what stays open.
void dw_reseat_fill_sheet(const DwReseat *reseat, DwSheet *sheet);

#endif
