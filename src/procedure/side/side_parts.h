// SPDX-License-Identifier: MIT
// What is measured on the bands found on a side: a row for each measurement,
// which chooses its bands, hears them and fills its part of the sheet.
#ifndef DW_PROCEDURE_SIDE_PARTS_H
#define DW_PROCEDURE_SIDE_PARTS_H

#include "measure/band/channel_faults.h"
#include "measure/side/side_align.h"
#include "procedure/side/side_windows.h"

// A side whose bands are known.
typedef struct {
    const DwInputs *inputs;
    const DwBandPlan *plan;
    const DwSideAlignment *alignment;
    const DwSideFinder *finder; // that found them
    double rate_hz;
    unsigned recorded_channels;
    unsigned channels; // that a measurement hears: 1 where the wiring leaves no more
    double ratio;      // played over nominal speed
    double speed_rpm;  // nominal
    DwSideWindows *windows;
    DwSheet *sheet;
    unsigned part;         // the number of the part that is being prepared
    unsigned *measured_by; // for each band of the plan a bit for each part that is measured on it
} DwSideWork;

typedef struct {
    const char *key; // what stands in the list of what was not measured
    // Chooses bands and asks for their seconds. *PART stays NULL when there is nothing
    // to measure, which was then said on the sheet. A failure is one of the inputs.
    DwStatus (*prepare)(const DwSideWork *work, void **part, DwMessage *message);
    // Once all was heard: fills SHEET. Status: DW_BAD_INPUT with the reason when nothing could be measured.
    DwStatus (*read)(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message);
    void (*free)(void *part);
} DwSidePart;

extern const DwSidePart dw_side_part_speed;
extern const DwSidePart dw_side_part_channels;
extern const DwSidePart dw_side_part_noise;
extern const DwSidePart dw_side_part_response;
extern const DwSidePart dw_side_part_lowsweep;
extern const DwSidePart dw_side_part_tracking;
extern const DwSidePart dw_side_part_intermod;
// The INDEXth of them, NULL past the last.
const DwSidePart *dw_side_part_at(size_t index);

typedef bool (*DwSideWanted)(const DwBandPlanBand *band);

// Whether the band at INDEX was found whole enough to measure.
bool dw_side_parts_usable(const DwSideWork *work, size_t index);
// The longest usable band that is WANTED, one cut laterally before others; plan->count without one.
size_t dw_side_parts_longest(const DwSideWork *work, DwSideWanted wanted);
// Asks for the seconds of the band at INDEX, MORE_S beyond it on either side (less when negative).
void dw_side_parts_hear(const DwSideWork *work, size_t index, double more_s, const DwSideListener *listener,
                        void *user);
// The same as recorded, wiring faults and all.
void dw_side_parts_hear_raw(const DwSideWork *work, size_t index, const DwSideListener *listener, void *user);
// The part that is being prepared is measured on the band at INDEX.
void dw_side_parts_measure_on(const DwSideWork *work, size_t index);
// Says on the sheet why KEY was not measured: which WANTED bands were not found, or that
// the plan has no band of WHAT.
void dw_side_parts_explain(const DwSideWork *work, const char *key, DwSideWanted wanted, const char *what);
// What a band holds, "20 Hz to 20 kHz". The caller frees it with free().
char *dw_side_parts_content(const DwBandPlanBand *band);

// The faults of the channels that the side's wiring is.
DwChannelFaults dw_side_faults(const DwSideWork *work);
// Tells FAULTS of CHANNEL (0 left), which is far louder than the other where no band is, whether it hums or hisses
// there.
void dw_side_tell_noise(const DwSideWork *work, size_t channel, DwChannelFaults *faults);

// Whether one-sided bands were found, which tell left from right, and with them what is lateral.
bool dw_side_sides_known(const DwSideWork *work);

// Says in the table of bands that what PART (by its number) read, on its OWN sheet, was measured on its bands.
void dw_side_sheet_say_measured(const DwSideWork *work, unsigned part, const DwSheet *own);

// Fills the sheet's own part: counts, the table of bands, what was amiss.
void dw_side_sheet_fill(const DwSideWork *work, const DwSideSegment *segments, double end_s);

#endif
