// SPDX-License-Identifier: MIT
// The speeds that records are made for, and which of them a rate belongs to.
#ifndef DW_BASE_USUAL_SPEED_H
#define DW_BASE_USUAL_SPEED_H

typedef struct {
    double rpm;
    double within;             // relative: how far the speeds that go by this name lie off rpm
    const char *words, *plain; // as printed, and where nothing but ASCII may stand
} DwUsualSpeed;

// Ascending; from DW_USUAL_DECK_FIRST on those that every deck is set to, before them what speech records have.
enum { DW_USUAL_DECK_FIRST = 1, DW_USUAL_SPEEDS = 4 };
extern const DwUsualSpeed dw_usual_speed[DW_USUAL_SPEEDS];

// A deck's usual speed within TOLERANCE, relative, of RPM, and the nearest of those; NULL: none.
const DwUsualSpeed *dw_usual_speed_near(double rpm, double tolerance);

// Given: how often something comes that should come once a turn [Hz], and the speed stated [rpm].
// Returned: another usual speed [rpm] that it would be once a turn of, within 4 %; NAN where there is none, or where
// the stated one fits.
double dw_usual_speed_other(double turn_hz, double stated_rpm);

#endif
