// SPDX-License-Identifier: MIT
// Of a side: a channel that is heard alone because the other comes and goes. Its gaps would read as dips, ticks and
// scratches that the groove does not have.
#ifndef DW_PROCEDURE_SIDE_ALONE_H
#define DW_PROCEDURE_SIDE_ALONE_H

#include "procedure/side/side_parts.h"

typedef struct {
    bool alone;
    size_t channel; // the one that is sound
} DwSideAlone;

// Which channel of the side is to be heard alone, if any.
DwSideAlone dw_side_alone(const DwSideWork *work);
// Hands PUSH what is to be heard of FRAMES interleaved ones of CHANNELS: all, or one channel.
void dw_side_alone_push(const DwSideAlone *alone, unsigned channels, const float *interleaved, size_t frames,
                        void (*push)(void *user, const float *interleaved, size_t frames), void *user);

#endif
