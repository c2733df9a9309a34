// SPDX-License-Identifier: MIT
// What noise.c holds of a silent groove, and what is worked out of it before it
// becomes readings.
#ifndef DW_MEASURE_NOISE_ANALYSIS_H
#define DW_MEASURE_NOISE_ANALYSIS_H

#include "measure/band/noise.h"
#include "measure/band/noise_ticks.h"

// The directions of rumble. With one channel recorded there is only "both".
typedef enum { DW_NOISE_BOTH, DW_NOISE_LATERAL, DW_NOISE_VERTICAL, DW_NOISE_DIRECTIONS } DwNoiseDirection;

// Mean squares of one segment, a channel's worth: lateral and vertical add up to both where no channel was raised.
typedef struct {
    double unweighted[DW_NOISE_DIRECTIONS];
    double weighted[DW_NOISE_DIRECTIONS];
    double hiss;
} DwNoisePowers;

typedef struct {
    DwNoisePowers groove;        // ticks bridged over, the bridges' share made up for
    DwNoisePowers with_ticks;    // as it stands
    unsigned ticks, ticks_after; // that begin in its first half, and in its second, which the next segment counts too
    double spoilt;               // share bridged over
    bool buzz;                   // so many that they were left in: no ticks but a buzz
} DwNoiseSegment;

// Segments of a spectrum, added up. Powers are those of a sine's amplitude on
// the bin, behind the replay equalisation.
typedef struct {
    double *left, *right, *common; // common: the real part of left times right's conjugate
    DwNoiseSegment *segments;
    size_t segment_count, segment_room;
    double *tick_s; // when each tick came
    size_t tick_count, tick_room;
    double start_s, end_s;
    double level_db; // of the middle band, of the first segment
} DwNoiseRun;

struct DwNoise {
    DwNoiseSettings settings;
    double share[2]; // of each channel in the mean of both
    size_t size, bins;
    double step_hz;
    struct DwFft *fft;
    double *sample[2], (*spectrum[2])[2];
    double *gain, *unweighted, *weighted; // power gains of each bin
    size_t filled;
    size_t start;    // of the segment being filled, in samples
    double *bridged; // one channel of it, its ticks bridged over
    DwTick tick[DW_TICKS_MOST];
    size_t tick_count;
    double spoilt;
    DwNoisePowers with_ticks; // of the held segment
    bool bad;                 // a sample was not a number
    double bad_s;
    DwNoiseRun held; // the segment last taken, when stretches are looked for
    DwNoiseRun run, best;
};

enum { DW_NOISE_HUM_ORDERS = 20, DW_NOISE_HUM_LINES = 2 * DW_NOISE_HUM_ORDERS };

// Hum at the harmonics of the mains, and behind those at the ones of a second hum, mean squares.
typedef struct {
    double hz[DW_NOISE_HUM_LINES];
    double left[DW_NOISE_HUM_LINES], right[DW_NOISE_HUM_LINES]; // 0 where nothing stands out
    double ceiling[DW_NOISE_HUM_LINES];                         // what could hide in the floor, a channel's worth
} DwNoiseHum;

typedef struct {
    double frequency_hz;
    double lateral, vertical; // mean squares; in a recording of one channel only lateral
} DwNoiseLine;

enum { DW_NOISE_LINES_MOST = 16 };

// The stretch of silence to be measured; NULL without one.
const DwNoiseRun *dw_noise_stretch(const DwNoise *noise);
// Why there is nothing to measure; DW_OK when there is.
DwStatus dw_noise_check(const DwNoise *noise, DwMessage *message);
// The ticks of a stretch.
typedef struct {
    unsigned count;
    double spoilt; // mean share bridged over
    bool buzz;     // some segments held so many that they were left in
} DwNoiseTicks;
DwNoiseTicks dw_noise_ticks(const DwNoiseRun *run);
// Mean over the segments of the value at OFFSET of DwNoiseSegment, and the
// half-width of its 95 % interval, relative.
double dw_noise_mean(const DwNoiseRun *run, size_t offset, double *relative_off);
// Which mains the lines are multiples of.
typedef struct {
    double hz;        // as heard; as stated where nothing is heard
    bool heard;       // lines stand at its multiples
    bool is_common;   // within what 50 or 60 Hz wander by; else an inverter's, or none
    bool is_lone;     // by one line only, of neither 50 nor 60 Hz
    double second_hz; // another hum beside it; NAN without one
} DwNoiseMains;
DwNoiseMains dw_noise_find_mains(const DwNoise *noise, const DwNoiseRun *run);
// The lines at multiples of MAINS, and of the hum beside it.
void dw_noise_find_hum(const DwNoise *noise, const DwNoiseRun *run, const DwNoiseMains *mains, DwNoiseHum *hum);
// How far HZ stands beside a multiple of the mains that has a line on its other side: the slip of an induction motor
// lets its hum beat at that rate. NAN without one.
double dw_noise_slip_at(const DwNoiseMains *mains, const DwNoiseLine *lines, size_t count, double hz);
// The fundamental of hum in the segments of RUN, 40 to 70 Hz; NAN where no line stands over what lies beside it.
// *POWER: the sum of its first five multiples, over both channels' bins.
double dw_noise_fundamental(const DwNoise *noise, const DwNoiseRun *run, double *power);
// The strongest lines between 1.5 and 500 Hz, in the order of frequency.
size_t dw_noise_find_lines(const DwNoise *noise, const DwNoiseRun *run, DwNoiseLine lines[DW_NOISE_LINES_MOST]);
// Sum of all hum lines, a channel's worth; with none, what could hide.
// *RELATIVE_OFF: the half-width of its 95 % interval, relative.
double dw_noise_hum_total(const DwNoiseHum *hum, bool *heard, double *relative_off);
// Mean squares by curve A of each direction, without what stands at the multiples of MAINS and of the hum beside it.
void dw_noise_beside_hum(const DwNoise *noise, const DwNoiseRun *run, const DwNoiseMains *mains,
                         double power[DW_NOISE_DIRECTIONS]);
// The number of MAINS_HZ' harmonic at FREQUENCY_HZ, or 0.
unsigned dw_noise_mains_harmonic(double mains_hz, double frequency_hz);
// Lateral and vertical power of BIN, summed over the segments.
void dw_noise_directions(const DwNoise *noise, const DwNoiseRun *run, size_t bin, double power[DW_NOISE_DIRECTIONS]);

#endif
