// SPDX-License-Identifier: MIT
#include "procedure/side/side_alone.h"

DwSideAlone dw_side_alone(const DwSideWork *work)
{
    DwChannelFaults faults = dw_side_faults(work);
    return (DwSideAlone){.alone = work->channels > 1 && faults.intermittent[0] != faults.intermittent[1],
                         .channel = faults.intermittent[0]};
}

void dw_side_alone_push(const DwSideAlone *alone, unsigned channels, const float *interleaved, size_t frames,
                        void (*push)(void *user, const float *interleaved, size_t frames), void *user)
{
    enum { PIECE = 1024 };
    float one[PIECE];
    if (!alone->alone || channels == 1) {
        push(user, interleaved, frames);
        return;
    }
    for (size_t done = 0; done < frames;) {
        size_t count = frames - done < PIECE ? frames - done : PIECE;
        for (size_t i = 0; i < count; i++)
            one[i] = interleaved[(done + i) * channels + alone->channel];
        push(user, one, count);
        done += count;
    }
}
