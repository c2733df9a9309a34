// SPDX-License-Identifier: MIT
// The pickup's tilt from one-sided tone bands, and which way to turn it.
#ifndef DW_MEASURE_AZIMUTH_BANDS_H
#define DW_MEASURE_AZIMUTH_BANDS_H

#include "base/sheet.h"
#include "measure/band/channel_faults.h"

typedef struct {
    bool left_first;             // order of the one-sided bands on the record
    double limit_deg;            // never advise a tilt beyond it
    double width_mm;             // of the cartridge's seat in the headshell; NAN when it is not stated
    const double *tilt_deg;      // of each recording, clockwise seen from the front
    size_t tilt_count;           // 0: one set of bands
    const DwChannelFaults *side; // of the whole side that the bands are of; NULL: of none
    double crosstalk_db;         // the record's own, below the tone; NAN when it is not stated
} DwAzimuthSettings;

// Adds readings, table and remarks to SHEET from what was fed to SET
// (dw_channels_new_set makes one).
DwStatus dw_azimuth_bands_read(DwBandSet *set, const DwNamedBand *named, size_t named_count,
                               const DwAzimuthSettings *settings, DwSheet *sheet, DwMessage *message);

#endif
