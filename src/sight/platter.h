// SPDX-License-Identifier: MIT
// How a platter moves, from the angle it stands at in each frame of a film.
#ifndef DW_SIGHT_PLATTER_H
#define DW_SIGHT_PLATTER_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    const double *time_s, *turn; // rising; [rad] the way the platter turns
    size_t count;
} DwPlatterCourse;

enum {
    DW_PLATTER_HARMONICS = 3,
    DW_PLATTER_LINES_MOST = 5,
    DW_PLATTER_TURNS_LEAST = 2, // for what comes once a turn
};

typedef struct {
    double hz, percent; // peak, of the speed
    double doubt_percent;
} DwPlatterLine;

typedef struct {
    double within_s;            // since when the speed stays within the band
    double from_s, to_s, turns; // of the steady stretch: without what still settles
    size_t first, count;        // its frames
    double rate;                // [rad/s], the mean of it
    double rate_doubt;          // 95 %, by the film alone, a share
    double drift_per_min;       // a share of the speed
    double drift_doubt;
    bool has_harmonics;
    double harmonic[DW_PLATTER_HARMONICS], harmonic_phase[DW_PLATTER_HARMONICS]; // of the speed, a share, peak; [rad]
    double harmonic_doubt;                                                       // 95 %
    DwPlatterLine lines[DW_PLATTER_LINES_MOST];
    size_t line_count;
    double rest_rad; // rms of the angle that is left
} DwPlatterMotion;

// The platter's speed at each frame [rad/s], by a straight line through what lies within HALF_S of it. The caller frees
// it with free().
double *dw_platter_speeds(const DwPlatterCourse *course, double half_s);

// The longest stretch of COURSE within BAND (a share) of its usual speed, and how the platter moves in it.
//
// Returned: false where nothing turns steadily for a second.
// Method: least squares of angle, speed, drift and what comes once, twice and three times a turn; then the lines that
// stand out of what is left, the strongest first, each refined where it is most; the intervals by what is left at last,
// widened for how far it hangs together.
// Reference: N. R. Lomb, "Least-squares frequency analysis of unequally spaced data", 1976.
bool dw_platter_motion(const DwPlatterCourse *course, double band, DwPlatterMotion *motion);

typedef struct {
    double begins_s;  // in the film
    double time_s;    // until the speed first comes within the band
    double settle_s;  // until it stays within it
    double overshoot; // a share of the final speed; 0 for none
    double doubt_s;   // 95 %
} DwPlatterStart;

// How the platter came up to MOTION's speed. Returned: false where the film does not begin before the platter.
bool dw_platter_start(const DwPlatterCourse *course, const DwPlatterMotion *motion, double band, DwPlatterStart *start);

// Where frames are missing that their times do not tell of: the platter steps on by some frames' turning at once (or
// stands for one). Returned: how many such places; the first is at *FIRST_S.
size_t dw_platter_missing(const DwPlatterCourse *course, double *first_s);

#endif
