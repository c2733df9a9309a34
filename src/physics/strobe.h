// SPDX-License-Identifier: MIT
// Stroboscope discs: bars, the speed at which they stand, and drifting bars.
#ifndef DW_PHYSICS_STROBE_H
#define DW_PHYSICS_STROBE_H

// Flashes per second of a lamp on the mains: two in each cycle.
double dw_strobe_mains_flash_hz(double mains_hz);
// The whole number of bars nearest to F / n, one bar a flash.
//
// Given: FLASH_HZ (flashes per second), SPEED_RPM. Returned: bars, at least 1.
int dw_strobe_bars(double flash_hz, double speed_rpm);
// Bars that pass in one flash at the speed nearest SPEED_RPM at which a ring of
// BARS stands: 1, or more for denser rings (400 bars at 50 Hz stand at 45 by threes).
int dw_strobe_step(double flash_hz, int bars, double speed_rpm);
// How many bars are seen for each bar of the ring: 1, or 2 where half a bar passes in a flash, so that the ring
// seems to stand with twice as many, paler bars (90 bars at 50 Hz and 33⅓ rpm); 3 or 4 likewise. More are too pale.
enum { DW_STROBE_IMAGES_MOST = 4 };
int dw_strobe_images(double flash_hz, int bars, double speed_rpm);
// The speed (rpm) at which a ring stands still when STEP bars pass in a flash.
double dw_strobe_standing_rpm(double flash_hz, int bars, int step);
// The speed (rpm) when DRIFT bars a minute pass a fixed mark, positive in the
// sense of rotation: (F · step + D)/N with F flashes a minute.
double dw_strobe_drifting_rpm(double flash_hz, int bars, int step, double drift);
// The same against the standing speed (%): 100 D/(F · step), whatever the bars.
double dw_strobe_drift_percent(double flash_hz, int step, double drift);

#endif
