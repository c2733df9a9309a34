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

// Both recordings, and what they were fed to.
typedef struct {
    DwRecording recording[2];
    unsigned opened;
    DwTwin *twin;
} Pair;

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

static void clear(Pair *pair)
{
    dw_twin_free(pair->twin);
    while (pair->opened > 0)
        dw_recording_close(&pair->recording[--pair->opened]);
}

// Feeds both recordings to a new twin. The caller clears PAIR, on failure too.
static DwStatus feed(const DwRequest *request, DwTwinSettings settings, Pair *pair, DwMessage *message)
{
    *pair = (Pair){.opened = 0};
    for (unsigned i = 0; i < 2; i++) {
        DwStatus status = dw_recording_open(request->recordings[i], request->inputs, &pair->recording[i], message);
        if (status != DW_OK)
            return status;
        pair->opened++;
        settings.rate_hz[i] = pair->recording[i].rate_hz;
        settings.channels[i] = pair->recording[i].channels;
        settings.skip_s[i] = pair->recording[i].start_s;
    }
    pair->twin = dw_twin_new(settings);
    for (unsigned i = 0; i < 2; i++) {
        DwStatus status = dw_recording_play(&pair->recording[i], push, &(Feed){pair->twin, i}, message);
        if (status != DW_OK)
            return status;
    }
    dw_twin_finish(pair->twin);
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwTwinSettings settings = {.speed_rpm = dw_nominal_speed(request->inputs)};
    Pair pair;
    DwStatus status = feed(request, settings, &pair, message);
    if (status == DW_OK && dw_twin_asks_again(pair.twin, &settings)) {
        clear(&pair);
        status = feed(request, settings, &pair, message);
    }
    if (status == DW_OK)
        status = dw_twin_read(pair.twin, sheet, message);
    for (unsigned i = 0; status == DW_OK && i < 2; i++)
        dw_recording_describe(&pair.recording[i], request->recordings[i], sheet);
    if (status == DW_OK)
        name_subject(request, sheet);
    clear(&pair);
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
