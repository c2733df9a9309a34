// SPDX-License-Identifier: MIT
// Hum at the mains' harmonics while a tone plays.
#ifndef DW_MEASURE_LIVE_HUM_H
#define DW_MEASURE_LIVE_HUM_H

#include "measure/tone/window.h"

#include <stdbool.h>

enum { DW_LIVE_HUM_LINES = 5 };

typedef struct {
    double frequency_hz; // where it was looked for
    double amplitude;    // peak, of the worse channel
    bool noisy;          // no more than the noise beside it: an upper bound
} DwLiveHumLine;

typedef struct DwLiveHum DwLiveHum;

// Looks for hum of MAINS_HZ [Hz] in samples of RATE_HZ [Hz]. The caller frees it with dw_live_hum_free().
DwLiveHum *dw_live_hum_new(double rate_hz, double mains_hz);
void dw_live_hum_free(DwLiveHum *hum);
// Samples that it looks at.
size_t dw_live_hum_span(void);
// Looks at the last samples of CHANNEL. Returned: false when there are too few.
// Accuracy: a steady line within 0.2 dB where it stands 20 dB over the noise beside it.
bool dw_live_hum_read(DwLiveHum *hum, const DwWindow channel[2], DwLiveHumLine line[DW_LIVE_HUM_LINES]);

#endif
