// SPDX-License-Identifier: MIT
#include "procedure/recording.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static DwStatus skip(DwRecording *recording, uint64_t frames, DwMessage *message)
{
    while (recording->at < frames) {
        size_t wanted = frames - recording->at < DW_RECORDING_BLOCK ? (size_t)(frames - recording->at)
                                                                     : (size_t)DW_RECORDING_BLOCK;
        size_t got = 0;
        DwStatus status = dw_source_read(recording->source, recording->block, wanted, &got, NULL, message);
        if (status != DW_OK)
            return status;
        if (got == 0)
            return dw_fail(message, DW_BAD_INPUT, "The recording ends at %.1f s, before record.start.",
                           (double)recording->at / recording->rate_hz);
        recording->at += got;
    }
    return DW_OK;
}

DwStatus dw_recording_open(const char *path, const DwInputs *inputs, DwRecording *recording, DwMessage *message)
{
    *recording = (DwRecording){.end = UINT64_MAX};
    double start = dw_inputs_number(inputs, "record.start"), end = dw_inputs_number(inputs, "record.end");
    if (isfinite(start) && isfinite(end) && end <= start)
        return dw_fail(message, DW_BAD_INPUT, "record.end must lie after record.start.");
    DwStatus status = dw_source_open(path, &recording->source, message);
    if (status != DW_OK)
        return status;
    recording->rate_hz = dw_source_rate_hz(recording->source);
    recording->channels = dw_source_channels(recording->source);
    recording->block = dw_memory_new((size_t)DW_RECORDING_BLOCK * recording->channels, sizeof(float));
    if (recording->rate_hz < 6000)
        status = dw_fail(message, DW_BAD_INPUT, "%s has %g samples a second; record with 8000 or more.", path,
                         recording->rate_hz);
    if (isfinite(end))
        recording->end = (uint64_t)llround(end * recording->rate_hz);
    if (status == DW_OK && isfinite(start)) {
        status = skip(recording, (uint64_t)llround(start * recording->rate_hz), message);
        recording->start_s = (double)recording->at / recording->rate_hz;
    }
    if (status != DW_OK)
        dw_recording_close(recording);
    return status;
}

void dw_recording_close(DwRecording *recording)
{
    dw_source_close(recording->source);
    free(recording->block);
    *recording = (DwRecording){0};
}

DwStatus dw_recording_read(DwRecording *recording, size_t *got, DwMessage *message)
{
    *got = 0;
    if (recording->at >= recording->end)
        return DW_OK;
    uint64_t left = recording->end - recording->at;
    size_t wanted = left < DW_RECORDING_BLOCK ? (size_t)left : (size_t)DW_RECORDING_BLOCK;
    unsigned flags = 0;
    DwStatus status = dw_source_read(recording->source, recording->block, wanted, got, &flags, message);
    recording->at += *got;
    recording->gaps += (flags & DW_SOURCE_GAP) != 0;
    return status;
}

void dw_recording_describe(const DwRecording *recording, const char *path, DwSheet *sheet)
{
    const char *slash = strrchr(path, '/');
    dw_sheet_set_subject(sheet, slash ? slash + 1 : path);
    dw_sheet_remark(sheet, "Recording: %s, %g Hz, %s.", dw_source_format(recording->source), recording->rate_hz,
                    recording->channels == 1 ? "one channel" : "two channels");
    const char *remark = dw_source_remark(recording->source);
    if (*remark)
        dw_sheet_remark(sheet, "%s", remark);
    if (recording->gaps)
        dw_sheet_remark(sheet, "Samples are missing at %zu place%s; record again before trusting fine readings.",
                        recording->gaps, recording->gaps == 1 ? "" : "s");
}
