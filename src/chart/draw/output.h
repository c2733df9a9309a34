// SPDX-License-Identifier: MIT
// What a cairo surface writes, kept in memory until it is whole.
#ifndef DW_CHART_OUTPUT_H
#define DW_CHART_OUTPUT_H

#include <cairo.h>
#include <stddef.h>

// Start it with {0}. A zero byte follows the last; free() frees `bytes`.
typedef struct {
    char *bytes;
    size_t length, room;
} DwOutput;

// The stream function of cairo's surfaces; CLOSURE is a DwOutput.
cairo_status_t dw_output_keep(void *closure, const unsigned char *data, unsigned length);

#endif
