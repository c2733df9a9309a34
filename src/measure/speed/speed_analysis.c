// SPDX-License-Identifier: MIT
#include "measure/speed/speed_fitness.h"

#include <stdlib.h>

double dw_speed_analysis_turn_hz(const DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings)
{
    return analysis->turn_shows ? analysis->turn_hz : dw_speed_expected_turn_hz(analysis, run, settings);
}

bool dw_speed_analyse(const DwDemodulator *demodulator, const DwToneRun *run, const DwSpeedSettings *settings,
                      DwSpeedAnalysis *analysis)
{
    if (!dw_speed_mask(demodulator, run, analysis) || !dw_speed_joint(analysis, run, settings))
        return false;
    double percent = 100 / analysis->mean_hz, level_hz = analysis->mean_hz - run->centre_hz;
    for (size_t n = 0; n < analysis->count; n++)
        analysis->deviation[n] = (analysis->deviation[n] - level_hz) * percent;
    dw_speed_lines(analysis);
    dw_speed_bridge_by_lines(analysis);
    dw_speed_fitness(demodulator, run, analysis);
    dw_speed_fluctuation(settings, analysis);
    return true;
}

void dw_speed_analysis_clear(DwSpeedAnalysis *analysis)
{
    free(analysis->deviation);
    free(analysis->used);
    free(analysis->work);
    free(analysis->rest_power);
    dw_spectrum_clear(&analysis->spectrum);
    *analysis = (DwSpeedAnalysis){0};
}
