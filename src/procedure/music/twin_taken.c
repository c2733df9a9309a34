// SPDX-License-Identifier: MIT
#include "procedure/music/twin_taken.h"

#include "procedure/input/tone_settings.h"

typedef struct {
    DwTwin *twin;
    unsigned which;
} Feed;

static void push(void *user, const float *interleaved, size_t frames)
{
    const Feed *feed = user;
    dw_twin_push(feed->twin, feed->which, interleaved, frames);
}

void dw_twin_taken_clear(DwTwinTaken *taken)
{
    dw_twin_free(taken->twin);
    while (taken->opened > 0)
        dw_recording_close(&taken->recording[--taken->opened]);
}

// Feeds both recordings to a new twin. The caller clears PAIR, on failure too.
static DwStatus feed(const DwRequest *request, DwTwinSettings settings, DwTwinTaken *taken, DwMessage *message)
{
    *taken = (DwTwinTaken){.opened = 0};
    for (unsigned i = 0; i < 2; i++) {
        DwStatus status = dw_recording_open(request->recordings[i], request->inputs, &taken->recording[i], message);
        if (status != DW_OK)
            return status;
        taken->opened++;
        settings.rate_hz[i] = taken->recording[i].rate_hz;
        settings.channels[i] = taken->recording[i].channels;
        settings.skip_s[i] = taken->recording[i].start_s;
    }
    taken->twin = dw_twin_new(settings);
    for (unsigned i = 0; i < 2; i++) {
        DwStatus status = dw_recording_play(&taken->recording[i], push, &(Feed){taken->twin, i}, message);
        if (status != DW_OK)
            return status;
    }
    dw_twin_finish(taken->twin);
    return DW_OK;
}

DwStatus dw_twin_taken_read(const DwRequest *request, DwTwinTaken *taken, DwMessage *message)
{
    DwTwinSettings settings = {.speed_rpm = dw_nominal_speed(request->inputs)};
    DwStatus status = feed(request, settings, taken, message);
    if (status == DW_OK && dw_twin_asks_again(taken->twin, &settings)) {
        dw_twin_taken_clear(taken);
        status = feed(request, settings, taken, message);
    }
    return status;
}
