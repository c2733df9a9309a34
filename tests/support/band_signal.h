// SPDX-License-Identifier: MIT
// Bands of a test record as a described pickup would give them, with known
// truth: each output is a 2 × 2 matrix of the two groove walls' movements.
#ifndef DW_TESTS_SUPPORT_BAND_SIGNAL_H
#define DW_TESTS_SUPPORT_BAND_SIGNAL_H

#include "measure/band/band_set.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

// What plays the record. Zeros are a perfect pickup but for `gain` and `speed`.
typedef struct {
    double rate_hz, tone_hz;
    double rotation_deg;  // the pickup's top leans toward the spindle
    double leak[2];       // of left into right, of right into left; in phase
    double quadrature;    // leak both ways, a quarter turn late
    double gain[2];       // left, right
    double speed;         // 1 is nominal
    double wow;           // peak share, at 0.555 Hz, with a tenth of it at 9 Hz
    double ticks;         // one a second, half a millisecond long, in halves of full scale
    double noise;         // standard deviation, full scale 1
    double hum, rumble;   // peak: 50 Hz with its harmonics, 11 Hz
    double second, third; // harmonics as shares of the channel's tone
    double limit[2];      // tops of the wave above it are squeezed; 0: not
    bool swapped, reversed, strapped, dead[2];
} BandDeck;

static inline BandDeck band_deck(double rate_hz)
{
    return (BandDeck){.rate_hz = rate_hz, .tone_hz = 1000, .gain = {1, 1}, .speed = 1};
}

// The same with what every real recording has.
static inline BandDeck band_deck_real(double rate_hz)
{
    BandDeck deck = band_deck(rate_hz);
    deck.speed = 1.004;
    deck.wow = 0.0015;
    deck.noise = 0.0008; // about −50 dB under the tone
    deck.hum = 0.0008;
    deck.rumble = 0.004;
    return deck;
}

// A recording that grows.
typedef struct {
    float *samples; // two channels, interleaved
    size_t frames, room;
    uint64_t chance;
    size_t tick_at;
} BandSignal;

static inline double band_normal(BandSignal *signal)
{
    double sum = 0;
    for (int i = 0; i < 4; i++) { // near enough to a bell
        signal->chance = signal->chance * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(signal->chance >> 11) / 9007199254740992.0 - 0.5;
    }
    return sum * sqrt(3.0);
}

// The tone's angle at TIME.
static inline double band_angle(const BandDeck *deck, double tone_hz, double time)
{
    double slow = 2 * M_PI * 0.555, fast = 2 * M_PI * 9;
    return 2 * M_PI * tone_hz * deck->speed *
           (time + deck->wow * (sin(slow * time) / slow + 0.1 * sin(fast * time) / fast));
}

static inline double band_squeeze(double value, double limit)
{
    return limit > 0 && value > limit ? limit + 0.1 * limit * tanh((value - limit) / (0.1 * limit)) : value;
}

// One output of a wave whose fundamental is SIZE at angle ANGLE with phase PHASE.
static inline double band_wave(const BandDeck *deck, size_t channel, double size, double phase, double angle)
{
    double a = angle + phase;
    double value = size * (cos(a) + deck->second * cos(2 * a) + deck->third * sin(3 * a));
    return band_squeeze(value, deck->limit[channel]);
}

// The outputs for walls that move by WALL, before wiring faults.
static inline void band_matrix(const BandDeck *deck, const double wall[2], double complex output[2])
{
    double c = cos(deck->rotation_deg * M_PI / 180), s = sin(deck->rotation_deg * M_PI / 180);
    double complex turned[2] = {c * wall[0] - s * wall[1], s * wall[0] + c * wall[1]};
    output[0] = deck->gain[0] * (turned[0] + (deck->leak[1] - I * deck->quadrature) * turned[1]);
    output[1] = deck->gain[1] * (turned[1] + (deck->leak[0] - I * deck->quadrature) * turned[0]);
}

