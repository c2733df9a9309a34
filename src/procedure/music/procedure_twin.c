// SPDX-License-Identifier: MIT
// twin: two recordings of the same groove, or of the record and a copy of the same performance, against each other.
#include "base/text.h"
#include "measure/music/twin.h"
#include "procedure/input/recording.h"
#include "procedure/input/tone_settings.h"
#include "procedure/registry/procedures.h"

#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "deck.speed", "record.start", "record.end", "record.name", "deck.class", "deck.name", "chain.name", NULL,
};

typedef struct {
    DwTwin *twin;
    unsigned which;
} Feed;

static void push(void *user, const float *interleaved, size_t frames)
{
    const Feed *feed = user;
    dw_twin_push(feed->twin, feed->which, interleaved, frames);
}

static void name_subject(const DwRequest *request, DwSheet *sheet)
{
    const char *first = strrchr(request->recordings[0], '/'), *second = strrchr(request->recordings[1], '/');
    char *subject = dw_text_format("%s against %s", first ? first + 1 : request->recordings[0],
                                   second ? second + 1 : request->recordings[1]);
    dw_sheet_set_subject(sheet, subject);
    free(subject);
}

static DwStatus play(const DwRequest *request, DwRecording recording[2], DwTwin *twin, DwSheet *sheet,
                     DwMessage *message)
{
    for (unsigned i = 0; i < 2; i++) {
        Feed feed = {twin, i};
        DwStatus status = dw_recording_play(&recording[i], push, &feed, message);
        if (status != DW_OK)
            return status;
    }
    dw_twin_finish(twin);
    DwStatus status = dw_twin_read(twin, sheet, message);
    for (unsigned i = 0; status == DW_OK && i < 2; i++)
        dw_recording_describe(&recording[i], request->recordings[i], sheet);
    if (status == DW_OK)
        name_subject(request, sheet);
    return status;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwRecording recording[2];
    DwTwinSettings settings = {.speed_rpm = dw_nominal_speed(request->inputs)};
    DwStatus status = dw_recording_open(request->recordings[0], request->inputs, &recording[0], message);
    if (status != DW_OK)
        return status;
    status = dw_recording_open(request->recordings[1], request->inputs, &recording[1], message);
    if (status != DW_OK) {
        dw_recording_close(&recording[0]);
        return status;
    }
    for (unsigned i = 0; i < 2; i++) {
        settings.rate_hz[i] = recording[i].rate_hz;
        settings.channels[i] = recording[i].channels;
        settings.skip_s[i] = recording[i].start_s;
    }
    DwTwin *twin = dw_twin_new(settings);
    status = play(request, recording, twin, sheet, message);
    dw_twin_free(twin);
    dw_recording_close(&recording[0]);
    dw_recording_close(&recording[1]);
    return status;
}

const DwProcedure dw_procedure_twin = {
    .name = "twin",
    .title = "Two recordings of one groove",
    .summary = "Compare two recordings of the same groove: speed, wow, level and response of one against the other.",
    .quantities = quantities,
    .recordings_least = 2,
    .recordings_most = 2,
    .takes_differ = true,
    .run = run,
};
