// SPDX-License-Identifier: MIT
// What the live figures are called.
#include "measure/live/live_meter.h"

static const DwLiveFigureKind kinds[DW_LIVE_FIGURES] = {
    [DW_LIVE_SPEED_NOW] = {"speed.now", "Speed now", "%", 3},
    [DW_LIVE_SPEED_TURN] = {"speed.turn", "Speed over the last turn", "%", 3},
    [DW_LIVE_SPEED_ERROR] = {"speed.error", "Speed error", "%", 3},
    [DW_LIVE_SPEED_MEAN] = {"speed.mean", "Speed", "rpm", 3},
    [DW_LIVE_DRIFT] = {"speed.drift", "Drift", "%/min", 3},
    [DW_LIVE_WEIGHTED_TWO_SIGMA] = {"flutter.weighted.two_sigma", "Weighted, two-sigma", "%", 4},
    [DW_LIVE_WEIGHTED_QUASI_PEAK] = {"flutter.weighted.quasi_peak", "Weighted, quasi-peak", "%", 4},
    [DW_LIVE_WEIGHTED_RMS] = {"flutter.weighted.rms", "Weighted, rms", "%", 4},
    [DW_LIVE_UNWEIGHTED_TWO_SIGMA] = {"flutter.unweighted.two_sigma", "Unweighted, two-sigma", "%", 4},
    [DW_LIVE_UNWEIGHTED_QUASI_PEAK] = {"flutter.unweighted.quasi_peak", "Unweighted, quasi-peak", "%", 4},
    [DW_LIVE_UNWEIGHTED_RMS] = {"flutter.unweighted.rms", "Unweighted, rms", "%", 4},
    [DW_LIVE_WOW] = {"flutter.wow", "Wow", "%", 4},
    [DW_LIVE_FLUTTER] = {"flutter.flutter", "Flutter", "%", 4},
    [DW_LIVE_FLOOR] = {"flutter.floor", "Floor of the input", "%", 4},
    [DW_LIVE_ONCE_A_TURN] = {"revolution.amplitude", "Once a revolution", "% peak", 4},
    [DW_LIVE_BALANCE] = {"channels.balance", "Channel balance, right over left", "dB", 2},
    [DW_LIVE_SEPARATION_LEFT] = {"channels.separation_left", "Separation, left driven", "dB", 1},
    [DW_LIVE_SEPARATION_RIGHT] = {"channels.separation_right", "Separation, right driven", "dB", 1},
    [DW_LIVE_LEAK_PHASE_LEFT] = {"channels.leak_phase_left", "Phase of the leak, left driven", "deg", 0},
    [DW_LIVE_LEAK_PHASE_RIGHT] = {"channels.leak_phase_right", "Phase of the leak, right driven", "deg", 0},
    [DW_LIVE_ROTATION] = {"azimuth.rotation", "Turn that undoes the tilt, clockwise seen from the front", "deg", 2},
    [DW_LIVE_POLARITY] = {"channels.polarity", "Polarity of lateral movement", "", 0},
    [DW_LIVE_HUM] = {"hum.under_tone", "Hum over the tone, five lines of the mains", "dB", 1},
};

const DwLiveFigureKind *dw_live_figure_kind(DwLiveFigureName name)
{
    return &kinds[name];
}
