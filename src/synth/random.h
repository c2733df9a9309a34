// SPDX-License-Identifier: MIT
// Chance that repeats: the same seed gives the same numbers everywhere.
#ifndef DW_SYNTH_RANDOM_H
#define DW_SYNTH_RANDOM_H

#include <stdint.h>

// Each use of chance has its own stream, so that adding one fault to a
// recording changes none of the others.
typedef enum {
    DW_STREAM_NOISE_LEFT,
    DW_STREAM_NOISE_RIGHT,
    DW_STREAM_LINES,
    DW_STREAM_FLUTTER,
    DW_STREAM_RUMBLE_LATERAL,
    DW_STREAM_RUMBLE_VERTICAL,
    DW_STREAM_TICK_TIMES,
    DW_STREAM_TICK_SHAPES,
    DW_STREAM_LEAD_TIMES,
    DW_STREAM_LEAD_SHAPES,
    DW_STREAM_DROPOUTS,
    DW_STREAM_VOICE,
    DW_STREAM_ARM_FLUTTER,
    DW_STREAM_MUSIC_NOTES,
    DW_STREAM_MUSIC_NOISE,
    DW_STREAM_MUSIC_CLAPS,
    DW_STREAM_PICTURES,
    DW_STREAM_FRAME_TIMES,
} DwStream;

typedef struct {
    uint64_t state[4];
    double spare; // the second value of a Gaussian pair, or NAN
} DwRandom;

// The same SEED and STREAM give the same numbers on every machine.
void dw_random_init(DwRandom *random, uint64_t seed, DwStream stream);
// The next 64 random bits.
// Reference: D. Blackman and S. Vigna, "Scrambled Linear Pseudorandom Number
// Generators", ACM Transactions on Mathematical Software 47 (2021), generator
// xoshiro256**; seeded by splitmix64 (S. Vigna) as its authors advise.
uint64_t dw_random_bits(DwRandom *random);
// Uniform from LOW up to, but without, HIGH.
double dw_random_between(DwRandom *random, double low, double high);
// Normal, mean 0, standard deviation 1.
// Reference: G. Marsaglia and T. A. Bray, "A Convenient Method for Generating
// Normal Variables", SIAM Review 6 (1964), the polar method.
double dw_random_normal(DwRandom *random);
// Exponential with mean 1: the wait for the next chance event.
double dw_random_wait(DwRandom *random);

#endif
