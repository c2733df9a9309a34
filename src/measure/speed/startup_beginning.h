// SPDX-License-Identifier: MIT
// When a platter began to move, from the first stretch of its run-up that can be heard.
#ifndef DW_MEASURE_STARTUP_BEGINNING_H
#define DW_MEASURE_STARTUP_BEGINNING_H

#include <stddef.h>

// Given: COUNT (4 or more) times and speeds (shares of the final one, rising). Returned: when the torque set
// in, and what is doubtful about it, seconds.
// Method: a torque that is there at once makes the run-up a straight line; one that comes up over some tenths of a
// second (a belt that winds up, a soft start) begins it with a parabola. The second is taken where it fits clearly
// better; both are fitted in time, by least squares.
void dw_startup_beginning(const double *seconds, const double *speed, size_t count, double *begins_s, double *doubt_s);

#endif
