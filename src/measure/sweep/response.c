// SPDX-License-Identifier: MIT
#include "measure/sweep/response_analysis.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LOWEST_HZ = 12.5;
static const double LOPSIDED = 0.006;    // a tone that fills less of its spectrum is not taken
static const double BREAK_S = 0.25;      // without a tone: the next is another band
static const double BREAK_OCTAVES = 0.5; // a jump does as well
static const double LOOK_S = 0.2;        // either way, to see whether a tone stands
static const double STANDING_OCTAVES_S = 0.03;
static const double ONE_CHANNEL_DB = 6;
static const double SURE_DB = 12; // a worn tip does not part two channels that are driven alike by this much

// Three lengths, each short enough that a sweep does not run away within it
// and long enough for seven periods of its lowest tone.
static const struct {
    double length_s, low_hz, high_hz;
    size_t overlap;
} zones[DW_RESPONSE_ZONES] = {{0.34, 12.5, 170, 4}, {0.08, 160, 1400, 4}, {0.02, 1300, 26000, 2}};

size_t dw_response_bin(double frequency_hz)
{
    double place = floor(log2(frequency_hz / LOWEST_HZ) * DW_RESPONSE_PER_OCTAVE);
    return place < 0 ? 0 : place >= DW_RESPONSE_BINS ? DW_RESPONSE_BINS - 1 : (size_t)place;
}

static size_t zone_of(double frequency_hz)
{
    size_t i = 0;
    while (i + 1 < DW_RESPONSE_ZONES && frequency_hz > zones[i].high_hz)
        i++;
    return i;
}

double dw_response_window_s(double frequency_hz)
{
    return zones[zone_of(frequency_hz)].length_s;
}

double dw_response_alike(double frequency_hz)
{
    return zones[zone_of(frequency_hz)].overlap > 2 ? 1.96 : 1.08;
}

DwResponse *dw_response_new(const DwResponseSettings *settings)
{
    DwResponse *response = dw_memory_new(1, sizeof *response);
    response->settings = *settings;
    return response;
}

void dw_response_free(DwResponse *response)
{
    if (!response)
        return;
    for (size_t i = 0; i < DW_RESPONSE_ZONES; i++)
        dw_tone_track_free(response->zone[i].track);
    free(response);
}

void dw_response_begin(DwResponse *response, double rate_hz, unsigned channels)
{
    response->rate_hz = rate_hz;
    response->channels = channels;
    dw_response_narrow(response, 0, INFINITY);
    *(channels > 1 ? &response->has_stereo : &response->has_mono) = true;
    response->top_hz = fmax(response->top_hz, 0.46 * rate_hz);
    for (size_t i = 0; i < DW_RESPONSE_ZONES; i++) {
        DwResponseZone *zone = &response->zone[i];
        size_t size = (size_t)(zones[i].length_s * rate_hz) / 8 * 8;
        dw_tone_track_free(zone->track);
        *zone = (DwResponseZone){.hop_s = (double)(size / zones[i].overlap) / rate_hz};
        zone->track = dw_tone_track_new((DwToneTrackSettings){
            .rate_hz = rate_hz,
            .channels = channels,
            .size = size,
            .overlap = zones[i].overlap,
            .low_hz = zones[i].low_hz,
            .high_hz = fmin(zones[i].high_hz, 0.48 * rate_hz),
            .equalise = !response->settings.equalised,
        });
    }
}

static void put_into_bin(DwResponse *response, const DwResponseZone *zone, const DwToneFrame *frame, bool stands)
{
    DwResponseBins *bins = stands ? &response->standing[zone->driven] : &response->moving[zone->driven];
    DwResponseBin *bin = &bins->bin[dw_response_bin(frame->frequency_hz)];
    bin->count++;
    bin->seconds += zone->hop_s;
    bin->octave += log2(frame->frequency_hz);
    for (size_t i = 0; i < 2; i++) {
        bin->power[i] += frame->power[i];
        bin->common[i] += frame->common[i];
    }
}

