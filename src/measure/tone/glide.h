// SPDX-License-Identifier: MIT
// Follows a tone that glides: up from next to nothing as a platter runs up, or
// down as it runs out. Streaming, in bounded memory; block size changes nothing.
#ifndef DW_MEASURE_GLIDE_H
#define DW_MEASURE_GLIDE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double rate_hz;    // 6000 or more
    unsigned channels; // 1 or 2
    double keep_s;     // what lies further than this into the recording is not looked at
} DwGlideSettings;

// The tone's frequency, COUNT values in ascending time. The caller clears it.
typedef struct {
    double *seconds; // from the first sample pushed
    double *frequency_hz;
    size_t count;
    size_t steady_from, steady_to; // where it stays within 3 % the longest; equal without such a stretch
    double lowest_hz;              // below this no tone is followed
} DwSpeedCourse;

typedef struct DwGlide DwGlide;

// The caller frees it with dw_glide_free().
DwGlide *dw_glide_new(DwGlideSettings settings);
void dw_glide_free(DwGlide *glide);
// Takes FRAMES interleaved frames. After a sample that is not finite nothing more is taken.
void dw_glide_push(DwGlide *glide, const float *interleaved, size_t frames);
// At the end of a recording: takes what does not fill a block.
void dw_glide_finish(DwGlide *glide);
bool dw_glide_met_bad_sample(const DwGlide *glide);
double dw_glide_length_s(const DwGlide *glide);

// The tone followed back to where it begins and on to where it ends, from the
// steady stretch; where there is none, from the recording's first second on.
//
// Returned: false when no tone is there to follow.
// Accuracy: about 0.01 % on a steady tone at 40 dB; on a glide of 5 kHz/s about
// 10 Hz. Values of one frame (about 20 ms) share samples.
// Reference: the phase advance between short spectra, J. L. Flanagan and R. M.
// Golden, "Phase Vocoder", Bell System Technical Journal 45 (1966) 1493–1509.
bool dw_glide_speed_course(const DwGlide *glide, DwSpeedCourse *speed_course);
void dw_glide_speed_course_clear(DwSpeedCourse *speed_course);

#endif
