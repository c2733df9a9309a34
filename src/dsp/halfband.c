// SPDX-License-Identifier: MIT
#include "dsp/halfband.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/fir.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// The taps are 0.5 in the middle, zero at even distances and `arm` at odd ones.
// The input waits in two halves, its even and its odd samples, so that the
// inner loop runs along the signal and vectorises.
struct DwHalfband {
    float *arm; // tap at distance 2k + 1
    size_t arms;
    float *even, *odd;
    size_t even_count, odd_count, room;
    size_t first; // index in `even` and `odd` of the next output's centre
    int next_is_odd;
};

DwHalfband *dw_halfband_new(double pass, double attenuation_db)
{
    DwFir fir = dw_fir_lowpass(pass, 0.5 - pass, attenuation_db);
    DwHalfband *halfband = dw_memory_new(1, sizeof *halfband);
    size_t half = fir.count / 2;
    halfband->arms = (half + 1) / 2; // the outermost tap counts only where its distance is odd
    halfband->arm = dw_memory_new(halfband->arms, sizeof(float));
    double sum = 0;
    for (size_t k = 0; k < halfband->arms; k++)
        sum += 2 * fir.taps[half + 2 * k + 1];
    for (size_t k = 0; k < halfband->arms; k++) // the odd taps sum to one half, so that the gain at zero is 1
        halfband->arm[k] = (float)(fir.taps[half + 2 * k + 1] * 0.5 / sum);
    dw_fir_clear(&fir);
    // Before the first sample stands silence.
    halfband->room = 4096 + 2 * halfband->arms;
    halfband->even = dw_memory_new(halfband->room, sizeof(float));
    halfband->odd = dw_memory_new(halfband->room, sizeof(float));
    halfband->even_count = halfband->odd_count = halfband->first = halfband->arms;
    return halfband;
}

void dw_halfband_free(DwHalfband *halfband)
{
    if (!halfband)
        return;
    free(halfband->arm);
    free(halfband->even);
    free(halfband->odd);
    free(halfband);
}

// Makes room for MORE samples in each half, dropping what no output needs.
static void make_room(DwHalfband *halfband, size_t more)
{
    size_t drop = halfband->first - halfband->arms;
    memmove(halfband->even, halfband->even + drop, (halfband->even_count - drop) * sizeof(float));
    memmove(halfband->odd, halfband->odd + drop, (halfband->odd_count - drop) * sizeof(float));
    halfband->even_count -= drop;
    halfband->odd_count -= drop;
    halfband->first -= drop;
    if (halfband->even_count + more > halfband->room) {
        halfband->room = halfband->even_count + more;
        halfband->even = dw_memory_resize(halfband->even, halfband->room, sizeof(float));
        halfband->odd = dw_memory_resize(halfband->odd, halfband->room, sizeof(float));
    }
}

DW_WIDE static void split(DwHalfband *halfband, const float *input, size_t count)
{
    size_t i = 0;
    if (halfband->next_is_odd && count) {
        halfband->odd[halfband->odd_count++] = input[i++];
        halfband->next_is_odd = 0;
    }
    float *restrict even = halfband->even + halfband->even_count;
    float *restrict odd = halfband->odd + halfband->odd_count;
    const float *restrict from = input + i;
    size_t pairs = (count - i) / 2;
    for (size_t n = 0; n < pairs; n++) {
        even[n] = from[2 * n];
        odd[n] = from[2 * n + 1];
    }
    halfband->even_count += pairs;
    halfband->odd_count += pairs;
    if ((count - i) % 2) {
        halfband->even[halfband->even_count++] = input[count - 1];
        halfband->next_is_odd = 1;
    }
}

// The middle tap and ARMS arms for COUNT outputs, in one pass; ARMS is a constant where it is called, and the loop runs
// along the signal and vectorises. Sums are taken from the middle outwards, however many arms go with a pass.
static inline __attribute__((always_inline)) void begin(const float *arm, size_t arms, const float *even,
                                                        const float *odd, float *restrict to, size_t count)
{
    for (size_t n = 0; n < count; n++) {
        float sum = 0.5f * even[n];
#pragma GCC unroll 16
        for (size_t k = 0; k < arms; k++)
            sum += arm[k] * (odd[n - 1 - k] + odd[n + k]);
        to[n] = sum;
    }
}

