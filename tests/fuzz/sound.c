// SPDX-License-Identifier: MIT
// Sound files, whatever they hold, through the reader into the measurement of speed. The decoder is fed here, not in
// its box, so that what it does is seen.
#include "audio/decode.h"
#include "audio/driver.h"
#include "audio/header.h"
#include "measure/speed/speed.h"
#include "target.h"

#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

enum { BLOCK = 4096, BLOCKS_MOST = 100 };

static void measure(DwSource *source)
{
    double rate_hz = dw_source_rate_hz(source);
    unsigned channels = dw_source_channels(source);
    if (rate_hz < 6000)
        return;
    DwSpeedSettings settings = dw_speed_settings(rate_hz, channels);
    settings.speed_rpm = 180; // three revolutions a second: short recordings are measured too
    DwSpeed *speed = dw_speed_new(settings);
    static float samples[BLOCK * 2];
    DwMessage message = {""};
    size_t got = 1;
    for (size_t i = 0; got > 0 && i < BLOCKS_MOST; i++) {
        if (dw_source_read(source, samples, BLOCK, &got, NULL, &message) != DW_OK)
            break;
        dw_speed_push(speed, samples, got);
    }
    dw_speed_finish(speed);
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    DwStatus status = dw_speed_read(speed, sheet, &message);
    TARGET_HOLDS(status == DW_OK ? sheet->reading_count > 0 : message.text[0] != 0);
    dw_sheet_free(sheet);
    dw_speed_free(speed);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    int file = memfd_create("sound", MFD_CLOEXEC);
    TARGET_HOLDS(file >= 0 && write(file, bytes, count) == (ssize_t)count);
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    DwSource *source = NULL;
    DwMessage message = {""};
    DwStatus status = dw_header_check(path, &message);
    if (status == DW_OK && dw_file_inside(path, &source, &message) != DW_OK)
        status = dw_decode_inside(path, false, &source, &message);
    TARGET_HOLDS(status == DW_OK ? source != NULL : message.text[0] != 0);
    if (status == DW_OK)
        measure(source);
    dw_source_close(source);
    close(file);
    return 0;
}
