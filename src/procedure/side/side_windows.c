// SPDX-License-Identifier: MIT
#include "procedure/side/side_windows.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static void add(DwSideWindows *windows, DwSideWindow window)
{
    if (windows->count == windows->room) {
        windows->room = windows->room * 2 + 32;
        windows->items = dw_memory_resize(windows->items, windows->room, sizeof *windows->items);
    }
    windows->items[windows->count++] = window;
}

void dw_side_windows_add(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s, double to_s)
{
    add(windows, (DwSideWindow){listener, user, from_s, to_s, false, false, false});
}

void dw_side_windows_add_raw(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s,
                             double to_s)
{
    add(windows, (DwSideWindow){listener, user, from_s, to_s, true, false, false});
}

static bool is_one(DwSideWiring wiring)
{
    return wiring == DW_SIDE_LEFT_ONLY || wiring == DW_SIDE_RIGHT_ONLY || wiring == DW_SIDE_JOINED ||
           wiring == DW_SIDE_OPEN;
}

unsigned dw_side_windows_channels(const DwSideWindows *windows, unsigned channels)
{
    return channels < 2 || is_one(windows->wiring) ? 1 : 2;
}

void dw_side_windows_clear(DwSideWindows *windows)
{
    free(windows->items);
    *windows = (DwSideWindows){0};
}

static int by_start(const void *a, const void *b)
{
    double x = ((const DwSideWindow *)a)->from_s, y = ((const DwSideWindow *)b)->from_s;
    return (x > y) - (x < y);
}

static void end_window(DwSideWindow *window)
{
    window->ended = true;
    if (window->begun && window->listener->end)
        window->listener->end(window->user);
}

// A block as recorded and as the record's own channels, both interleaved.
typedef struct {
    const float *raw, *own;
    unsigned raw_channels, own_channels;
    double rate_hz, start_s;
    size_t frames;
} Block;

// Undoes the wiring: COUNT frames of two channels from RAW to OWN. The weaker channel is raised.
static void undo_wiring(const DwSideWindows *windows, const float *raw, size_t count, float *own)
{
    DwSideWiring wiring = windows->wiring;
    float gain[2] = {(float)pow(10, fmax(0, windows->gain_db) / 20), (float)pow(10, fmax(0, -windows->gain_db) / 20)};
    bool swapped = dw_side_wiring_is_swapped(wiring);
    float sign = wiring == DW_SIDE_REVERSED || wiring == DW_SIDE_SWAPPED_REVERSED ? -1 : 1;
    if (is_one(wiring)) {
        const float *heard = raw + (wiring == DW_SIDE_RIGHT_ONLY);
        for (size_t i = 0; i < count; i++)
            own[i] = heard[2 * i];
        return;
    }
    for (size_t i = 0; i < count; i++) {
        own[2 * i] = gain[swapped] * raw[2 * i + swapped];
        own[2 * i + 1] = sign * gain[!swapped] * raw[2 * i + !swapped];
    }
}

// Hands over what of BLOCK lies in WINDOW.
static void hear(DwSideWindow *window, const Block *block)
{
    double from = ceil((window->from_s - block->start_s) * block->rate_hz),
           to = floor((window->to_s - block->start_s) * block->rate_hz);
    size_t count = block->frames;
    if (from >= (double)count || window->ended)
        return;
    const float *samples = window->raw ? block->raw : block->own;
    unsigned channels = window->raw ? block->raw_channels : block->own_channels;
    size_t first = from > 0 ? (size_t)from : 0, end = to < (double)count ? (size_t)fmax(to, 0) : count;
    if (!window->begun && window->listener->begin)
        window->listener->begin(window->user, block->rate_hz, channels,
                                block->start_s + (double)first / block->rate_hz);
    window->begun = true;
    if (end > first)
        window->listener->push(window->user, samples + first * channels, end - first);
    if (to <= (double)count)
        end_window(window);
}

DwStatus dw_side_windows_play(DwSideWindows *windows, const char *path, const DwInputs *inputs, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    if (windows->count)
        qsort(windows->items, windows->count, sizeof *windows->items, by_start);
    bool rewire = recording.channels == 2 && (windows->wiring != DW_SIDE_AS_CUT || windows->gain_db != 0);
    float *own = NULL;
    Block block = {.raw_channels = recording.channels, .rate_hz = recording.rate_hz, .start_s = recording.start_s};
    block.own_channels = rewire ? dw_side_windows_channels(windows, 2) : recording.channels;
    for (block.frames = 1; status == DW_OK && block.frames > 0;) {
        status = dw_recording_read(&recording, &block.frames, message);
        if (status != DW_OK || block.frames == 0)
            break;
        block.raw = block.own = recording.block;
        if (rewire) {
            own = dw_memory_resize(own, block.frames, 2 * sizeof *own);
            undo_wiring(windows, block.raw, block.frames, own);
            block.own = own;
        }
        for (size_t i = 0; i < windows->count; i++)
            hear(&windows->items[i], &block);
        block.start_s += (double)block.frames / recording.rate_hz;
    }
    free(own);
    for (size_t i = 0; i < windows->count; i++)
        if (!windows->items[i].ended)
            end_window(&windows->items[i]);
    dw_recording_close(&recording);
    return status;
}
