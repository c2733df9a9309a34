// SPDX-License-Identifier: MIT
// Frequency response and crosstalk against frequency, from a sweep or spot
// tones. Feed, then ask: the same object serves a file and live capture.
#ifndef DW_MEASURE_RESPONSE_H
#define DW_MEASURE_RESPONSE_H

#include "base/sheet.h"
#include "physics/loading.h"

// Which channel a band drives; "auto" looks at the two levels.
typedef enum { DW_RESPONSE_AUTO, DW_RESPONSE_LEFT, DW_RESPONSE_RIGHT, DW_RESPONSE_BOTH } DwResponseChannel;

// How the record was cut.
typedef enum {
    DW_RESPONSE_CUT_RIAA,
    DW_RESPONSE_CUT_BASS,      // 318 and 3180 µs only
    DW_RESPONSE_CUT_VELOCITY,  // constant velocity
    DW_RESPONSE_CUT_AMPLITUDE, // constant amplitude
} DwResponseCut;

typedef struct {
    bool equalised; // the recording was made behind replay equalisation
    DwResponseCut cut;
    DwResponseChannel channel;
    double parts;             // smoothing over 1/PARTS of an octave
    double speed_ratio;       // played over nominal: what is heard at F was cut at F over it; 0: nominal
    double inductance_off;    // share of the coil's inductance, 95 %
    const DwLoading *loading; // cartridge and load where they are known, else NULL
} DwResponseSettings;

typedef struct DwResponse DwResponse;

// Copies SETTINGS. The caller frees it with dw_response_free().
DwResponse *dw_response_new(const DwResponseSettings *settings);
void dw_response_free(DwResponse *response);
// Begins a recording: what is pushed from here on has RATE_HZ and 1 or 2 CHANNELS.
// Several recordings of one chain at one gain (a left band, a right band) make one response.
void dw_response_begin(DwResponse *response, double rate_hz, unsigned channels);
// Says that what is pushed next holds no tone outside of these frequencies, which
// spares looking for one there. A recording begins without such a bound.
void dw_response_narrow(DwResponse *response, double low_hz, double high_hz);
// Takes FRAMES interleaved frames.
void dw_response_push(DwResponse *response, const float *interleaved, size_t frames);
// Ends a recording.
void dw_response_end(DwResponse *response);
// Adds curves, table, readings and remarks. No sweep or tones at all, or a
// sample that is not a number, is DW_BAD_INPUT with one line.
DwStatus dw_response_read(const DwResponse *response, DwSheet *sheet, DwMessage *message);

#endif
