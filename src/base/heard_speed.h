// SPDX-License-Identifier: MIT
// What a speed that is off means to who listens.
#ifndef DW_BASE_HEARD_SPEED_H
#define DW_BASE_HEARD_SPEED_H

typedef struct {
    double cents;   // of pitch, positive for sharp
    double early_s; // by which a side of twenty minutes ends early; negative: late
} DwHeardSpeed;

// Given: a speed error [%], above -100.
// Returned: 1200 log2 of the ratio of speeds, and the seconds.
// Reference: definition of the cent, Alexander J. Ellis, "On the Musical Scales
// of Various Nations", 1885 (from memory); the time is arithmetic.
DwHeardSpeed dw_heard_speed(double error_percent);

#endif
