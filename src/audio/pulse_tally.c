// SPDX-License-Identifier: MIT
#include "audio/pulse_tally.h"

#include "audio/pulse_link.h"

#include <math.h>
#include <time.h>

static const double ASKED_EACH_S = 0.04;
// The server tells its time by the wall clock. Where that was set meanwhile, the answer is worth nothing.
static const double WALL_STEADY_S = 1e-3;

static double wall_ahead_s(void)
{
    struct timespec wall, monotonic;
    clock_gettime(CLOCK_MONOTONIC, &monotonic);
    clock_gettime(CLOCK_REALTIME, &wall);
    return (double)(wall.tv_sec - monotonic.tv_sec) + 1e-9 * (double)(wall.tv_nsec - monotonic.tv_nsec);
}

// What the server counted: frames that it wrote for the stream, those that still lie with the
// device, and less what a monitored output has made before its time.
static void note_count(pa_stream *stream, int success, void *opaque)
{
    DwPulseTally *tally = opaque;
    const pa_timing_info *info = success ? pa_stream_get_timing_info(stream) : NULL;
    const pa_sample_spec *taken = pa_stream_get_sample_spec(stream);
    if (!info || !info->synchronized_clocks || !taken)
        return;
    double ahead_s = wall_ahead_s();
    double time_s = (double)info->timestamp.tv_sec + 1e-6 * (double)info->timestamp.tv_usec - ahead_s;
    double now_s = dw_pulse_now();
    if (time_s > now_s + WALL_STEADY_S || time_s < tally->asked_at - WALL_STEADY_S)
        return;
    double held_s = 1e-6 * ((double)info->source_usec - (double)info->sink_usec);
    tally->last.frames = (double)info->write_index / (double)pa_frame_size(taken) + held_s * taken->rate;
    tally->last.time_s = time_s;
    tally->last.count++;
}

void dw_pulse_tally_ask(DwPulseTally *tally, pa_stream *stream)
{
    double now_s = dw_pulse_now();
    if (tally->question && pa_operation_get_state(tally->question) == PA_OPERATION_RUNNING)
        return;
    if (now_s - tally->asked_at < ASKED_EACH_S)
        return;
    dw_pulse_tally_clear(tally);
    tally->question = pa_stream_update_timing_info(stream, note_count, tally);
    tally->asked_at = now_s;
}

void dw_pulse_tally_clear(DwPulseTally *tally)
{
    if (!tally->question)
        return;
    pa_operation_cancel(tally->question);
    pa_operation_unref(tally->question);
    tally->question = NULL;
}
