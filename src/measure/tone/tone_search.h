// SPDX-License-Identifier: MIT
// Looks for the beginning of a steady tone in a stream of short frames.
#ifndef DW_MEASURE_TONE_SEARCH_H
#define DW_MEASURE_TONE_SEARCH_H

#include <stdbool.h>
#include <stddef.h>

typedef struct DwToneSearch DwToneSearch;

// Frames of dw_tone_search_frame() samples at RATE_HZ, half overlapping.
DwToneSearch *dw_tone_search_new(double rate_hz);
void dw_tone_search_free(DwToneSearch *search);
// Forgets the frames seen, for a search that begins elsewhere.
void dw_tone_search_reset(DwToneSearch *search);
size_t dw_tone_search_frame(const DwToneSearch *search);
size_t dw_tone_search_hop(const DwToneSearch *search);
// How many hops before the last frame's start the tone must have begun when
// the search says yes.
size_t dw_tone_search_hops_back(void);

// Takes the next frame of up to two channels (RIGHT may be NULL). Returned:
// whether the last frames hold one tone, steady within 8 %, that carries more
// than half of the power from 150 Hz up; its mean frequency is then written.
bool dw_tone_search_push(DwToneSearch *search, const float *left, const float *right, double *frequency_hz);

#endif
