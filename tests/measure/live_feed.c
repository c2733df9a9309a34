// SPDX-License-Identifier: MIT
// live-feed FILE RATE: hands FILE (raw float32 of two channels) to the meter of live inputs in pieces of 10 ms, 3150 Hz
// stated, and prints on one line for each frame: seconds, whether nothing stands in the way, and of the speed over the
// last turn and of the settled speed each the value and its half-width [%], and whether it is of now. What
// tests/oracle/torn_tone.py drives.
#include "measure/live/live_meter.h"

#include <stdio.h>
#include <stdlib.h>

int main(int count, char **words)
{
    FILE *file = count == 3 ? fopen(words[1], "rb") : NULL;
    if (!file)
        return 2;
    double rate_hz = atof(words[2]);
    DwLiveMeterSettings settings = dw_live_meter_settings(rate_hz, 2);
    settings.speed.tone_hz = 3150;
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    size_t piece = (size_t)(rate_hz / 100), got = 0, frames = 0;
    float *samples = calloc(piece, 2 * sizeof *samples);
    while ((got = fread(samples, 2 * sizeof *samples, piece, file)) > 0) {
        frames += got;
        if (dw_live_meter_push(meter, samples, got) == 0)
            continue;
        const DwLiveFigures *figures = dw_live_meter_figures(meter);
        const DwLiveFigure *turn = &figures->figure[DW_LIVE_SPEED_TURN], *mean = &figures->figure[DW_LIVE_SPEED_ERROR];
        printf("%.3f %d %.6f %.6f %d %.6f %.6f %d\n", (double)frames / rate_hz, figures->trouble == DW_LIVE_GOOD,
               turn->value, turn->uncertainty, !turn->stale, mean->value, mean->uncertainty, !mean->stale);
    }
    free(samples);
    fclose(file);
    dw_live_meter_free(meter);
    return 0;
}
