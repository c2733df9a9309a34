// SPDX-License-Identifier: MIT
// A moving window on a stream of samples that grows at one end and forgets at
// the other.
#ifndef DW_MEASURE_WINDOW_H
#define DW_MEASURE_WINDOW_H

#include <stddef.h>

// Value i stands at stream place `start` + i. Start it with {0}; free(values) ends it.
typedef struct {
    float *values;
    size_t start, count, room;
} DwWindow;

// Appends COUNT values behind the last.
void dw_window_append(DwWindow *window, const float *values, size_t count);
// Forgets what stands before stream place FROM, in large steps.
void dw_window_forget(DwWindow *window, size_t from);
// Empties it; the next value appended stands at stream place START.
void dw_window_restart(DwWindow *window, size_t start);
// The stream place behind the last value.
size_t dw_window_end(const DwWindow *window);

#endif
