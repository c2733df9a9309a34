// SPDX-License-Identifier: MIT
// Writes a signal of bands to a 24-bit file.
#ifndef DW_TESTS_SUPPORT_BAND_FILE_H
#define DW_TESTS_SUPPORT_BAND_FILE_H

#include "audio/writer.h"
#include "support/band_signal.h"

// Frames FROM_S to TO_S of SIGNAL into PATH.
static inline DwStatus band_write(const BandSignal *signal, double rate_hz, double from_s, double to_s,
                                  const char *path, DwMessage *message)
{
    DwWriter *writer;
    size_t from = (size_t)(from_s * rate_hz), to = (size_t)(to_s * rate_hz);
    to = to < signal->frames ? to : signal->frames;
    DwStatus status = dw_writer_open(path, rate_hz, 2, DW_ENCODING_24_BIT, &writer, message);
    if (status != DW_OK)
        return status;
    status = dw_writer_push(writer, signal->samples + 2 * from, to - from, message);
    if (status == DW_OK)
        return dw_writer_close(writer, message);
    dw_writer_abandon(writer);
    return status;
}

#endif