static inline void band_wire(const BandDeck *deck, double out[2])
{
    if (deck->reversed)
        out[1] = -out[1];
    if (deck->strapped)
        out[0] = out[1] = (out[0] + out[1]) / 2;
    for (int c = 0; c < 2; c++)
        if (deck->dead[c])
            out[c] = 0;
    if (deck->swapped) {
        double left = out[0];
        out[0] = out[1];
        out[1] = left;
    }
}

static inline void band_append(BandSignal *signal, const BandDeck *deck, const double out[2], double time)
{
    if (signal->frames == signal->room) {
        signal->room = signal->room * 2 + 65536;
        signal->samples = realloc(signal->samples, signal->room * 2 * sizeof(float));
    }
    double mains = 2 * M_PI * 50 * time;
    double hum = deck->hum * (sin(mains) + 0.5 * sin(3 * mains) + 0.1 * sin(20 * mains + 1));
    double rumble = deck->rumble * sin(2 * M_PI * 11 * time);
    if (deck->ticks > 0 && fmod((double)signal->frames, deck->rate_hz) == 0)
        signal->tick_at = signal->frames + (size_t)(deck->rate_hz * (0.5 + 0.1 * band_normal(signal)));
    size_t since = signal->frames - signal->tick_at;
    double tick = signal->tick_at && since < (size_t)(deck->rate_hz * 0.0005) ? 0.5 * deck->ticks : 0;
    for (size_t c = 0; c < 2; c++)
        signal->samples[2 * signal->frames + c] =
            (float)(out[c] + tick + hum + (c ? 0.7 : 1) * rumble + deck->noise * band_normal(signal));
    signal->frames++;
}

// A band of WALL movements {left, right}, SECONDS long. Returned: where it begins.
static inline double band_play(BandSignal *signal, const BandDeck *deck, double left, double right, double seconds)
{
    double complex size[2];
    band_matrix(deck, (const double[2]){left, right}, size);
    size_t count = (size_t)(seconds * deck->rate_hz), begin = signal->frames;
    for (size_t n = 0; n < count; n++) {
        double time = (double)signal->frames / deck->rate_hz, angle = band_angle(deck, deck->tone_hz, time), out[2];
        for (size_t c = 0; c < 2; c++)
            out[c] = band_wave(deck, c, cabs(size[c]), carg(size[c]), angle);
        band_wire(deck, out);
        band_append(signal, deck, out, time);
    }
    return (double)begin / deck->rate_hz;
}

// The unmodulated groove between bands.
static inline void band_gap(BandSignal *signal, const BandDeck *deck, double seconds)
{
    size_t count = (size_t)(seconds * deck->rate_hz);
    for (size_t n = 0; n < count; n++)
        band_append(signal, deck, (const double[2]){0, 0}, (double)signal->frames / deck->rate_hz);
}

// Left, right and both at LEVEL, as a test record has them, SECONDS each.
static inline void band_play_record(BandSignal *signal, const BandDeck *deck, double level, double seconds)
{
    band_gap(signal, deck, 1);
    band_play(signal, deck, level, 0, seconds);
    band_gap(signal, deck, 1);
    band_play(signal, deck, 0, level, seconds);
    band_gap(signal, deck, 1);
    band_play(signal, deck, level, level, seconds);
    band_gap(signal, deck, 1);
}

// Feeds SIGNAL, as one of CHANNELS (mono: the left one), in blocks of BLOCK frames.
static inline void band_feed(DwBandSet *set, const BandSignal *signal, double rate_hz, unsigned channels, size_t block)
{
    float *mono = malloc(signal->frames * sizeof *mono);
    for (size_t n = 0; n < signal->frames; n++)
        mono[n] = signal->samples[2 * n];
    const float *samples = channels == 1 ? mono : signal->samples;
    dw_band_set_begin(set, rate_hz, channels, 0);
    for (size_t at = 0; at < signal->frames; at += block)
        dw_band_set_push(set, samples + at * channels, signal->frames - at < block ? signal->frames - at : block);
    dw_band_set_end(set);
    free(mono);
}

static inline void band_clear(BandSignal *signal)
{
    free(signal->samples);
    *signal = (BandSignal){0};
}

#endif
