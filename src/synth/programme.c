// SPDX-License-Identifier: MIT
#include "synth/programme.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

#define FADE_S 5e-3

static void add_part(DwProgramme *programme, DwPartKind kind, double tone_hz, double length_s, double clock_hz)
{
    double length = round(length_s * clock_hz);
    if (length <= 0)
        return;
    DwProgrammePart part = {
        .kind = kind, .tone_hz = tone_hz, .begin = programme->frames, .end = programme->frames + length};
    programme->parts[programme->count++] = part;
    programme->frames = part.end;
}

static void add_band(DwProgramme *programme, const DwBand *band, double clock_hz)
{
    DwPartKind last = programme->count ? programme->parts[programme->count - 1].kind : DW_PART_LIFTED;
    if (last == DW_PART_VOICE || last == DW_PART_BAND)
        add_part(programme, DW_PART_QUIET, 0, DW_PROGRAMME_QUIET_S, clock_hz);
    add_part(programme, DW_PART_BAND, band->tone_hz, band->length_s, clock_hz);
}

void dw_programme_make(const DwSettings *settings, DwProgramme *programme)
{
    double clock_hz = settings->clock_hz;
    // Three parts lead in, and each band may bring a quiet one.
    size_t most = 3 + 2 * (settings->before.count + 1 + settings->after.count);
    *programme = (DwProgramme){.parts = dw_memory_new(most, sizeof(DwProgrammePart))};
    add_part(programme, DW_PART_LIFTED, 0, settings->lead_silence_s, clock_hz);
    programme->groove = programme->frames;
    add_part(programme, DW_PART_RUN_IN, 0, settings->lead_crackle_s, clock_hz);
    add_part(programme, DW_PART_VOICE, 0, settings->announcement_s, clock_hz);
    for (size_t i = 0; i < settings->before.count; i++)
        add_band(programme, &settings->before.bands[i], clock_hz);
    add_band(programme, &settings->tone, clock_hz);
    programme->tone = programme->count - 1;
    if (settings->music)
        programme->parts[programme->tone].kind = DW_PART_MUSIC;
    for (size_t i = 0; i < settings->after.count; i++)
        add_band(programme, &settings->after.bands[i], clock_hz);
}

void dw_programme_make_side(const DwSettings *settings, double length_s, DwProgramme *programme)
{
    *programme = (DwProgramme){.parts = dw_memory_new(2, sizeof(DwProgrammePart))};
    add_part(programme, DW_PART_LIFTED, 0, settings->lead_silence_s, settings->clock_hz);
    programme->groove = programme->frames;
    add_part(programme, DW_PART_SIDE, 0, length_s, settings->clock_hz);
    programme->tone = programme->count - 1;
}

void dw_programme_clear(DwProgramme *programme)
{
    free(programme->parts);
    *programme = (DwProgramme){0};
}

double dw_programme_fade(const DwProgramme *programme, size_t index, double frame, double rate_hz)
{
    const DwProgrammePart *part = &programme->parts[index];
    double since = index > 0 ? (frame - part->begin) / rate_hz : INFINITY;
    double left = index + 1 < programme->count ? (part->end - 1 - frame) / rate_hz : INFINITY;
    double nearest = fmin(since, left);
    return nearest < FADE_S ? (1 - cos(M_PI * nearest / FADE_S)) / 2 : 1;
}
