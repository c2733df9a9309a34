// SPDX-License-Identifier: MIT
// intermod: intermodulation from bands of a low and a high tone together.
#include "measure/band/intermod.h"
#include "measure/band/intermod_difference.h"
#include "procedure/input/band_recordings.h"
#include "procedure/input/right_band.h"
#include "procedure/registry/procedures.h"

#include <math.h>

static const char *const quantities[] = {
    "intermod.low", "intermod.high", "record.start", "record.end", "record.name",
    "deck.class",   "deck.name",     "arm.name",     "chain.name", NULL,
};

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    double low_hz = dw_inputs_in(request->inputs, "intermod.low", "Hz"),
           high_hz = dw_inputs_in(request->inputs, "intermod.high", "Hz");
    if (isfinite(low_hz) != isfinite(high_hz))
        return dw_fail(message, DW_BAD_INPUT,
                       "Give both tones of the pair, intermod.low and intermod.high, or neither.");
    bool difference = dw_intermod_difference_fits(low_hz, high_hz);
    if (!difference && high_hz < 4 * low_hz)
        return dw_fail(message, DW_BAD_INPUT,
                       "intermod.high must be four times intermod.low or more, for side tones, or less than twice it "
                       "and 40 Hz apart, for the tone at their difference: between, products meet harmonics.");
    if (!difference && high_hz > DW_INTERMOD_HIGHEST_HZ)
        return dw_fail(message, DW_BAD_INPUT,
                       "intermod.high of a pair far apart can be up to %.0f Hz: a record's side tones are lost above.",
                       (double)DW_INTERMOD_HIGHEST_HZ);
    // A pair close together sounds as one tone that beats.
    unsigned wanted = DW_RIGHT_BAND_TWO_TONES | (difference ? DW_RIGHT_BAND_TONE : 0u);
    DwStatus status = dw_right_band_check(request, "intermod", wanted, message);
    if (status != DW_OK)
        return status;
    DwBandSet *set =
        difference ? dw_intermod_difference_new_set(low_hz, high_hz) : dw_intermod_new_set(low_hz, high_hz);
    status = dw_band_recordings_feed(request, set, sheet, message);
    if (status == DW_OK)
        status = difference ? dw_intermod_difference_read(set, sheet, message) : dw_intermod_read(set, sheet, message);
    dw_band_set_free(set);
    return status;
}

const DwProcedure dw_procedure_intermod = {
    .name = "intermod",
    .title = "Intermodulation",
    .summary = "Measure the intermodulation of 400 Hz or 60 Hz with 4 kHz, or of another pair, near or far.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 4,
    .run = run,
};
