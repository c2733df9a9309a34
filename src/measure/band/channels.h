// SPDX-License-Identifier: MIT
// Balance, separation, polarity, level and distortion of the two channels from
// one-sided and two-sided tone bands.
#ifndef DW_MEASURE_CHANNELS_H
#define DW_MEASURE_CHANNELS_H

#include "base/sheet.h"
#include "measure/band/channel_faults.h"

typedef struct {
    bool left_first;              // order of the one-sided bands on the record
    double velocity_cm_s;         // peak, per channel, of the one-sided bands; NAN when it is not stated
    double full_scale_mv;         // rms at the cartridge at 1 kHz that reaches full scale; NAN when not stated
    double output_mv;             // rms at 5 cm/s rms by the cartridge's sheet; NAN when not stated
    double crosstalk_db;          // the record's own, below the tone; NAN when it is not stated
    double record_balance_db;     // of the record's own bands, right over left; NAN when it is not known
    double record_balance_off_db; // how well that is known, 95 %; NAN or 0: as well as of any record
    const DwChannelFaults *side;  // of the whole side that these bands are of, by its plan; NULL: of none
} DwChannelsSettings;

// How to detect these bands; TONE_HZ NAN: any from 200 Hz. Rate and channels are
// each recording's own.
DwSynchronousSettings dw_channels_detector(double tone_hz);
// That detector and the rule that suits these bands.
DwBandSet *dw_channels_new_set(double tone_hz);
// Adds readings, table and remarks to SHEET from what was fed to SET.
DwStatus dw_channels_read(DwBandSet *set, const DwNamedBand *named, size_t named_count,
                          const DwChannelsSettings *settings, DwSheet *sheet, DwMessage *message);

#endif
