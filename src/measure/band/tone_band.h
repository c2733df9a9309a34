// SPDX-License-Identifier: MIT
// Bands of a test record as a synchronous detector hears them: stretches of one
// steady tone at one level in the same channels, and what their blocks average to.
#ifndef DW_MEASURE_TONE_BAND_H
#define DW_MEASURE_TONE_BAND_H

#include "measure/tone/synchronous.h"

// Which way the groove moves, by what the channels carry.
typedef enum {
    DW_BAND_LEFT,     // the left channel at least 6 dB above the right
    DW_BAND_RIGHT,    // the right channel at least 6 dB above the left
    DW_BAND_LATERAL,  // both, in phase
    DW_BAND_VERTICAL, // both, in opposite phase
    DW_BAND_KINDS
} DwBandKind;

typedef struct {
    size_t recording; // 0 is the first
    double start_s, end_s;
    double frequency_hz;
    DwBandKind kind;                  // as found
    double level;                     // median of the stronger channel, peak, full scale 1
    bool clipped, channel_clipped[2]; // any channel; each
    double split_db;
    const DwToneBlock *blocks;
    size_t count;
    const DwComponent *components; // the first is the tone itself
} DwToneBand;

// A mean over a band's blocks.
typedef struct {
    double complex mean;
    double uncertainty; // 95 %, of each of the real and imaginary parts; NAN below four blocks
    size_t count;
} DwToneEstimate;

// The stretches among COUNT blocks at least LEAST_S long, in order of time. A
// change of more than SPLIT_DB, of 2 % in frequency or of the channels ends one.
// Returned: how many; *BANDS is to be freed with free() and points into BLOCKS.
size_t dw_tone_band_find(const DwToneBlock *blocks, size_t count, const DwComponent *components, double split_db,
                         double least_s, DwToneBand **bands);

// CHANNEL's amplitude at COMPONENT over the tone in REFERENCE, complex: the
// phase is counted from REFERENCE's tone, so that blocks add up.
// Returned: the least-squares ratio Σ a·conj(b)/Σ|b|². Its uncertainty is the
// scatter of blocks that share no sample, by Student's t. Blocks that a tick or a
// dropout has spoilt (far from the median) are left out.
DwToneEstimate dw_tone_band_ratio(const DwToneBand *band, size_t channel, size_t component, size_t reference);
// CHANNEL's mean level, peak; *UNCERTAINTY is its 95 % half-width (may be NULL).
double dw_tone_band_level(const DwToneBand *band, size_t channel, double *uncertainty);
// The square of CHANNEL's amplitude at COMPONENT in one block.
double dw_tone_block_power(const DwToneBlock *block, size_t channel, size_t component);
// CHANNEL's mean square at COMPONENT, of a peak value.
double dw_tone_band_power(const DwToneBand *band, size_t channel, size_t component);
// Whether CHANNEL falls silent and comes back among COUNT blocks of one tone, while the other goes on as it was.
bool dw_tone_band_breaks(const DwToneBlock *blocks, size_t count, size_t channel);
const char *dw_tone_band_word(DwBandKind kind);

#endif
