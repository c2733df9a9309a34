// SPDX-License-Identifier: MIT
// Two recordings of the same groove against each other: speed, wow, level and response of the one against the other.
// Feed both, then ask.
#ifndef DW_MEASURE_TWIN_H
#define DW_MEASURE_TWIN_H

#include "base/sheet.h"

#include <stdbool.h>

typedef struct {
    double rate_hz[2]; // of the recordings
    unsigned channels[2];
    double skip_s[2]; // seconds of each before the first sample pushed
    double speed_rpm; // nominal
    // How one channel of each is made of two: by what is heard, or as stated.
    enum { DW_TWIN_HEARD, DW_TWIN_SUM, DW_TWIN_DIFFERENCE } one_of_two[2];
} DwTwinSettings;

typedef struct DwTwin DwTwin;

// The caller frees it with dw_twin_free().
DwTwin *dw_twin_new(DwTwinSettings settings);
void dw_twin_free(DwTwin *twin);
// Takes FRAMES interleaved frames, full scale ±1, of recording WHICH, 0 or 1.
void dw_twin_push(DwTwin *twin, unsigned which, const float *interleaved, size_t frames);
// At the end of both, once: works it all out.
void dw_twin_finish(DwTwin *twin);
// Whether a channel of one recording is reversed against the other in a way that one channel made of two hides: then
// *SETTINGS becomes what both are to be fed by once more, to a new one.
bool dw_twin_asks_again(const DwTwin *twin, DwTwinSettings *settings);
// Adds readings, tables, curves and remarks to SHEET. Recordings that are not of one groove are DW_BAD_INPUT with one
// line that says why.
DwStatus dw_twin_read(const DwTwin *twin, DwSheet *sheet, DwMessage *message);

#endif
