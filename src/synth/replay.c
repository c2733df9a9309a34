// SPDX-License-Identifier: MIT
#include "synth/replay.h"

#include "base/memory.h"
#include "dsp/fir.h"
#include "dsp/sections.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>

#define TAPS 255        // the window's edge is then a tenth of the file's band wide
#define WINDOW_BETA 9.0 // 90 dB

struct DwReplay {
    DwSections sections[2];
    double level; // that brings the sections to 1 at 1 kHz
    DwFir fir;
    double *past[2]; // twice the taps: each value is kept twice, so that any run of taps is one piece
    size_t next;
};

double dw_replay_response_db(const DwReplaySettings *settings, double frequency_hz)
{
    double db = dw_loading_tip_db(&settings->tip, frequency_hz) - dw_loading_tip_db(&settings->tip, 1000);
    if (settings->loaded)
        db +=
            dw_loading_response_db(&settings->loading, frequency_hz) - dw_loading_response_db(&settings->loading, 1000);
    if (settings->equalised)
        db += dw_riaa_replay_db(frequency_hz, settings->subsonic);
    return db;
}

// ---- making ---------------------------------------------------------------

static void add_low_pass(DwSections *sections, double natural_hz, double q, double rate_hz)
{
    double omega = 2 * M_PI * natural_hz;
    const double n[3] = {omega * omega, 0, 0}, d[3] = {omega * omega, omega / q, 1};
    dw_sections_append(sections, n, d, rate_hz);
}

static void add_equalisation(DwSections *sections, bool subsonic, double rate_hz)
{
    const double n[3] = {1, DW_RIAA_MIDDLE, 0};
    const double d[3] = {1, DW_RIAA_BASS + DW_RIAA_TREBLE, DW_RIAA_BASS * DW_RIAA_TREBLE};
    dw_sections_append(sections, n, d, rate_hz);
    if (!subsonic)
        return;
    const double cut_n[3] = {0, DW_RIAA_SUBSONIC, 0}, cut_d[3] = {1, DW_RIAA_SUBSONIC, 0};
    dw_sections_append(sections, cut_n, cut_d, rate_hz);
}

// The poles and zeros of the chain; what the bilinear transform bends in the
// treble is left to the symmetric filter.
static DwSections sections_of(const DwReplaySettings *settings, double rate_hz)
{
    DwSections sections = {.count = 0};
    if (settings->loaded) {
        DwLoadingShape shape = dw_loading_shape(&settings->loading);
        add_low_pass(&sections, shape.natural_hz, shape.q, rate_hz);
    }
    if (settings->tip.frequency_hz > 0)
        add_low_pass(&sections, settings->tip.frequency_hz, settings->tip.q, rate_hz);
    if (settings->equalised)
        add_equalisation(&sections, settings->subsonic, rate_hz);
    return sections;
}

typedef struct {
    const DwReplaySettings *settings;
    const DwSections *sections;
    double inside_hz;
    double border; // half the file's rate, as a fraction of the rate inside
    double level;
} Wanted;

static double wanted_gain(double frequency, const void *user)
{
    const Wanted *wanted = user;
    if (frequency > wanted->border)
        return 0;
    double hz = frequency * wanted->inside_hz;
    return pow(10, dw_replay_response_db(wanted->settings, hz) / 20) /
           (wanted->level * dw_sections_gain(wanted->sections, hz, wanted->inside_hz));
}

DwReplay *dw_replay_new(const DwReplaySettings *settings, double rate_hz)
{
    DwReplay *replay = dw_memory_new(1, sizeof *replay);
    double inside_hz = DW_REPLAY_FACTOR * rate_hz;
    replay->sections[0] = replay->sections[1] = sections_of(settings, inside_hz);
    replay->level = 1 / dw_sections_gain(&replay->sections[0], 1000, inside_hz);
    Wanted wanted = {settings, &replay->sections[0], inside_hz, 0.5 / DW_REPLAY_FACTOR, replay->level};
    replay->fir = dw_fir_follow(wanted_gain, &wanted, TAPS, WINDOW_BETA);
    for (int channel = 0; channel < 2; channel++)
        replay->past[channel] = dw_memory_new(2 * replay->fir.count, sizeof *replay->past[channel]);
    return replay;
}

void dw_replay_free(DwReplay *replay)
{
    if (!replay)
        return;
    dw_fir_clear(&replay->fir);
    free(replay->past[0]);
    free(replay->past[1]);
    free(replay);
}

// ---- playing --------------------------------------------------------------

size_t dw_replay_ahead(const DwReplay *replay)
{
    return replay->fir.count / 2;
}

void dw_replay_push(DwReplay *replay, const double generated[2], double heard)
{
    for (int channel = 0; channel < 2; channel++) {
        double value = generated[channel];
        dw_sections_run(&replay->sections[channel], &value, 1);
        double *past = replay->past[channel] + replay->next;
        past[0] = past[replay->fir.count] = replay->level * value + heard;
    }
    replay->next = (replay->next + 1) % replay->fir.count;
}

double dw_replay_read(const DwReplay *replay, int channel)
{
    const double *past = replay->past[channel] + replay->next, *taps = replay->fir.taps;
    size_t last = replay->fir.count - 1, half = last / 2;
    double sum = taps[half] * past[half];
    for (size_t i = 0; i < half; i++)
        sum += taps[i] * (past[i] + past[last - i]);
    return sum;
}
