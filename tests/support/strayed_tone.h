// SPDX-License-Identifier: MIT
// A tone whose speed strays by a law, computed sample by sample, and what is measured of it.
#ifndef DW_TESTS_SUPPORT_STRAYED_TONE_H
#define DW_TESTS_SUPPORT_STRAYED_TONE_H

#include "measure/speed/speed.h"
#include "support/signal.h"

#include <check.h>
#include <math.h>

enum { STRAYED_RATE = 8000 };

typedef struct {
    double tone_hz, hiss; // of full scale; the tone's amplitude is 0.3
    uint64_t random;
    size_t seconds;
    double (*percent)(double second);
    double (*level)(double second); // NULL: 1 throughout
} StrayedTone;

// The sheet of TONE by SETTINGS, for one channel of STRAYED_RATE.
static inline DwSheet *strayed_sheet(StrayedTone tone, DwSpeedSettings settings)
{
    DwSpeed *speed = dw_speed_new(settings);
    DwMessage message = {""};
    static float second[STRAYED_RATE];
    double phase = 0;
    for (size_t s = 0; s < tone.seconds; s++) {
        for (size_t n = 0; n < STRAYED_RATE; n++) {
            double t = (double)s + (double)n / STRAYED_RATE, percent = tone.percent(t);
            double level = tone.level ? tone.level(t) : 1;
            second[n] = (float)(0.3 * level * sin(2 * M_PI * phase) + tone.hiss * signal_random(&tone.random));
            phase = fmod(phase + tone.tone_hz / 100 * (100 + percent) / STRAYED_RATE, 1);
        }
        dw_speed_push(speed, second, STRAYED_RATE);
    }
    dw_speed_finish(speed);
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    ck_assert_msg(dw_speed_read(speed, sheet, &message) == DW_OK, "%s", message.text);
    dw_speed_free(speed);
    return sheet;
}

#endif
