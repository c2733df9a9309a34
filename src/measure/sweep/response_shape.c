// SPDX-License-Identifier: MIT
// What the shape of a response tells: an equalisation too many or too few, a
// loading peak, a tip that has lost its treble.
#include "measure/sweep/response_analysis.h"

#include "physics/riaa.h"

#include <math.h>

static const double LEAST_OFF_DB = 3; // rms departure below which nothing is said
static const double FITS = 0.4;       // what a shape may leave of it
static const double LEAST_OCTAVES = 3.3;
static const double PEAK_DB = 1.5; // a treble peak worth a word
static const double FALL_DB = 3;   // treble that load does not explain
static const double TIP_LOW_HZ = 8000, TIP_HIGH_HZ = 16000;

// A candidate shape at FREQUENCY_HZ, over 1 kHz.
static double shape_db(DwResponseShape shape, double frequency_hz)
{
    switch (shape) {
    case DW_RESPONSE_SHAPE_NONE:
        return 0;
    case DW_RESPONSE_SHAPE_RIAA_TWICE:
        return dw_riaa_replay_db(frequency_hz, false);
    case DW_RESPONSE_SHAPE_RIAA_MISSING:
        return -dw_riaa_replay_db(frequency_hz, false);
    case DW_RESPONSE_SHAPE_TREBLE_CUT:
        return dw_riaa_treble_db(frequency_hz);
    case DW_RESPONSE_SHAPE_TREBLE_LIFT:
        return -dw_riaa_treble_db(frequency_hz);
    }
    return 0;
}

// Rms of what SHAPE leaves of LINE about its mean, between 30 Hz and 12 kHz,
// where cartridges are still flat.
static double left_over_db(const DwResponseLine *line, DwResponseShape shape)
{
    double sum = 0, squares = 0, count = 0;
    for (size_t i = 0; i < line->count; i++) {
        double hz = line->frequency_hz[i];
        if (hz < 30 || hz > 12000)
            continue;
        double off = line->level_db[i] - shape_db(shape, hz);
        sum += off;
        squares += off * off;
        count++;
    }
    return count > 4 ? sqrt(fmax(0, squares / count - sum / count * sum / count)) : NAN;
}

DwResponseShape dw_response_shape(const DwResponseLine *line)
{
    if (line->count < 5 || log2(line->frequency_hz[line->count - 1] / line->frequency_hz[0]) < LEAST_OCTAVES)
        return DW_RESPONSE_SHAPE_NONE;
    double plain = left_over_db(line, DW_RESPONSE_SHAPE_NONE), least = plain;
    DwResponseShape best = DW_RESPONSE_SHAPE_NONE;
    for (int i = DW_RESPONSE_SHAPE_RIAA_TWICE; i <= DW_RESPONSE_SHAPE_TREBLE_LIFT; i++) {
        double left = left_over_db(line, (DwResponseShape)i);
        if (left < least) {
            least = left;
            best = (DwResponseShape)i;
        }
    }
    return plain > LEAST_OFF_DB && least < FITS * plain ? best : DW_RESPONSE_SHAPE_NONE;
}

// The load's response over 1 kHz.
static double load_db(const DwLoading *loading, double frequency_hz)
{
    return dw_loading_response_db(loading, frequency_hz) - dw_loading_response_db(loading, 1000);
}

// The highest point above 2 kHz that has lower ones on both sides; false without one.
static bool find_peak(const DwResponseLine *line, double *hz, double *db)
{
    size_t peak = 0;
    for (size_t i = 1; i + 1 < line->count; i++)
        if (line->frequency_hz[i] > 2000 && (!peak || line->level_db[i] > line->level_db[peak]))
            peak = i;
    if (!peak || line->level_db[peak] < PEAK_DB || line->level_db[peak + 1] >= line->level_db[peak])
        return false;
    *hz = line->frequency_hz[peak];
    *db = line->level_db[peak];
    return true;
}

static void say_peak(const DwResponse *response, const char *name, const DwResponseLine *line, DwSheet *sheet)
{
    double hz, db, load_hz, height;
    if (!find_peak(line, &hz, &db))
        return;
    const DwLoading *loading = response->settings.loading;
    if (!loading) {
        dw_sheet_remark(
            sheet,
            "The %s treble peaks by %.1f dB at %.0f Hz. Give cartridge.inductance, cartridge.resistance and "
            "the load to see whether it is the loading.",
            name, db, hz);
        return;
    }
    bool computed = dw_loading_peak(loading, &height, &load_hz);
    double there = load_db(loading, hz);
    if (computed && fabs(log2(load_hz / hz)) < 0.5 && fabs(there - db) < 1.5)
        dw_sheet_remark(
            sheet,
            "The %s treble peak of %.1f dB at %.0f Hz is the loading's: %.1f dB at %.0f Hz is computed. Less "
            "load capacitance, or a lower load resistance, takes it away.",
            name, db, hz, height, load_hz);
    else
        dw_sheet_remark(sheet,
                        "The %s treble peaks by %.1f dB at %.0f Hz, where the load explains %.1f dB: the stylus's own "
                        "resonance, or a load other than stated.",
                        name, db, hz, there);
}

// How far LINE lies under what the load explains, mean over the top octave.
static double fall_db(const DwResponse *response, const DwResponseLine *line)
{
    double sum = 0, count = 0;
    for (size_t i = 0; i < line->count; i++) {
        double hz = line->frequency_hz[i];
        if (hz < TIP_LOW_HZ || hz > TIP_HIGH_HZ)
            continue;
        sum += line->level_db[i] - (response->settings.loading ? load_db(response->settings.loading, hz) : 0);
        count++;
    }
    return count ? -sum / count : NAN;
}

void dw_response_say_treble(const DwResponse *response, const DwResponseLine *left, const DwResponseLine *right,
                            DwSheet *sheet)
{
    const DwResponseLine *lines[2] = {left, right};
    double falls[2] = {NAN, NAN};
    for (size_t c = 0; c < 2; c++) {
        if (!lines[c])
            continue;
        const char *name = c ? "right" : "left";
        say_peak(response, name, lines[c], sheet);
        falls[c] = fall_db(response, lines[c]);
        if (falls[c] > FALL_DB && response->settings.loading)
            dw_sheet_remark(
                sheet,
                "The %s treble lies %.1f dB under what the load explains from 8 to 16 kHz: a worn, dirty or "
                "wrong tip, or a groove near the label. Clean the tip, look at it, and try an outer band.",
                name, falls[c]);
        else if (falls[c] > FALL_DB)
            dw_sheet_remark(sheet,
                            "The %s treble lies %.1f dB low from 8 to 16 kHz: tip, load or an inner groove. Give "
                            "cartridge.inductance, cartridge.resistance and the load to tell the load from the tip.",
                            name, falls[c]);
    }
    if (fabs(falls[0] - falls[1]) > FALL_DB)
        dw_sheet_remark(
            sheet,
            "The %s treble is %.1f dB lower than the other's. The load is alike for both, so look at the tip "
            "(worn on one side), its angle, and that channel's lead.",
            falls[0] > falls[1] ? "left" : "right", fabs(falls[0] - falls[1]));
}
