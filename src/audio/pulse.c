// SPDX-License-Identifier: MIT
#include "audio/pulse.h"

#include "audio/driver.h"
#include "audio/pulse_level.h"
#include "audio/pulse_link.h"
#include "audio/pulse_tally.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A server may stand still for some seconds and go on; longer, and the device is as good as gone.
static const double PATIENCE_S = 4, OPENING_S = 2, GLANCE_S = 0.05, ASKED_AGAIN_S = 1;
// What the server hands on at a time.
static const double FRAGMENT_S = 0.01;
enum { RATE_MOST = 384000, QUESTIONS = 2 };

typedef struct {
    DwPulseLink link;
    pa_stream *stream;
    pa_operation *questions[QUESTIONS]; // about level and mute of the device and of the stream, on their way; or NULL
    double asked_at;
    DwPulseLevel level;
    DwPulseTally tally;
    pa_sample_spec own, taken; // the device's; what is delivered
    const uint8_t *piece;      // what the server handed on; NULL when used up or a hole
    size_t bytes, used;        // of it
    bool holds_piece, gap, runs_all_at_one_rate;
    DwSourceOrigin origin;
    char name[300];
} State;

static size_t frame_bytes(const State *state)
{
    return state->taken.channels * sizeof(float);
}

static void let_piece_go(State *state)
{
    if (state->holds_piece)
        pa_stream_drop(state->stream);
    state->holds_piece = false;
    state->piece = NULL;
    state->bytes = state->used = 0;
}

static void close_state(void *opaque)
{
    State *state = opaque;
    for (size_t i = 0; i < QUESTIONS; i++)
        if (state->questions[i]) {
            pa_operation_cancel(state->questions[i]);
            pa_operation_unref(state->questions[i]);
        }
    dw_pulse_tally_clear(&state->tally);
    if (state->stream) {
        let_piece_go(state);
        pa_stream_disconnect(state->stream);
        pa_stream_unref(state->stream);
    }
    dw_pulse_disconnect(&state->link);
    free(state);
}

// --- the device -------------------------------------------------------------------

static unsigned bits_of(pa_sample_format_t format)
{
    switch ((int)format) {
    case PA_SAMPLE_U8:
    case PA_SAMPLE_ALAW:
    case PA_SAMPLE_ULAW:
        return 8;
    case PA_SAMPLE_S16LE:
    case PA_SAMPLE_S16BE:
        return 16;
    case PA_SAMPLE_S24LE:
    case PA_SAMPLE_S24BE:
    case PA_SAMPLE_S24_32LE:
    case PA_SAMPLE_S24_32BE:
        return 24;
    default:
        return 32;
    }
}

// Level and mute of the device in the server.
static void note_device(pa_context *context, const pa_source_info *info, int ended, void *opaque)
{
    (void)context;
    State *state = opaque;
    if (ended || !info)
        return;
    DwSourceOrigin *origin = &state->origin;
    state->own = info->sample_spec;
    origin->rate_hz = info->sample_spec.rate;
    origin->channels = info->sample_spec.channels;
    origin->bits = bits_of(info->sample_spec.format);
    origin->is_resampled = state->taken.rate > 0 && state->taken.rate != state->own.rate; // it may change while it runs
    dw_pulse_level_note_device(&state->level, info);
    dw_pulse_level_tell(&state->level, origin);
    snprintf(origin->device, sizeof origin->device, "%s", info->description ? info->description : info->name);
}

// The mixer may turn down or mute this one stream, whatever it does to the device.
static void note_stream(pa_context *context, const pa_source_output_info *info, int ended, void *opaque)
{
    (void)context;
    State *state = opaque;
    if (ended || !info)
        return;
    dw_pulse_level_note_stream(&state->level, info);
    dw_pulse_level_tell(&state->level, &state->origin);
}

static void note_server(pa_context *context, const pa_server_info *info, void *opaque)
{
    (void)context;
    State *state = opaque;
    state->runs_all_at_one_rate = info && info->server_name && strstr(info->server_name, "PipeWire");
}

