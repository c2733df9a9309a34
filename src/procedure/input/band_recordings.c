// SPDX-License-Identifier: MIT
#include "procedure/input/band_recordings.h"

#include "base/text.h"
#include "procedure/input/recording.h"

#include <string.h>

static DwStatus feed_one(const char *path, const DwInputs *inputs, DwBandSet *set, DwSheet *sheet, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    dw_band_set_begin(set, recording.rate_hz, recording.channels, recording.start_s);
    for (size_t got = 1; got > 0;) {
        status = dw_recording_read(&recording, &got, message);
        if (status != DW_OK)
            break;
        if (got > 0)
            dw_band_set_push(set, recording.block, got);
    }
    dw_band_set_end(set);
    if (status == DW_OK)
        dw_recording_describe(&recording, path, sheet);
    dw_recording_close(&recording);
    return status;
}

DwStatus dw_band_recordings_feed(const DwRequest *request, DwBandSet *set, DwSheet *sheet, DwMessage *message)
{
    DwText names = {0};
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++) {
        status = feed_one(request->recordings[i], request->inputs, set, sheet, message);
        dw_text_add(&names, "%s%s", i ? ", " : "", sheet->subject);
    }
    if (status == DW_OK)
        dw_sheet_set_subject(sheet, names.chars);
    dw_text_clear(&names);
    return status;
}

DwStatus dw_band_recordings_named(const DwRequest *request, DwNamedBand named[DW_BAND_KINDS], size_t *count,
                                  DwMessage *message)
{
    static const char *const keys[DW_BAND_KINDS] = {"channels.left", "channels.right", "channels.both",
                                                    "channels.vertical"};
    *count = 0;
    for (size_t role = 0; role < DW_BAND_KINDS; role++) {
        double from, to;
        if (!dw_inputs_pair_in(request->inputs, keys[role], 0, "s", "s", &from, &to))
            continue;
        if (request->recording_count > 1)
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: seconds can only be given with one recording. Give one, or one file for each band in "
                           "the order left, right, both.",
                           keys[role]);
        if (to <= from)
            return dw_fail(message, DW_BAD_INPUT, "%s: %g s is not after %g s. Give it as %s=FROM:TO.", keys[role], to,
                           from, keys[role]);
        named[(*count)++] = (DwNamedBand){.role = (DwBandKind)role, .from_s = from, .to_s = to};
    }
    return DW_OK;
}
