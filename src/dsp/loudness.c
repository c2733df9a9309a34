// SPDX-License-Identifier: MIT
#include "dsp/loudness.h"

#include <ebur128.h>
#include <math.h>

bool dw_loudness_of(const float *interleaved, size_t frames, unsigned channels, double rate_hz, DwLoudness *loudness)
{
    ebur128_state *state =
        ebur128_init(channels, (unsigned long)lround(rate_hz), EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK);
    if (!state)
        return false;
    double peak = 0;
    bool done = ebur128_add_frames_float(state, interleaved, frames) == EBUR128_SUCCESS &&
                ebur128_loudness_global(state, &loudness->lufs) == EBUR128_SUCCESS;
    for (unsigned c = 0; c < channels && done; c++) {
        double own = 0;
        done = ebur128_true_peak(state, c, &own) == EBUR128_SUCCESS;
        peak = fmax(peak, own);
    }
    loudness->peak_db = peak > 0 ? 20 * log10(peak) : -INFINITY;
    ebur128_destroy(&state);
    return done;
}