// Asks how the device stands, once a second, and what it has counted, without waiting for the answers.
static void ask_again(State *state)
{
    double now = dw_pulse_now();
    dw_pulse_tally_ask(&state->tally, state->stream);
    if (now - state->asked_at < ASKED_AGAIN_S)
        return;
    for (size_t i = 0; i < QUESTIONS; i++)
        if (state->questions[i] && pa_operation_get_state(state->questions[i]) == PA_OPERATION_RUNNING)
            return;
    for (size_t i = 0; i < QUESTIONS; i++)
        if (state->questions[i])
            pa_operation_unref(state->questions[i]);
    pa_context *context = state->link.context;
    state->questions[0] = pa_context_get_source_info_by_name(context, state->name, note_device, state);
    state->questions[1] =
        pa_context_get_source_output_info(context, pa_stream_get_index(state->stream), note_stream, state);
    state->asked_at = now;
}

// --- reading ------------------------------------------------------------------------

// Makes the server's next piece the one that is handed on, if there is one.
static void take_piece(State *state)
{
    const void *data = NULL;
    size_t bytes = 0;
    if (pa_stream_readable_size(state->stream) == 0 || pa_stream_peek(state->stream, &data, &bytes) < 0 || bytes == 0)
        return;
    state->holds_piece = true;
    if (!data) { // the server had no room for them
        let_piece_go(state);
        state->gap = true;
        return;
    }
    state->piece = data;
    state->bytes = bytes - bytes % frame_bytes(state);
    state->used = 0;
}

static bool is_alive(const State *state)
{
    return PA_CONTEXT_IS_GOOD(pa_context_get_state(state->link.context)) &&
           PA_STREAM_IS_GOOD(pa_stream_get_state(state->stream));
}

static DwStatus refuse(const State *state, DwMessage *message)
{
    if (!PA_CONTEXT_IS_GOOD(pa_context_get_state(state->link.context)))
        return dw_fail(message, DW_FAILED, "The sound server went away. Start it again.");
    if (!is_alive(state))
        return dw_fail(message, DW_FAILED, "The input \"%s\" was unplugged or taken away.", state->origin.device);
    return dw_fail(message, DW_FAILED, "The input \"%s\" gave nothing for %.0f s. Plug it in again.",
                   state->origin.device, PATIENCE_S);
}

// Waits until there is a piece. Returned: false when none comes any more.
static bool wait_for_piece(State *state, double patience_s)
{
    double until = dw_pulse_now() + patience_s;
    while (!state->piece) {
        take_piece(state);
        if (state->piece)
            return true;
        if (dw_pulse_now() > until || !dw_pulse_turn(&state->link, GLANCE_S) || !is_alive(state))
            return false;
        ask_again(state);
    }
    return true;
}

static DwStatus read_pulse(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                           DwMessage *message)
{
    State *state = dw_source_state(source);
    *got = 0;
    *flags = 0;
    // What has come lies in the socket until it is asked for. A lost connection shows below, after what was held.
    dw_pulse_turn(&state->link, 0);
    ask_again(state);
    while (*got < frames) {
        if (!state->piece && is_alive(state))
            take_piece(state);
        if (!state->piece && *got > 0)
            return DW_OK;
        if (!state->piece && (!is_alive(state) || !wait_for_piece(state, PATIENCE_S)))
            return refuse(state, message);
        if (state->gap && *got > 0)
            return DW_OK;
        if (state->gap)
            *flags = DW_SOURCE_GAP;
        state->gap = false;
        size_t left = (state->bytes - state->used) / frame_bytes(state);
        size_t count = left < frames - *got ? left : frames - *got;
        memcpy(interleaved + *got * state->taken.channels, state->piece + state->used, count * frame_bytes(state));
        state->used += count * frame_bytes(state);
        *got += count;
        if (state->used >= state->bytes)
            let_piece_go(state);
    }
    return DW_OK;
}

static const DwSourceOrigin *origin_of(const void *opaque)
{
    return &((const State *)opaque)->origin;
}

static const DwSourceTally *tally_of(const void *opaque)
{
    return &((const State *)opaque)->tally.last;
}

static const DwDriver pulse_driver = {read_pulse, close_state, origin_of, tally_of};

// --- opening ------------------------------------------------------------------------

