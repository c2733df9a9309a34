// SPDX-License-Identifier: MIT
// Planned sides for tests: a plan's text, written, played and taken away again.
#ifndef DW_TESTS_SYNTH_PLANNED_H
#define DW_TESTS_SYNTH_PLANNED_H

#include "synth/recording.h"

// The head of a plan whose bands follow one another with gaps of 0.5 s.
#define RECORD "[record]\nname = Trial\nspeed = 33 1/3 rpm\nreference = 5 cm/s\nlead_in = 1 s\ngap = 0.5 s\n"

// Writes PLAN to a file of its own; the caller unlinks it.
void plan_write(const char *plan, char path[40]);
// The recording of PLAN with OPERANDS beside it; stops the test when refused.
Recording planned_make(const char *plan, const char *operands);
const DwRecordSideTruth *planned_truth(const Recording *recording);
// Peak of FREQUENCY_HZ in CHANNEL between two moments of a band, by line_peak.
double planned_peak(const Recording *recording, size_t channel, double from_s, double to_s, double frequency_hz);
// The same over the whole of a band but for MARGIN_S at each end.
double band_peak(const Recording *recording, size_t channel, size_t band, double margin_s, double frequency_hz);

#endif
