// SPDX-License-Identifier: MIT
#include "procedure/side/side_windows.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

void dw_side_windows_add(DwSideWindows *windows, const DwSideListener *listener, void *user, double from_s, double to_s)
{
    if (windows->count == windows->room) {
        windows->room = windows->room * 2 + 32;
        windows->items = dw_memory_resize(windows->items, windows->room, sizeof *windows->items);
    }
    windows->items[windows->count++] = (DwSideWindow){listener, user, from_s, to_s, false, false};
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

// Hands over what of the COUNT frames from second START_S on lies in WINDOW.
static void hear(DwSideWindow *window, const DwRecording *recording, double start_s, size_t count)
{
    double from = ceil((window->from_s - start_s) * recording->rate_hz),
           to = floor((window->to_s - start_s) * recording->rate_hz);
    if (from >= (double)count || window->ended)
        return;
    size_t first = from > 0 ? (size_t)from : 0, end = to < (double)count ? (size_t)fmax(to, 0) : count;
    if (!window->begun && window->listener->begin)
        window->listener->begin(window->user, recording->rate_hz, recording->channels > 1 ? 2 : 1,
                                start_s + (double)first / recording->rate_hz);
    window->begun = true;
    if (end > first)
        window->listener->push(window->user, recording->block + first * recording->channels, end - first);
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
    double start_s = recording.start_s;
    for (size_t got = 1; status == DW_OK && got > 0;) {
        status = dw_recording_read(&recording, &got, message);
        for (size_t i = 0; status == DW_OK && i < windows->count && got > 0; i++)
            hear(&windows->items[i], &recording, start_s, got);
        start_s += (double)got / recording.rate_hz;
    }
    for (size_t i = 0; i < windows->count; i++)
        if (!windows->items[i].ended)
            end_window(&windows->items[i]);
    dw_recording_close(&recording);
    return status;
}
