// SPDX-License-Identifier: MIT
// Writes a played side to a 24-bit file.
#ifndef DW_TESTS_SUPPORT_SIDE_FILE_H
#define DW_TESTS_SUPPORT_SIDE_FILE_H

#include "audio/writer.h"
#include "support/side_player.h"

// All that PLAYER plays, into PATH.
static inline DwStatus side_write(SidePlayer *player, const char *path, DwMessage *message)
{
    DwWriter *writer;
    unsigned channels = player->what.mono ? 1 : 2;
    DwStatus status = dw_writer_open(path, player->what.pickup.rate_hz, channels, DW_ENCODING_24_BIT, &writer, message);
    if (status != DW_OK)
        return status;
    enum { BLOCKS = 256 };
    float *samples = malloc(BLOCKS * SIDE_BLOCK * channels * sizeof *samples);
    size_t held = 0, got = 1;
    while (status == DW_OK && got > 0) {
        got = side_read(player, samples + held * channels);
        held += got;
        if (held > (BLOCKS - 1) * SIDE_BLOCK || got == 0) {
            status = dw_writer_push(writer, samples, held, message);
            held = 0;
        }
    }
    free(samples);
    if (status == DW_OK)
        return dw_writer_close(writer, message);
    dw_writer_abandon(writer);
    return status;
}

#endif
