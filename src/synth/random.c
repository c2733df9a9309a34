// SPDX-License-Identifier: MIT
#include "synth/random.h"

#include <math.h>

static uint64_t split_mix(uint64_t *state)
{
    *state += 0x9e3779b97f4a7c15u;
    uint64_t mixed = *state;
    mixed = (mixed ^ (mixed >> 30)) * 0xbf58476d1ce4e5b9u;
    mixed = (mixed ^ (mixed >> 27)) * 0x94d049bb133111ebu;
    return mixed ^ (mixed >> 31);
}

void dw_random_init(DwRandom *random, uint64_t seed, DwStream stream)
{
    // One round spreads the seed first: neighbouring seeds and streams would
    // otherwise share most of their split-mix sequence.
    uint64_t spread = split_mix(&seed) ^ ((uint64_t)stream + 1) * 0xd1342543de82ef95u;
    for (int i = 0; i < 4; i++)
        random->state[i] = split_mix(&spread);
    random->spare = NAN;
}

static uint64_t rotate_left(uint64_t bits, int places)
{
    return (bits << places) | (bits >> (64 - places));
}

uint64_t dw_random_bits(DwRandom *random)
{
    uint64_t *state = random->state;
    uint64_t result = rotate_left(state[1] * 5, 7) * 9;
    uint64_t shifted = state[1] << 17;
    state[2] ^= state[0];
    state[3] ^= state[1];
    state[1] ^= state[2];
    state[0] ^= state[3];
    state[2] ^= shifted;
    state[3] = rotate_left(state[3], 45);
    return result;
}

double dw_random_between(DwRandom *random, double low, double high)
{
    double part = (double)(dw_random_bits(random) >> 11) * 0x1p-53;
    return low + (high - low) * part;
}

double dw_random_normal(DwRandom *random)
{
    if (!isnan(random->spare)) {
        double value = random->spare;
        random->spare = NAN;
        return value;
    }
    double x, y, square;
    do {
        x = dw_random_between(random, -1, 1);
        y = dw_random_between(random, -1, 1);
        square = x * x + y * y;
    } while (square >= 1 || square == 0);
    double scale = sqrt(-2 * log(square) / square);
    random->spare = y * scale;
    return x * scale;
}

double dw_random_wait(DwRandom *random)
{
    return -log1p(-dw_random_between(random, 0, 1));
}
