// SPDX-License-Identifier: MIT
// How far the computer's own clock can be trusted as a reference.
#ifndef DW_PROCEDURE_LIVE_CLOCK_H
#define DW_PROCEDURE_LIVE_CLOCK_H

// Seconds of the clock that only goes forward, at the rate that time servers keep right.
double dw_live_clock_now(void);
// The 95 % half-width of its rate's error in ppm: 1 while the system says that a
// time server disciplines it, else 50, a bare crystal. Both values are common
// practice, no source.
double dw_live_clock_off_ppm(void);

#endif
