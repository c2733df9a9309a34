// SPDX-License-Identifier: MIT
// Plays described recordings straight into the measuring object and keeps the sheet.
#ifndef DW_TESTS_SUPPORT_PLAY_H
#define DW_TESTS_SUPPORT_PLAY_H

#include "base/sheet.h"
#include "measure/speed/speed.h"
#include "synth/synth.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// A synth from operands "key=value", NULL last.
static inline DwSynth *play_open(const char *const *operands)
{
    DwInputs *inputs = dw_inputs_new();
    DwMessage message = {""};
    for (; *operands; operands++)
        ck_assert_msg(dw_inputs_set_operand(inputs, *operands, &message) == DW_OK, "%s", message.text);
    DwSynth *synth = NULL;
    ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
    return synth;
}

// Feeds SYNTH in blocks of BLOCK frames to a new measurement, with TONE_HZ stated (NAN: not).
static inline DwSpeed *play_into(DwSynth *synth, double tone_hz, size_t block)
{
    DwSpeedSettings settings = dw_speed_settings(dw_synth_rate(synth), (unsigned)dw_synth_channels(synth));
    settings.tone_hz = tone_hz;
    DwSpeed *speed = dw_speed_new(settings);
    float *samples = calloc(block * 2, sizeof *samples);
    for (size_t got; (got = dw_synth_read(synth, samples, block)) > 0;)
        dw_speed_push(speed, samples, got);
    free(samples);
    dw_speed_finish(speed);
    return speed;
}

static inline DwSheet *play_sheet(const DwSpeed *speed)
{
    DwMessage message = {""};
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    ck_assert_msg(dw_speed_read(speed, sheet, &message) == DW_OK, "%s", message.text);
    return sheet;
}

// The sheet that a recording of OPERANDS gives.
static inline DwSheet *play(const char *const *operands, double tone_hz)
{
    DwSynth *synth = play_open(operands);
    DwSpeed *speed = play_into(synth, tone_hz, 4096);
    DwSheet *sheet = play_sheet(speed);
    dw_speed_free(speed);
    dw_synth_free(synth);
    return sheet;
}

static inline double reading(const DwSheet *sheet, const char *key)
{
    const DwReading *found = dw_sheet_reading(sheet, key);
    ck_assert_msg(found != NULL, "no reading %s", key);
    return found->value;
}

#endif
