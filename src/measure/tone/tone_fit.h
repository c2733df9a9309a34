// SPDX-License-Identifier: MIT
// Which engraved tone a frequency may be, at which speed of the deck.
#ifndef DW_MEASURE_TONE_FIT_H
#define DW_MEASURE_TONE_FIT_H

// The usual tones, strongest habit first.
enum { DW_TONE_USUAL = 4 };
extern const double dw_tone_usual_hz[DW_TONE_USUAL];

// How well a tone fits what was expected, best last.
typedef enum {
    DW_TONE_FOREIGN,     // no known tone at any likely speed
    DW_TONE_OTHER_SPEED, // the tone at another platter speed or mains frequency, or up to 50 % off
    DW_TONE_EXPECTED,    // the tone within what a speed slider does, with its wow
} DwToneFit;

// How FREQUENCY_HZ fits the tone STATED_HZ (NAN: the usual ones). *ENGRAVED_HZ is the
// tone it is taken for, the nearest; NAN when it fits none.
DwToneFit dw_tone_fit_of(double frequency_hz, double stated_hz, double *engraved_hz);
// The highest frequency at which the tone STATED_HZ (NAN: a usual one) is looked for.
double dw_tone_fit_highest_hz(double stated_hz);

#endif
