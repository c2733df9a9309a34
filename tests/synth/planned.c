// SPDX-License-Identifier: MIT
#include "synth/planned.h"

#include "base/text.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void plan_write(const char *plan, char path[40])
{
    strcpy(path, "/tmp/deckwright-plan-XXXXXX");
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(write(file, plan, strlen(plan)), (ssize_t)strlen(plan));
    close(file);
}

Recording planned_make(const char *plan, const char *operands)
{
    char path[40];
    plan_write(plan, path);
    char *all = dw_text_format("record.plan=%s %s", path, operands);
    Recording recording = recording_make(all);
    free(all);
    unlink(path);
    return recording;
}

const DwRecordSideTruth *planned_truth(const Recording *recording)
{
    return dw_record_side_truth(dw_synth_side(recording->synth));
}

double planned_peak(const Recording *recording, size_t channel, double from_s, double to_s, double frequency_hz)
{
    size_t from = (size_t)round(from_s * recording->rate_hz), to = (size_t)round(to_s * recording->rate_hz);
    ck_assert_uint_le(to, recording->frames);
    double *values = recording_channel(recording, channel);
    double peak = line_peak(values + from, to - from, recording->rate_hz, frequency_hz, NULL);
    free(values);
    return peak;
}

double band_peak(const Recording *recording, size_t channel, size_t band, double margin_s, double frequency_hz)
{
    const DwRecordSideBand *played = &planned_truth(recording)->bands[band];
    return planned_peak(recording, channel, played->start_s + margin_s, played->end_s - margin_s, frequency_hz);
}