// The next OUTPUTS outputs, all of whose inputs are there.
DW_WIDE static void convolve(const DwHalfband *halfband, float *restrict output, size_t outputs)
{
    enum { PIECE = 512 }; // stays in the nearest cache while every tap passes over it
    for (size_t start = 0; start < outputs; start += PIECE) {
        size_t count = outputs - start < PIECE ? outputs - start : PIECE, k = 4;
        const float *even = halfband->even + halfband->first + start, *odd = halfband->odd + halfband->first + start;
        const float *arm = halfband->arm;
        float *restrict to = output + start;
        switch (halfband->arms) { // the usual ones in one pass
        case 5:
            begin(arm, 5, even, odd, to, count);
            k = 5;
            break;
        case 9:
            begin(arm, 9, even, odd, to, count);
            k = 9;
            break;
        default:
            k = halfband->arms < 4 ? 0 : 4;
            if (k)
                begin(arm, 4, even, odd, to, count);
            else
                begin(arm, 0, even, odd, to, count);
            break;
        }
        for (; k < halfband->arms; k++)
            for (size_t n = 0; n < count; n++)
                to[n] += arm[k] * (odd[n - 1 - k] + odd[n + k]);
    }
}

// Writes the outputs that are complete. Returned: how many.
static size_t take_outputs(DwHalfband *halfband, float *output)
{
    // Output n needs odd samples n − arms … n + arms − 1 and even sample n.
    size_t limit = halfband->odd_count + 1 > halfband->arms ? halfband->odd_count + 1 - halfband->arms : 0;
    if (limit > halfband->even_count)
        limit = halfband->even_count;
    size_t outputs = limit > halfband->first ? limit - halfband->first : 0;
    convolve(halfband, output, outputs);
    halfband->first += outputs;
    return outputs;
}

size_t dw_halfband_push(DwHalfband *halfband, const float *input, size_t count, float *output)
{
    make_room(halfband, count / 2 + 2);
    split(halfband, input, count);
    return take_outputs(halfband, output);
}

// Frame pairs of two channels into the halves of both.
DW_WIDE static void split_pairs(DwHalfband *const two[2], const float *restrict from, size_t pairs)
{
    float *restrict left_even = two[0]->even + two[0]->even_count, *restrict left_odd = two[0]->odd + two[0]->odd_count;
    float *restrict right_even = two[1]->even + two[1]->even_count, *restrict right_odd =
                                                                        two[1]->odd + two[1]->odd_count;
    for (size_t n = 0; n < pairs; n++) {
        left_even[n] = from[4 * n];
        right_even[n] = from[4 * n + 1];
        left_odd[n] = from[4 * n + 2];
        right_odd[n] = from[4 * n + 3];
    }
}

size_t dw_halfband_push_two(DwHalfband *const two[2], const float *interleaved, size_t frames, float *const output[2])
{
    bool begun = two[0]->next_is_odd && frames;
    size_t pairs = (frames - begun) / 2;
    for (size_t c = 0; c < 2; c++) {
        make_room(two[c], frames / 2 + 2);
        if (begun)
            split(two[c], interleaved + c, 1);
    }
    split_pairs(two, interleaved + 2 * begun, pairs);
    for (size_t c = 0; c < 2; c++) {
        two[c]->even_count += pairs;
        two[c]->odd_count += pairs;
        if ((frames - begun) % 2)
            split(two[c], interleaved + 2 * (frames - 1) + c, 1);
    }
    size_t outputs = take_outputs(two[0], output[0]);
    take_outputs(two[1], output[1]);
    return outputs;
}

size_t dw_halfband_finish(DwHalfband *halfband, float *output)
{
    size_t silence = 2 * halfband->arms + (size_t)halfband->next_is_odd;
    float *zeros = dw_memory_new(silence, sizeof *zeros);
    size_t owed = halfband->even_count - halfband->first;
    size_t given = dw_halfband_push(halfband, zeros, silence, output);
    free(zeros);
    return given < owed ? given : owed;
}
