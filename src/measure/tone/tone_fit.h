// SPDX-License-Identifier: MIT
// Which engraved tone a frequency may be, at which speed of the deck.
#ifndef DW_MEASURE_TONE_FIT_H
#define DW_MEASURE_TONE_FIT_H

// How well a tone fits what was expected, best last.
typedef enum {
    DW_TONE_FOREIGN,     // no known tone at any likely speed
    DW_TONE_OTHER_SPEED, // the tone at another platter speed or mains frequency
    DW_TONE_EXPECTED,    // the tone within 6 % and what wow adds
} DwToneFit;

// How FREQUENCY_HZ fits the tone STATED_HZ (NAN: the usual ones, 3150, 3000, 1000
// and 315 Hz). *ENGRAVED_HZ is the tone it is taken for; NAN when it fits none.
DwToneFit dw_tone_fit_of(double frequency_hz, double stated_hz, double *engraved_hz);

#endif
