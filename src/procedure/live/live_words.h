// SPDX-License-Identifier: MIT
// What a live snapshot says in words: clock, speed, way in, age; and what is stated of an input as what
// its meter and its figures are compared with. Of live_session and live_keep only.
#ifndef DW_PROCEDURE_LIVE_WORDS_H
#define DW_PROCEDURE_LIVE_WORDS_H

#include "measure/live/clock_check.h"
#include "procedure/live/live_session.h"

// What CHECK has found of the input's clock, and whether it may be kept for good;
// without IS_DEVICE there is nothing to check.
void dw_live_words_clock(const DwClockCheck *check, bool is_device, DwLiveClock *clock);
// What the way in does to the sound, in a sentence; without text when there is nothing to say. The caller frees what it
// holds with dw_saying_clear().
DwSaying dw_live_words_way_in(const DwSourceOrigin *origin);
// Sets the origin (NULL: of a recording, the tone or a device that is away) and what
// stands between the sound and its figures, the weightiest first, as the remark.
void dw_live_words_origin(const DwSourceOrigin *origin, DwLiveSnapshot *snapshot);
// Makes the figures stale by since_samples_s when the input does not run or nothing comes.
void dw_live_words_age(DwLiveSnapshot *snapshot);
// Makes the figures stale that stood when the device went, AWAY_S ago, until it is measured again.
void dw_live_words_back(DwLiveFigures *figures, double away_s);

// live_settings.c: the limits of the class that INPUTS state, by figure.
DwStatus dw_live_settings_limits(const DwInputs *inputs, DwLiveLimit limit[DW_LIVE_FIGURES], DwMessage *message);
DwLiveMeterSettings dw_live_settings_meter(const DwInputs *inputs, double rate_hz, unsigned channels);

#endif
