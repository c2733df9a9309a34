// SPDX-License-Identifier: MIT
// Rumble, hum and hiss of a silent groove, against the level of a reference
// band. Feed, then ask: the same object serves a file and live capture.
#ifndef DW_MEASURE_NOISE_H
#define DW_MEASURE_NOISE_H

#include "base/sheet.h"
#include "dsp/weighting_curve.h"
#include "physics/rates.h"

// A curve with what its file says of it.
typedef struct {
    DwWeightingCurve points;
    char name[80];
    char source[220];
    char missing[400]; // why its file could not be opened: it then has no points; "" when it is there
    bool checked;      // taken from the standard's own table; else readings are approximate
} DwNoiseCurve;

typedef struct {
    double rate_hz;
    unsigned channels;
    DwNoiseCurve unweighted, weighted;
    bool equalise;   // the recording has no replay equalisation: it is applied here
    bool find;       // look for the quiet stretch; else all that is pushed is silent groove
    double mains_hz; // as stated, or usual: the hum itself tells which it is
    bool mains_given;
    bool paired; // a second recording, with one thing changed, tells where the hum comes from: this one does not guess
    bool polarity_known; // no channel is reversed, or that was put right
    bool reversed;       // one channel is: lateral and vertical are exchanged back
    double skip_s;       // seconds of the recording before the first sample pushed
    double turn_s;       // of the platter; 0 where its speed is not known
    double raised_db[2]; // what a weak channel was raised by: it counts by as much less in the mean of the channels
} DwNoiseSettings;

// What the readings are referred to.
typedef struct {
    double rms;          // of one channel, for the datum velocity cut laterally; NAN without a reference
    double off_db;       // how far the record may be off the velocity stated, 95 %
    bool own_level;      // no velocity was stated: the reference tone's own level is the datum
    char words[400];     // how it was come by, a phrase for a remark; "" where its velocity is not stated
    bool polarity_known; // its direction was stated, and its channels come so
    bool reversed;       // … and they come in the opposite phase
    const char *doubt;   // how the tone contradicts what is stated of it, a sentence; NULL where it does not
} DwNoiseReference;

// The parts of a drive, for naming lines; none: count is 0.
typedef struct {
    DwRate rates[DW_RATES_MOST];
    size_t count;
} DwNoiseDrive;

typedef struct DwNoise DwNoise;

// Copies SETTINGS. The caller frees it with dw_noise_free().
DwNoise *dw_noise_new(const DwNoiseSettings *settings);
void dw_noise_free(DwNoise *noise);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_noise_push(DwNoise *noise, const float *interleaved, size_t frames);
// At the end of a recording: a short one is measured as it is.
void dw_noise_finish(DwNoise *noise);
// Adds readings, tables, curves and remarks. No stretch of silence, too short a
// one or a sample that is not a number is DW_BAD_INPUT with one line.
DwStatus dw_noise_read(const DwNoise *noise, const DwNoiseReference *reference, const DwNoiseDrive *drive,
                       DwSheet *sheet, DwMessage *message);

// Two silent grooves, between which one thing was changed.
typedef enum { DW_NOISE_ARM, DW_NOISE_POSITION, DW_NOISE_MOTOR, DW_NOISE_EARTH, DW_NOISE_REPAIR } DwNoiseChange;
// Adds the table of both with their differences, and what those say. Fails as
// dw_noise_read does.
DwStatus dw_noise_compare(const DwNoise *first, const DwNoise *second, const DwNoiseReference *reference,
                          DwNoiseChange change, DwSheet *sheet, DwMessage *message);

#endif
