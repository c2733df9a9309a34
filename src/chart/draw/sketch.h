// SPDX-License-Identifier: MIT
// Plain drawn pictures that stand in for photographs where there is no deck to
// photograph: in the invented shop.
#ifndef DW_CHART_SKETCH_H
#define DW_CHART_SKETCH_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum {
    DW_SKETCH_DECK,
    DW_SKETCH_ARM,
    DW_SKETCH_STYLUS,
    DW_SKETCH_BEARING,
    DW_SKETCH_MOTOR,
    DW_SKETCH_BELT,
    DW_SKETCH_SIGNATURE,
    DW_SKETCH_LOGO,
} DwSketchKind;

#define DW_SKETCH_WORDS "deck|arm|stylus|bearing|motor|belt|signature|logo"

// Draws KIND as PNG: worn and dirty with WORN, else in order; SEED varies it. A
// signature and a logo stand on nothing. The caller frees *BYTES with free().
DwStatus dw_sketch_draw(DwSketchKind kind, bool worn, unsigned seed, char **bytes, size_t *length, DwMessage *message);

#endif
