// SPDX-License-Identifier: MIT
#include "synth/recording.h"

#include "base/memory.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

DwInputs *inputs_of(const char *operands, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    char *words = dw_memory_text(operands);
    char *rest = words;
    DwStatus status = DW_OK;
    for (char *word = strtok_r(words, " ", &rest); word && status == DW_OK; word = strtok_r(NULL, " ", &rest))
        status = dw_inputs_set_operand(inputs, word, message);
    free(words);
    if (status == DW_OK)
        return inputs;
    dw_inputs_free(inputs);
    return NULL;
}

Recording recording_make(const char *operands)
{
    DwMessage message = {""};
    DwInputs *inputs = inputs_of(operands, &message);
    ck_assert_msg(inputs != NULL, "%s", message.text);
    Recording recording = {0};
    ck_assert_msg(dw_synth_new(inputs, &recording.synth, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
    recording.truth = dw_synth_truth(recording.synth);
    recording.frames = dw_synth_frames(recording.synth);
    recording.channels = (size_t)dw_synth_channels(recording.synth);
    recording.rate_hz = dw_synth_rate(recording.synth);
    recording.samples = dw_memory_new(recording.frames * recording.channels, sizeof(float));
    ck_assert_uint_eq(dw_synth_read(recording.synth, recording.samples, recording.frames), recording.frames);
    float none[2];
    ck_assert_uint_eq(dw_synth_read(recording.synth, none, 1), 0);
    return recording;
}

void recording_clear(Recording *recording)
{
    dw_synth_free(recording->synth);
    free(recording->samples);
}

void recording_check_blocks(const Recording *whole, const char *operands, size_t size)
{
    DwInputs *inputs = inputs_of(operands, NULL);
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, NULL), DW_OK);
    dw_inputs_free(inputs);
    float block[2 * 4096];
    size_t at = 0, made;
    while ((made = dw_synth_read(synth, block, size)) > 0) {
        ck_assert(memcmp(block, whole->samples + at * whole->channels, made * whole->channels * sizeof(float)) == 0);
        at += made;
    }
    ck_assert_uint_eq(at, whole->frames);
    dw_synth_free(synth);
}

double recording_at(const Recording *recording, size_t frame, size_t channel)
{
    return (double)recording->samples[frame * recording->channels + channel];
}

double *recording_channel(const Recording *recording, size_t channel)
{
    double *values = dw_memory_new(recording->frames, sizeof *values);
    for (size_t i = 0; i < recording->frames; i++)
        values[i] = recording_at(recording, i, channel);
    return values;
}

double recording_power(const Recording *recording, size_t channel, double from_s, double to_s)
{
    size_t from = (size_t)round(from_s * recording->rate_hz), to = (size_t)round(to_s * recording->rate_hz);
    ck_assert_uint_le(to, recording->frames);
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += recording_at(recording, i, channel) * recording_at(recording, i, channel);
    return sum / (double)(to - from);
}

double line_peak(const double *values, size_t count, double rate_hz, double frequency_hz, double *phase_rad)
{
    double real = 0, imaginary = 0, weights = 0;
    for (size_t i = 0; i < count; i++) {
        double weight = 1 - cos(2 * M_PI * ((double)i + 0.5) / (double)count);
        double angle = 2 * M_PI * frequency_hz * (double)i / rate_hz;
        real += weight * values[i] * cos(angle);
        imaginary += weight * values[i] * sin(angle);
        weights += weight;
    }
    if (phase_rad)
        *phase_rad = atan2(real, imaginary);
    return 2 * hypot(real, imaginary) / weights;
}

static double phase_about(const Recording *recording, size_t middle, size_t block)
{
    double real = 0, imaginary = 0, tone_hz = recording->truth->tone_hz;
    for (size_t i = middle - block; i < middle + block; i++) {
        double weight = 1 + cos(M_PI * ((double)i - (double)middle) / (double)block);
        double angle = 2 * M_PI * fmod(tone_hz * (double)i / recording->rate_hz, 1);
        real += weight * recording_at(recording, i, 0) * cos(angle);
        imaginary -= weight * recording_at(recording, i, 0) * sin(angle);
    }
    return atan2(imaginary, real);
}

double *recording_speed(const Recording *recording, double from_s, double to_s, size_t block, size_t *count)
{
    size_t from = (size_t)round(from_s * recording->rate_hz), to = (size_t)round(to_s * recording->rate_hz);
    *count = (to - from) / block - 2;
    double *speed = dw_memory_new(*count, sizeof *speed);
    double last = phase_about(recording, from + block, block);
    for (size_t b = 0; b < *count; b++) {
        double phase = phase_about(recording, from + (b + 2) * block, block);
        double turns = remainder(phase - last, 2 * M_PI) / (2 * M_PI);
        speed[b] = turns * recording->rate_hz / (double)block / recording->truth->tone_hz;
        last = phase;
    }
    return speed;
}

double recording_speed_loss(double frequency_hz, double window_s)
{
    double x = frequency_hz * window_s; // periods in a Hann window of this length
    double hann = sin(M_PI * x) / (M_PI * x) / (1 - x * x);
    return hann * sin(M_PI * x / 2) / (M_PI * x / 2);
}
