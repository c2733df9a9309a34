// SPDX-License-Identifier: MIT
#include "audio/input_levels.h"

#include "audio/pulse_link.h"
#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double LISTED_AGAIN_S = 1, GLANCE_S = 0.02;
// Peaks of an input that wait to be read, two seconds; more are let go.
enum { PEAKS_MOST = 2 * DW_INPUT_LEVELS_RATE, CHANNELS_MOST = 8 };

typedef struct {
    char name[300]; // the server's own
    char shown[320];
    pa_stream *stream;
    unsigned channels;
    float peaks[PEAKS_MOST];
    size_t count;
    bool is_there; // still listed
} Ear;

struct DwInputLevels {
    DwPulseLink link;
    pa_operation *listing; // on its way; or NULL
    double listed_at;
    Ear *ears[DW_INPUT_LEVELS_MOST];
    size_t count;
};

static void free_ear(Ear *ear)
{
    if (ear->stream) {
        pa_stream_set_read_callback(ear->stream, NULL, NULL);
        pa_stream_disconnect(ear->stream);
        pa_stream_unref(ear->stream);
    }
    free(ear);
}

// Of all channels the highest, of each time.
static void take_peaks(Ear *ear, const float *values, size_t count)
{
    for (size_t i = 0; i + ear->channels <= count; i += ear->channels) {
        float peak = 0;
        for (unsigned c = 0; c < ear->channels; c++)
            peak = fmaxf(peak, fabsf(values[i + c]));
        if (ear->count < PEAKS_MOST)
            ear->peaks[ear->count++] = peak;
    }
}

static void hear(pa_stream *stream, size_t bytes, void *opaque)
{
    Ear *ear = opaque;
    const void *data;
    while (pa_stream_readable_size(stream) > 0 && pa_stream_peek(stream, &data, &bytes) == 0 && bytes > 0) {
        if (data)
            take_peaks(ear, data, bytes / sizeof(float));
        pa_stream_drop(stream);
    }
}

// A stream that carries nothing but peaks, fixed to its device.
static bool begin_stream(DwInputLevels *levels, Ear *ear, unsigned channels)
{
    pa_sample_spec spec = {PA_SAMPLE_FLOAT32NE, DW_INPUT_LEVELS_RATE, (uint8_t)channels};
    pa_buffer_attr attributes = {.maxlength = (uint32_t)-1,
                                 .tlength = (uint32_t)-1,
                                 .prebuf = (uint32_t)-1,
                                 .minreq = (uint32_t)-1,
                                 .fragsize = (uint32_t)(channels * sizeof(float))};
    pa_channel_map map;
    if (!pa_channel_map_init_auto(&map, channels, PA_CHANNEL_MAP_ALSA))
        pa_channel_map_init_extend(&map, channels, PA_CHANNEL_MAP_AUX);
    ear->channels = channels;
    ear->stream = pa_stream_new(levels->link.context, "level", &spec, &map);
    if (!ear->stream)
        return false;
    pa_stream_set_read_callback(ear->stream, hear, ear);
    return pa_stream_connect_record(ear->stream, ear->name, &attributes,
                                    PA_STREAM_DONT_MOVE | PA_STREAM_PEAK_DETECT | PA_STREAM_ADJUST_LATENCY |
                                        PA_STREAM_NO_REMIX_CHANNELS | PA_STREAM_NO_REMAP_CHANNELS) == 0;
}

static void note_listed(pa_context *context, const pa_source_info *info, int ended, void *opaque)
{
    (void)context;
    DwInputLevels *levels = opaque;
    if (ended || !info)
        return;
    for (size_t i = 0; i < levels->count; i++)
        if (strcmp(levels->ears[i]->name, info->name) == 0) {
            levels->ears[i]->is_there = true;
            return;
        }
    if (levels->count == DW_INPUT_LEVELS_MOST)
        return;
    Ear *ear = dw_memory_new(1, sizeof *ear);
    snprintf(ear->name, sizeof ear->name, "%s", info->name);
    snprintf(ear->shown, sizeof ear->shown, "device:%s", info->name);
    ear->is_there = true;
    unsigned channels = info->sample_spec.channels;
    if (begin_stream(levels, ear, channels < CHANNELS_MOST ? channels : CHANNELS_MOST))
        levels->ears[levels->count++] = ear;
    else
        free_ear(ear);
}

// Lets go of what is no longer listed, or whose stream ended.
static void let_go(DwInputLevels *levels)
{
    size_t kept = 0;
    for (size_t i = 0; i < levels->count; i++) {
        Ear *ear = levels->ears[i];
        if (ear->is_there && PA_STREAM_IS_GOOD(pa_stream_get_state(ear->stream)))
            levels->ears[kept++] = ear;
        else
            free_ear(ear);
    }
    levels->count = kept;
}

// Asks for the list each second, without waiting for it.
static void list_again(DwInputLevels *levels)
{
    if (levels->listing && pa_operation_get_state(levels->listing) == PA_OPERATION_RUNNING)
        return;
    if (levels->listing) {
        pa_operation_unref(levels->listing);
        levels->listing = NULL;
        let_go(levels);
    }
    if (dw_pulse_now() - levels->listed_at < LISTED_AGAIN_S)
        return;
    for (size_t i = 0; i < levels->count; i++)
        levels->ears[i]->is_there = false;
    levels->listing = pa_context_get_source_info_list(levels->link.context, note_listed, levels);
    levels->listed_at = dw_pulse_now();
}

DwInputLevels *dw_input_levels_open(void)
{
    DwInputLevels *levels = dw_memory_new(1, sizeof *levels);
    levels->listed_at = -LISTED_AGAIN_S;
    if (dw_pulse_connect(&levels->link))
        return levels;
    dw_input_levels_close(levels);
    return NULL;
}

void dw_input_levels_close(DwInputLevels *levels)
{
    if (!levels)
        return;
    if (levels->listing) {
        pa_operation_cancel(levels->listing);
        pa_operation_unref(levels->listing);
    }
    for (size_t i = 0; i < levels->count; i++)
        free_ear(levels->ears[i]);
    dw_pulse_disconnect(&levels->link);
    free(levels);
}

bool dw_input_levels_turn(DwInputLevels *levels, double wait_s)
{
    double until = dw_pulse_now() + wait_s;
    for (size_t i = 0; i < levels->count; i++)
        levels->ears[i]->count = 0;
    do {
        list_again(levels);
        if (!dw_pulse_turn(&levels->link, GLANCE_S))
            return false;
    } while (dw_pulse_now() < until);
    return true;
}

size_t dw_input_levels_count(const DwInputLevels *levels)
{
    return levels->count;
}

DwInputPeaks dw_input_levels_at(const DwInputLevels *levels, size_t index)
{
    const Ear *ear = levels->ears[index];
    return (DwInputPeaks){ear->shown, ear->peaks, ear->count};
}
