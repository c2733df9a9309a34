// SPDX-License-Identifier: MIT
// What response.c has gathered, and what is worked out of it before it becomes
// curves.
#ifndef DW_MEASURE_RESPONSE_ANALYSIS_H
#define DW_MEASURE_RESPONSE_ANALYSIS_H

#include "measure/sweep/response.h"
#include "measure/tone/tone_track.h"

enum {
    DW_RESPONSE_ZONES = 3,
    DW_RESPONSE_WINDOW = 96, // spectra waited for until it is clear whether a tone stands
    DW_RESPONSE_PER_OCTAVE = 48,
    DW_RESPONSE_BINS = 530, // 12.5 Hz to 26 kHz
    DW_RESPONSE_POINTS_MOST = 400,
};

// The spectra of one narrow band of frequencies, summed.
typedef struct {
    double count;
    double octave; // log2 of the frequency
    double power[2];
    double common[2];
    double seconds;
} DwResponseBin;

typedef struct {
    DwResponseBin bin[DW_RESPONSE_BINS];
} DwResponseBins;

// One of three lengths of spectrum, each with its range of frequencies, and the
// spectra that have not yet found their bin.
typedef struct {
    DwToneTrack *track;
    double hop_s;
    DwToneFrame window[DW_RESPONSE_WINDOW];
    size_t count, next;       // next: the first not yet put into a bin
    DwResponseChannel driven; // AUTO before it is known
    double last_s;            // time of the last tone met
} DwResponseZone;

struct DwResponse {
    DwResponseSettings settings;
    double rate_hz, top_hz;
    double narrow_low_hz, narrow_high_hz; // no tones are to be looked for outside
    unsigned channels;
    bool has_mono, has_stereo;
    size_t bad; // samples that were not numbers
    DwResponseZone zone[DW_RESPONSE_ZONES];
    DwResponseZone *pushed;                // the zone whose spectra are coming
    DwResponseBins moving[4], standing[4]; // by DwResponseChannel
};

// A channel's level against frequency.
typedef struct {
    size_t count;
    bool spots;         // tones, not a sweep
    bool both;          // from a band that drives both channels
    double swept_hz[2]; // the lowest and the highest spectrum of a sweep: beyond them its curve goes straight on
    double frequency_hz[DW_RESPONSE_POINTS_MOST];
    double level_db[DW_RESPONSE_POINTS_MOST];     // of the driven channel
    double crosstalk_db[DW_RESPONSE_POINTS_MOST]; // the other channel over it; NAN in a band that drives both
} DwResponseLine;

// The bin of FREQUENCY_HZ.
size_t dw_response_bin(double frequency_hz);
// The length of the spectra that a tone of FREQUENCY_HZ is read from [s].
double dw_response_window_s(double frequency_hz);
// How many of them, which overlap, tell as much as one that stands alone: 1 + 2Σr, r being what squares of Hann windows
// so far apart have in common.
double dw_response_alike(double frequency_hz);
// The level of CHANNEL (0 left, 1 right) as recorded, at the points of a curve
// or at the tones of a record of spots. Returned: false when nothing drives it.
bool dw_response_line(const DwResponse *response, size_t channel, DwResponseLine *line);
// The level and crosstalk at FREQUENCY_HZ; NAN where nothing was played.
void dw_response_at(const DwResponse *response, size_t channel, double frequency_hz, double *level_db,
                    double *crosstalk_db);
// 95 % half-width of that crosstalk by what of the other channel does not go with the driven one: noise, rumble. It is
// infinite where the crosstalk lies in them, and is then not told.
double dw_response_crosstalk_off_db(const DwResponse *response, size_t channel, double frequency_hz);
// What a perfect cartridge would give at FREQUENCY_HZ, over 1 kHz [dB]: the
// record's cut and the chain's equalisation.
double dw_response_expected_db(const DwResponseSettings *settings, double frequency_hz);

// Equalisations that a response can be off by.
typedef enum {
    DW_RESPONSE_SHAPE_NONE,
    DW_RESPONSE_SHAPE_RIAA_TWICE,   // the RIAA replay curve once too often
    DW_RESPONSE_SHAPE_RIAA_MISSING, // once too few
    DW_RESPONSE_SHAPE_TREBLE_CUT,   // 75 µs once too often
    DW_RESPONSE_SHAPE_TREBLE_LIFT,
} DwResponseShape;
// The equalisation whose shape LINE, counted over its level at 1 kHz, has.
DwResponseShape dw_response_shape(const DwResponseLine *line);
// Says what treble peak and fall come from, as far as the settings tell. LEFT or
// RIGHT may be NULL.
void dw_response_say_treble(const DwResponse *response, const DwResponseLine *left, const DwResponseLine *right,
                            DwSheet *sheet);

#endif
