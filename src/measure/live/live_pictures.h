// SPDX-License-Identifier: MIT
// What is drawn of a live tone as it grows: the revolution raster, the speed of the last ten minutes, the
// flutter by frequency.
#ifndef DW_MEASURE_LIVE_PICTURES_H
#define DW_MEASURE_LIVE_PICTURES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// --- live_raster.c -----------------------------------------------------
// A row a turn, the last turns kept. The place in the turn is counted by the
// tone's own waves, so rows stay in line whatever the speed does.

enum { DW_LIVE_CELLS = 180, DW_LIVE_TURNS = 120 };

// Turn t, 0 the first since the meter began, is row t % DW_LIVE_TURNS; a cell
// that was not measured is NAN. Start it with dw_live_raster_clear().
typedef struct {
    uint64_t begun;   // turns begun; the last of them is growing
    size_t cells;     // complete cells in the growing one
    double place;     // in the turn, 0 … 1
    double sum;       // of the cell that is growing
    unsigned in_cell; // its values
    float value[DW_LIVE_TURNS][DW_LIVE_CELLS];
} DwLiveRaster;

// Makes a raster in which nothing was measured.
void dw_live_raster_clear(DwLiveRaster *raster);
// The tone was found anew: the turn that grew ends where it stands, and the next
// one begins at angle 0.
void dw_live_raster_restart(DwLiveRaster *raster);
// Takes one value of PERCENT (counted when USED) and moves on by TURN of a turn.
void dw_live_raster_push(DwLiveRaster *raster, double percent, bool used, double turn);
// The oldest turn still held.
uint64_t dw_live_raster_first(const DwLiveRaster *raster);

// --- live_history.c ----------------------------------------------------
// The speed of the last ten minutes, a value a second.

enum { DW_LIVE_SECONDS = 600 };

// Second t of what was heard is percent[t % DW_LIVE_SECONDS]: the mean off nominal, NAN where there was none.
// All zero before the first.
typedef struct {
    uint64_t ended; // seconds that are over
    double passed_s, sum;
    unsigned count;
    float percent[DW_LIVE_SECONDS];
} DwLiveHistory;

// STEP_S went by with a speed of PERCENT off nominal, NAN for none.
void dw_live_history_push(DwLiveHistory *history, double step_s, double percent);
// The oldest second still held.
uint64_t dw_live_history_first(const DwLiveHistory *history);

// --- live_spectrum.c ---------------------------------------------------
// The flutter of the last seconds by frequency, its strongest lines with the part that each is traced
// to, and where the parts of a described drive would show.

enum { DW_LIVE_BINS = 180, DW_LIVE_LINES = 6, DW_LIVE_MARKS = 40 };

typedef struct {
    double hz, percent, order; // amplitude, peak; times the platter's rate
    char part[64];             // "motor", "belt or platter"; "" when the drive is not described or none fits
} DwLiveLine;

typedef struct {
    double hz;
    char part[48]; // "belt", "motor: cogging"
} DwLiveMark;

// Bin i goes from LOW·(HIGH/LOW)^(i/BINS) on and holds the highest amplitude in it [% peak]; NAN for none.
typedef struct {
    uint64_t made; // how often it was; 0: not yet
    double over_s;
    float percent[DW_LIVE_BINS];
    DwLiveLine line[DW_LIVE_LINES]; // the strongest first
    DwLiveMark mark[DW_LIVE_MARKS];
    size_t lines, marks;
} DwLiveSpectrum;

extern const double dw_live_spectrum_low_hz, dw_live_spectrum_high_hz;

// It is not of now any more: the lines and amplitudes go, the marks stay.
void dw_live_spectrum_forget(DwLiveSpectrum *spectrum);

#endif