static bool start_stream(State *state)
{
    pa_buffer_attr attributes = {.maxlength = (uint32_t)-1,
                                 .tlength = (uint32_t)-1,
                                 .prebuf = (uint32_t)-1,
                                 .minreq = (uint32_t)-1,
                                 .fragsize =
                                     (uint32_t)(ceil(FRAGMENT_S * state->taken.rate) * (double)frame_bytes(state))};
    pa_channel_map map;
    if (!pa_channel_map_init_auto(&map, state->taken.channels, PA_CHANNEL_MAP_ALSA))
        pa_channel_map_init_extend(&map, state->taken.channels, PA_CHANNEL_MAP_AUX);
    pa_proplist *wishes = pa_proplist_new();
    // PipeWire runs its devices at one rate, 48 kHz as it is delivered, and resamples those of another
    // without a word: a stream may ask it to take the device's. PulseAudio passes over the wish.
    if (state->taken.rate == state->own.rate)
        pa_proplist_setf(wishes, "node.force-rate", "%u", state->own.rate);
    state->stream = pa_stream_new_with_proplist(state->link.context, "measuring", &state->taken, &map, wishes);
    pa_proplist_free(wishes);
    return state->stream &&
           pa_stream_connect_record(state->stream, state->name, &attributes,
                                    PA_STREAM_DONT_MOVE | PA_STREAM_ADJUST_LATENCY | PA_STREAM_START_UNMUTED |
                                        PA_STREAM_NO_REMIX_CHANNELS | PA_STREAM_NO_REMAP_CHANNELS) == 0;
}

// The server may remember a level or a mute of another day for this program: it is set to 1, and switched on.
static void set_level(State *state)
{
    uint32_t stream = pa_stream_get_index(state->stream);
    pa_cvolume full;
    pa_cvolume_reset(&full, state->taken.channels);
    pa_context *context = state->link.context;
    pa_operation *asked[] = {pa_context_set_source_output_volume(context, stream, &full, NULL, NULL),
                             pa_context_set_source_output_mute(context, stream, 0, NULL, NULL)};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++)
        if (asked[i])
            pa_operation_unref(asked[i]);
}

// Why the input could not be opened.
static DwStatus refuse_open(const State *state, bool answers, DwMessage *message)
{
    if (!answers && dw_pulse_is_silent(&state->link))
        return dw_fail(message, DW_BAD_INPUT, "the sound server does not answer; wait a moment, or start it again");
    if (!answers)
        return dw_fail(message, DW_FAILED, "no sound server answers; start it, or choose another input");
    if (!state->own.rate)
        return dw_fail(message, DW_BAD_INPUT, "there is no such input; plug it in, or choose one from the list");
    return dw_fail(message, DW_BAD_INPUT, "no samples came; plug it in again, or choose another input");
}

DwStatus dw_pulse_open(const char *name, double rate_hz, DwSource **source, DwMessage *message)
{
    State *state = dw_memory_new(1, sizeof *state);
    snprintf(state->name, sizeof state->name, "%s", name);
    bool answers = dw_pulse_connect(&state->link) &&
                   dw_pulse_finish(&state->link, pa_context_get_server_info(state->link.context, note_server, state)) &&
                   dw_pulse_finish(&state->link,
                                   pa_context_get_source_info_by_name(state->link.context, name, note_device, state));
    state->taken = (pa_sample_spec){PA_SAMPLE_FLOAT32NE, state->own.rate, state->own.channels};
    if (rate_hz > 0 && rate_hz <= RATE_MOST)
        state->taken.rate = (uint32_t)rate_hz;
    if (!answers || !state->own.rate || !start_stream(state) || !wait_for_piece(state, OPENING_S)) {
        DwStatus status = refuse_open(state, answers, message);
        close_state(state);
        return status;
    }
    set_level(state);
    state->origin.is_resampled = state->taken.rate != state->own.rate;
    state->origin.is_unsure = !state->origin.is_resampled && state->runs_all_at_one_rate;
    DwSourceFacts facts = {.rate_hz = state->taken.rate, .channels = state->taken.channels, .frames = -1};
    snprintf(facts.format, sizeof facts.format, "live input");
    *source = dw_source_new(&pulse_driver, state, &facts);
    return DW_OK;
}
