// SPDX-License-Identifier: MIT
// What is held and is no music: hum of the mains, and the tone of a test record.
#include "measure/music/held_analysis.h"

#include <math.h>

static const double MAINS_HZ[] = {50, 60};
static const double HUM_OFF = 0.004, HUM_SHARE = 0.7; // of a multiple; of the recording, that it stands
static const double TONE_OFF = 0.005, TONE_SHARE = 0.9;
enum { MULTIPLES = 12, MULTIPLES_LEAST = 2 };

// Which multiple of BASE_HZ the course is, to within OFF of it; 0 for none.
static int multiple_of(const DwPartialCourse *course, double base_hz, double off)
{
    double times = course->mean_hz / base_hz, whole = round(times);
    return whole >= 1 && fabs(times - whole) <= off * whole ? (int)whole : 0;
}

// How long the MULTIPLEth of BASE_HZ sounds, all its courses together [s].
static double sounds_s(const DwHeldFit *fit, double base_hz, double off, int multiple)
{
    double sum = 0;
    for (size_t j = 0; j < fit->count; j++)
        if (multiple_of(&fit->courses[j], base_hz, off) == multiple)
            sum += (double)fit->courses[j].count * fit->courses[j].step_s;
    return sum;
}

void dw_held_leave_out_hum(DwHeld *held)
{
    DwHeldFit *fit = &held->fit;
    for (size_t m = 0; m < sizeof MAINS_HZ / sizeof *MAINS_HZ; m++) {
        bool hums[MULTIPLES + 1] = {false};
        size_t count = 0, kept = 0;
        for (int k = 1; k <= MULTIPLES; k++) {
            hums[k] = sounds_s(fit, MAINS_HZ[m], HUM_OFF, k) >= HUM_SHARE * held->length_s;
            count += hums[k];
        }
        if (count < MULTIPLES_LEAST)
            continue;
        held->hum_hz = MAINS_HZ[m];
        for (size_t j = 0; j < fit->count; j++) {
            int multiple = multiple_of(&fit->courses[j], MAINS_HZ[m], HUM_OFF);
            if (multiple <= MULTIPLES && hums[multiple])
                dw_partial_course_clear(&fit->courses[j]);
            else
                fit->courses[kept++] = fit->courses[j];
        }
        fit->count = kept;
    }
}

bool dw_held_is_one_tone(const DwHeld *held)
{
    const DwHeldFit *fit = &held->fit;
    const DwPartialCourse *loudest = fit->courses;
    for (size_t j = 0; j < fit->count; j++)
        if (fit->courses[j].level > loudest->level)
            loudest = &fit->courses[j];
    for (size_t j = 0; j < fit->count; j++)
        if (!multiple_of(&fit->courses[j], loudest->mean_hz, TONE_OFF))
            return false;
    return sounds_s(fit, loudest->mean_hz, TONE_OFF, 1) >= TONE_SHARE * held->length_s;
}
