// SPDX-License-Identifier: MIT
// Writes the recordings that bands.py measures another way:
// write-bands FOLDER. The layout in seconds stands in bands.py.
#include "support/band_file.h"
#include "support/two_tone.h"

#include <stdio.h>

static int write_all(const BandSignal *signal, double rate_hz, const char *folder, const char *name)
{
    char path[4096];
    DwMessage message = {""};
    snprintf(path, sizeof path, "%s/%s.wav", folder, name);
    if (band_write(signal, rate_hz, 0, 1e9, path, &message) == DW_OK)
        return 0;
    fprintf(stderr, "%s\n", message.text);
    return 1;
}

static int write_record(const char *folder, const char *name, BandDeck deck)
{
    BandSignal signal = {0};
    band_play_record(&signal, &deck, 0.25, 6);
    int failed = write_all(&signal, deck.rate_hz, folder, name);
    band_clear(&signal);
    return failed;
}

static int write_steps(const char *folder)
{
    BandDeck deck = band_deck_real(48000);
    deck.tone_hz = 300;
    deck.third = 0.01;
    deck.limit[1] = 0.28;
    BandSignal signal = {0};
    for (int microns = 50; microns <= 80; microns += 10) {
        band_gap(&signal, &deck, 1);
        band_play(&signal, &deck, 0.005 * microns, 0.005 * microns, 4);
    }
    band_gap(&signal, &deck, 1);
    int failed = write_all(&signal, deck.rate_hz, folder, "steps");
    band_clear(&signal);
    return failed;
}

static int write_two_tones(const char *folder)
{
    BandDeck deck = band_deck_real(96000);
    TwoTone tone = {.low_hz = 400, .vertical = 1, .level = {0.01, 0.004}, .pitch = {0.005, 0.02}};
    BandSignal signal = {0};
    band_gap(&signal, &deck, 1);
    two_tone_play(&signal, &deck, &tone, 6);
    band_gap(&signal, &deck, 1);
    int failed = write_all(&signal, deck.rate_hz, folder, "two_tones");
    band_clear(&signal);
    return failed;
}

int main(int count, char **words)
{
    if (count != 2)
        return 2;
    BandDeck first = band_deck_real(48000), second = band_deck_real(96000);
    first.rotation_deg = 1.3;
    first.leak[0] = 0.02;
    first.leak[1] = 0.012;
    first.gain[1] = 0.9;
    first.second = 0.008;
    second.rotation_deg = -0.7;
    second.quadrature = 0.015;
    second.gain[0] = 0.95;
    second.wow = 0.004;
    return write_record(words[1], "first", first) | write_record(words[1], "second", second) | write_steps(words[1]) |
           write_two_tones(words[1]);
}
