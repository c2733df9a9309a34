// SPDX-License-Identifier: MIT
#include "synth/voice.h"

#include <math.h>
#include <stddef.h>

// F1, F2, F3 in Hz, averages of men's vowels (from memory, see the header).
static const double vowels[][DW_VOICE_FORMANTS] = {
    {270, 2290, 3010}, {530, 1840, 2480}, {660, 1720, 2410}, {730, 1090, 2440},
    {570, 840, 2410},  {300, 870, 2240},  {640, 1190, 2390},
};
static const double bandwidths_hz[DW_VOICE_FORMANTS] = {80, 100, 140};
static const double weights[DW_VOICE_FORMANTS] = {0.5, 0.25, 0.12};

void dw_voice_init(DwVoice *voice, uint64_t seed, double rate_hz, double speed)
{
    *voice = (DwVoice){.rate_hz = rate_hz, .speed = speed};
    dw_random_init(&voice->random, seed, DW_STREAM_VOICE);
}

static void tune_formant(DwFormant *formant, double frequency_hz, double bandwidth_hz, double weight, double rate_hz)
{
    if (frequency_hz > 0.45 * rate_hz) { // it would fold back: the rate cannot hold it
        *formant = (DwFormant){0};
        return;
    }
    double radius = exp(-M_PI * bandwidth_hz / rate_hz);
    double angle = 2 * M_PI * frequency_hz / rate_hz;
    formant->a1 = 2 * radius * cos(angle);
    formant->a2 = -radius * radius;
    formant->gain = weight * sin(angle); // one pulse then rings with the peak WEIGHT
}

static void start_syllable(DwVoice *voice)
{
    DwRandom *random = &voice->random;
    size_t vowel = (size_t)dw_random_between(random, 0, sizeof vowels / sizeof *vowels);
    for (int i = 0; i < DW_VOICE_FORMANTS; i++)
        tune_formant(&voice->formants[i], vowels[vowel][i] * voice->speed, bandwidths_hz[i] * voice->speed, weights[i],
                     voice->rate_hz);
    double seconds = dw_random_between(random, 0.12, 0.28) / voice->speed;
    voice->length = ceil(seconds * voice->rate_hz);
    voice->pitch_hz = dw_random_between(random, 95, 150) * voice->speed;
    voice->pitch_slope = voice->pitch_hz * dw_random_between(random, -0.2, 0.1) / voice->length;
    voice->silent = false;
    voice->syllables--;
}

static void start_pause(DwVoice *voice)
{
    voice->syllables = (int)dw_random_between(&voice->random, 2, 7);
    voice->length = ceil(dw_random_between(&voice->random, 0.08, 0.4) / voice->speed * voice->rate_hz);
    voice->silent = true;
}

static double next_pulse(DwVoice *voice)
{
    if (voice->silent)
        return 0;
    voice->turns += (voice->pitch_hz + voice->pitch_slope * voice->at) / voice->rate_hz;
    if (voice->turns < 1)
        return 0;
    voice->turns -= 1;
    double envelope = sin(M_PI * voice->at / voice->length);
    return envelope * envelope;
}

double dw_voice_next(DwVoice *voice)
{
    if (voice->at >= voice->length) {
        voice->at = 0;
        if (voice->syllables > 0)
            start_syllable(voice);
        else
            start_pause(voice);
    }
    double pulse = next_pulse(voice);
    double sum = 0;
    for (int i = 0; i < DW_VOICE_FORMANTS; i++) {
        DwFormant *formant = &voice->formants[i];
        double value = formant->gain * pulse + formant->a1 * formant->last + formant->a2 * formant->before;
        formant->before = formant->last;
        formant->last = value;
        sum += value;
    }
    voice->at++;
    return sum;
}
