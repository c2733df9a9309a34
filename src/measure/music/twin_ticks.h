// SPDX-License-Identifier: MIT
// Ticks that stand out of the music of a recording; and by how many more one recording of a groove ticks than another.
#ifndef DW_MEASURE_TWIN_TICKS_H
#define DW_MEASURE_TWIN_TICKS_H

#include "measure/music/twin_course.h"

typedef struct DwTwinTicks DwTwinTicks;

// A recording of RATE_HZ [Hz] and 1 or 2 CHANNELS. The caller frees it with dw_twin_ticks_free(), which takes NULL.
DwTwinTicks *dw_twin_ticks_new(double rate_hz, unsigned channels);
void dw_twin_ticks_free(DwTwinTicks *ticks);
// Takes FRAMES interleaved frames, full scale ±1.
void dw_twin_ticks_push(DwTwinTicks *ticks, const float *interleaved, size_t frames);

// What of the two ticks alone, where the other has none.
typedef struct {
    double minutes;  // compared
    size_t alone[2]; // ticks that only the first, only the second has
    size_t both;     // of the first, that the second has too: the groove's own, and drums
    double more;     // a minute, the second's over the first's
    double more_off; // 95 %
} DwTwinTicking;

// Compares where COURSE goes on without a break. Returned: false where that is less than a minute's third, or there are
// more ticks than are kept.
//
// Method: the second difference, of whichever channel has more, against its own median of 20 ms and of those beside. A
// tick is one to twelve times that, in its own recording and in the other one's floor there, with nothing above six
// times within 4 ms of it in the other. ±: Poisson's, widened by how stretches of 5 s differ where that is more than
// chance (Student's 95 %). Reference: as dw_ticks_find(); counts by groups: P. McCullagh and J. A. Nelder, Generalized
// Linear Models, 1989, 4.5 (from memory).
bool dw_twin_ticks_compare(const DwTwinTicks *one, const DwTwinTicks *two, const DwTwinCourse *course,
                           DwTwinTicking *ticking);

#endif