// Puts the next waiting spectrum into its bin: the spectra about it tell whether
// the tone stands or moves there.
static void place_next(DwResponse *response, DwResponseZone *zone)
{
    const DwToneFrame *frame = &zone->window[zone->next], *first = frame, *last = frame;
    for (size_t i = 0; i < zone->count; i++) {
        const DwToneFrame *other = &zone->window[i];
        if (other->time_s < first->time_s && frame->time_s - other->time_s <= 1.01 * LOOK_S)
            first = other;
        if (other->time_s > last->time_s && other->time_s - frame->time_s <= 1.01 * LOOK_S)
            last = other;
    }
    double span = last->time_s - first->time_s;
    bool stands = span > 0 && fabs(log2(last->frequency_hz / first->frequency_hz)) < STANDING_OCTAVES_S * span;
    if (fabs(frame->lopsided) < LOPSIDED)
        put_into_bin(response, zone, frame, stands);
    zone->next++;
}

// The band is over: what waits is placed, and the next begins with nothing known.
static void end_band(DwResponse *response, DwResponseZone *zone)
{
    while (zone->next < zone->count)
        place_next(response, zone);
    zone->count = zone->next = 0;
    zone->driven = DW_RESPONSE_AUTO;
}

// Which channel the band drives: decided where it begins and kept where the
// separation gets poor, but not against a plain majority.
static void decide_driven(const DwResponse *response, DwResponseZone *zone, const DwToneFrame *frame)
{
    double ratio_db = 10 * log10((frame->power[0] + 1e-20) / (frame->power[1] + 1e-20));
    double enough_db = zone->driven == DW_RESPONSE_BOTH ? SURE_DB : ONE_CHANNEL_DB;
    if (response->channels == 1)
        zone->driven = response->settings.channel == DW_RESPONSE_RIGHT ? DW_RESPONSE_RIGHT : DW_RESPONSE_LEFT;
    else if (response->settings.channel != DW_RESPONSE_AUTO)
        zone->driven = response->settings.channel;
    else if (ratio_db > enough_db)
        zone->driven = DW_RESPONSE_LEFT;
    else if (ratio_db < -enough_db)
        zone->driven = DW_RESPONSE_RIGHT;
    else if (zone->driven == DW_RESPONSE_AUTO)
        zone->driven = DW_RESPONSE_BOTH;
}

static void take(const DwToneFrame *met, void *user)
{
    DwResponse *response = user;
    DwResponseZone *zone = response->pushed;
    if (isnan(met->frequency_hz)) {
        if (zone->count && met->time_s - zone->last_s > BREAK_S)
            end_band(response, zone);
        return;
    }
    DwToneFrame frame = *met;
    if (response->channels == 1 && response->settings.channel == DW_RESPONSE_RIGHT) {
        frame.power[1] = frame.power[0];
        frame.power[0] = 0;
    }
    if (zone->count) {
        double last_hz = zone->window[zone->count - 1].frequency_hz;
        if (frame.time_s - zone->last_s > BREAK_S || fabs(log2(frame.frequency_hz / last_hz)) > BREAK_OCTAVES)
            end_band(response, zone);
    }
    decide_driven(response, zone, &frame);
    if (zone->count == DW_RESPONSE_WINDOW) { // the oldest has been placed long ago
        memmove(zone->window, zone->window + 1, (DW_RESPONSE_WINDOW - 1) * sizeof *zone->window);
        zone->count--;
        zone->next--;
    }
    zone->window[zone->count++] = frame;
    zone->last_s = frame.time_s;
    while (zone->next < zone->count && frame.time_s - zone->window[zone->next].time_s >= LOOK_S)
        place_next(response, zone);
}

void dw_response_narrow(DwResponse *response, double low_hz, double high_hz)
{
    response->narrow_low_hz = low_hz;
    response->narrow_high_hz = high_hz;
}

void dw_response_push(DwResponse *response, const float *interleaved, size_t frames)
{
    for (size_t n = 0; n < frames * response->channels; n++)
        response->bad += !isfinite(interleaved[n]);
    for (size_t i = 0; i < DW_RESPONSE_ZONES && !response->bad; i++) {
        response->pushed = &response->zone[i];
        if (zones[i].high_hz < response->narrow_low_hz || zones[i].low_hz > response->narrow_high_hz)
            dw_tone_track_skip(response->zone[i].track, frames);
        else
            dw_tone_track_push(response->zone[i].track, interleaved, frames, take, response);
    }
}

void dw_response_end(DwResponse *response)
{
    for (size_t i = 0; i < DW_RESPONSE_ZONES; i++)
        end_band(response, &response->zone[i]);
}
