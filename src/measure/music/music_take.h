// SPDX-License-Identifier: MIT
// A recording of music kept as one channel at a low rate, for what has to look at all of it at once. Feed, then ask.
#ifndef DW_MEASURE_MUSIC_TAKE_H
#define DW_MEASURE_MUSIC_TAKE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct DwMusicTake DwMusicTake;

// A recording of RATE_HZ [Hz] and 1 or 2 CHANNELS. The caller frees it with dw_music_take_free().
DwMusicTake *dw_music_take_new(double rate_hz, unsigned channels);
void dw_music_take_free(DwMusicTake *take);
// Takes FRAMES interleaved frames, full scale ±1; what is longer than half an hour is left out.
void dw_music_take_push(DwMusicTake *take, const float *interleaved, size_t frames);
// Before the first sample: takes the difference of the channels (or their sum), whatever the sound says.
void dw_music_take_set_reversed(DwMusicTake *take, bool reversed);
// At the end of the recording.
void dw_music_take_finish(DwMusicTake *take);

// Half the sum of the channels; half their difference where the first sound says that one of them is reversed.
// Valid until the next call on TAKE.
const float *dw_music_take_samples(const DwMusicTake *take);
size_t dw_music_take_count(const DwMusicTake *take);
double dw_music_take_rate_hz(const DwMusicTake *take);
bool dw_music_take_reversed(const DwMusicTake *take);  // the difference was taken
bool dw_music_take_finite(const DwMusicTake *take);    // false: a sample was no number
bool dw_music_take_shortened(const DwMusicTake *take); // some of it was left out

#endif
