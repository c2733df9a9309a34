// SPDX-License-Identifier: MIT
#include "measure/tone/window.h"

#include "base/memory.h"

#include <string.h>

void dw_window_append(DwWindow *window, const float *values, size_t count)
{
    if (window->count + count > window->room) {
        window->room = window->count + count + window->room / 2;
        window->values = dw_memory_resize(window->values, window->room, sizeof(float));
    }
    memcpy(window->values + window->count, values, count * sizeof(float));
    window->count += count;
}

void dw_window_forget(DwWindow *window, size_t from)
{
    if (from <= window->start + window->count / 2)
        return;
    size_t drop = from - window->start;
    drop = drop > window->count ? window->count : drop;
    memmove(window->values, window->values + drop, (window->count - drop) * sizeof(float));
    window->count -= drop;
    window->start += drop;
}

void dw_window_restart(DwWindow *window, size_t start)
{
    window->count = 0;
    window->start = start;
}

size_t dw_window_end(const DwWindow *window)
{
    return window->start + window->count;
}
