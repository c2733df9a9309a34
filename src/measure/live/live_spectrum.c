// SPDX-License-Identifier: MIT
#include "measure/live/live_pictures.h"

#include "measure/live/live_speed.h"

#include <math.h>
#include <stdio.h>

const double dw_live_spectrum_low_hz = 0.2, dw_live_spectrum_high_hz = 200;

static void take_bins(DwLiveSpectrum *spectrum, const DwSpeedAnalysis *analysis)
{
    const DwSpectrum *from = &analysis->spectrum;
    double step_hz = from->step * analysis->rate_hz, low = dw_live_spectrum_low_hz, high = dw_live_spectrum_high_hz;
    for (size_t i = 0; i < DW_LIVE_BINS; i++)
        spectrum->percent[i] = NAN;
    for (size_t bin = 1; bin < from->bins; bin++) {
        double at = DW_LIVE_BINS * log((double)bin * step_hz / low) / log(high / low);
        if (!(at >= 0 && at < DW_LIVE_BINS))
            continue;
        float *percent = &spectrum->percent[(size_t)at];
        *percent = fmaxf(*percent, (float)sqrt(from->power[bin])); // of a NAN, the other
    }
}

// Named as on the sheet of speed.
static void take_lines(DwLiveSpectrum *spectrum, const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings,
                       double turn_hz, double tone_turn_hz)
{
    DwSheet *sheet = dw_sheet_new("live", "");
    dw_speed_trace(analysis, settings, turn_hz, tone_turn_hz, sheet);
    const DwTable *table = dw_sheet_table(sheet, "flutter.lines");
    spectrum->lines = 0;
    for (size_t row = 0; table && row < table->row_count && row < DW_LIVE_LINES; row++) {
        DwLiveLine *line = &spectrum->line[spectrum->lines++];
        const char *part = settings->drive_given ? dw_table_cell(table, row, 4)->word : "";
        *line = (DwLiveLine){.hz = dw_table_cell(table, row, 0)->number,
                             .percent = dw_table_cell(table, row, 1)->number,
                             .order = dw_table_cell(table, row, 2)->number};
        snprintf(line->part, sizeof line->part, "%s", part ? part : "");
    }
    dw_sheet_free(sheet);
}

static void take_marks(DwLiveSpectrum *spectrum, const DwSpeedSettings *settings, double turn_hz)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = settings->drive_given ? dw_drive_rates(&settings->drive, 60 * turn_hz, rates) : 0;
    spectrum->marks = 0;
    for (size_t i = 0; i < count && spectrum->marks < DW_LIVE_MARKS; i++) {
        const DwRate *rate = &rates[i];
        if (rate->part == DW_PART_RECORD || rate->rate_hz < dw_live_spectrum_low_hz ||
            rate->rate_hz > dw_live_spectrum_high_hz)
            continue; // the record turns with the platter
        DwLiveMark *mark = &spectrum->mark[spectrum->marks++];
        mark->hz = rate->rate_hz;
        const char *more = rate->what ? rate->what : rate->turn;
        snprintf(mark->part, sizeof mark->part, "%s%s%s", dw_part_word(rate->part), more ? ": " : "", more ? more : "");
    }
}

void dw_live_spectrum_take(DwLiveSpectrum *spectrum, const DwSpeedAnalysis *analysis, const DwToneRun *run,
                           const DwSpeedSettings *settings)
{
    double turn_hz = dw_speed_analysis_turn_hz(analysis, run, settings);
    spectrum->made++;
    spectrum->over_s = (double)analysis->count / analysis->rate_hz;
    take_bins(spectrum, analysis);
    take_lines(spectrum, analysis, settings, turn_hz, dw_speed_expected_turn_hz(analysis, run, settings));
    take_marks(spectrum, settings, turn_hz);
}

void dw_live_spectrum_forget(DwLiveSpectrum *spectrum)
{
    spectrum->over_s = 0;
    spectrum->lines = 0;
    for (size_t i = 0; i < DW_LIVE_BINS; i++)
        spectrum->percent[i] = NAN;
}
