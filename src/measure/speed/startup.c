// SPDX-License-Identifier: MIT
#include "measure/speed/startup_run_up.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double KEEP_S = 900;     // a platter on a good bearing runs down for minutes
static const double LATE_SHARE = 0.4; // first heard above this, the start was missed
enum { MEDIAN = 5 };

struct DwStartup {
    DwStartupSettings settings;
    DwSweepTracker *tracker;
};

DwStartup *dw_startup_new(DwStartupSettings settings)
{
    DwStartup *startup = dw_memory_new(1, sizeof *startup);
    startup->settings = settings;
    startup->tracker = dw_sweep_tracker_new((DwSweepTrackerSettings){settings.rate_hz, settings.channels, KEEP_S});
    return startup;
}

void dw_startup_free(DwStartup *startup)
{
    if (!startup)
        return;
    dw_sweep_tracker_free(startup->tracker);
    free(startup);
}

void dw_startup_push(DwStartup *startup, const float *interleaved, size_t frames)
{
    dw_sweep_tracker_push(startup->tracker, interleaved, frames);
}

void dw_startup_finish(DwStartup *startup)
{
    dw_sweep_tracker_finish(startup->tracker);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// A tick spoils single values: each becomes the median of those about it.
static void take_medians(DwSpeedCourse *speed_course)
{
    double *smooth = dw_memory_new(speed_course->count, sizeof *smooth), about[MEDIAN];
    for (size_t i = 0; i < speed_course->count; i++) {
        size_t from = i < MEDIAN / 2 ? 0 : i - MEDIAN / 2;
        from = from + MEDIAN > speed_course->count ? speed_course->count - MEDIAN : from;
        memcpy(about, speed_course->frequency_hz + from, sizeof about);
        qsort(about, MEDIAN, sizeof *about, compare);
        bool edge = i < MEDIAN / 2 || i + MEDIAN / 2 >= speed_course->count;
        smooth[i] = edge ? speed_course->frequency_hz[i] : about[MEDIAN / 2];
    }
    free(speed_course->frequency_hz);
    speed_course->frequency_hz = smooth;
}

static DwStatus get_speed_course(const DwStartup *startup, DwSpeedCourse *speed_course, DwMessage *message)
{
    double skip = startup->settings.skip_s, length = dw_sweep_tracker_length_s(startup->tracker);
    if (dw_sweep_tracker_met_bad_sample(startup->tracker))
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       skip + length);
    bool found = dw_sweep_tracker_course(startup->tracker, speed_course);
    if (!found || speed_course->count < MEDIAN) {
        dw_sweep_tracker_course_clear(speed_course);
        return dw_fail(
            message, DW_BAD_INPUT,
            "No tone was found between %.1f and %.1f s that could be followed. Record the tone band of a test "
            "record with the stylus in the groove.",
            skip, skip + length);
    }
    take_medians(speed_course);
    return DW_OK;
}

DwStatus dw_startup_read(const DwStartup *startup, DwSheet *sheet, DwMessage *message)
{
    DwRunUp up = {.steady = 0};
    DwStatus status = get_speed_course(startup, &up.speed_course, message);
    if (status != DW_OK)
        return status;
    for (unsigned c = 0; c < 2; c++) {
        DwSweepLow low = dw_sweep_tracker_low(startup->tracker, c);
        up.sound[c] = (DwLowSound){low.samples, low.count, low.first_s, low.step_s};
    }
    if (up.speed_course.steady_to <= up.speed_course.steady_from)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "The tone never stays steady for two seconds. Let the recording go on for 15 s after the speed "
                    "is reached.");
    if (status == DW_OK) {
        dw_run_up_settle(&startup->settings, &up);
        if (up.speed[0] > LATE_SHARE)
            status =
                dw_fail(message, DW_BAD_INPUT,
                        "The tone is first heard at %.0f %% of its speed: the start is not in the recording. Begin "
                        "recording with the stylus down and the motor off.",
                        100 * up.speed[0]);
    }
    if (status == DW_OK) {
        dw_run_up_find(&startup->settings, &up);
        dw_run_up_fill_sheet(&startup->settings, &up, sheet);
    }
    free(up.speed);
    dw_sweep_tracker_course_clear(&up.speed_course);
    return status;
}

// --- the run-down -------------------------------------------------------------

DwStatus dw_startup_run_down(const DwStartup *startup, size_t points, DwRunDown *run_down, DwMessage *message)
{
    static const double fallen = 0.98, least_fall = 0.9;
    DwSpeedCourse speed_course;
    DwStatus status = get_speed_course(startup, &speed_course, message);
    if (status != DW_OK)
        return status;
    bool steady = speed_course.steady_to > speed_course.steady_from && !speed_course.swings;
    double full_hz = steady ? dw_statistics_mean(speed_course.frequency_hz + speed_course.steady_from,
                                                 speed_course.steady_to - speed_course.steady_from)
                            : dw_statistics_mean(speed_course.frequency_hz, MEDIAN);
    double tone_hz = isfinite(startup->settings.tone_hz) ? startup->settings.tone_hz : full_hz;
    size_t from = steady ? speed_course.steady_from : 0;
    if (speed_course.frequency_hz[speed_course.count - 1] > least_fall * full_hz) {
        dw_sweep_tracker_course_clear(&speed_course);
        return dw_fail(message, DW_BAD_INPUT, "The tone does not fall: no run-down is in the recording.");
    }
    for (size_t i = from; i < speed_course.count; i++) // where it was last above
        if (speed_course.frequency_hz[i] > fallen * full_hz)
            from = i;
    size_t count = speed_course.count - from;
    points = count < points ? count : points;
    *run_down = (DwRunDown){.count = points, .tone_hz = tone_hz};
    run_down->seconds = dw_memory_new(points, sizeof(double));
    run_down->speed_rpm = dw_memory_new(points, sizeof(double));
    for (size_t i = 0; i < points; i++) {
        size_t begin = from + i * count / points, end = from + (i + 1) * count / points;
        double seconds = dw_statistics_mean(speed_course.seconds + begin, end - begin);
        double hz = dw_statistics_mean(speed_course.frequency_hz + begin, end - begin);
        run_down->seconds[i] = seconds;
        run_down->speed_rpm[i] = startup->settings.speed_rpm * hz / tone_hz;
    }
    for (size_t i = points; i-- > 0;)
        run_down->seconds[i] -= run_down->seconds[0];
    dw_sweep_tracker_course_clear(&speed_course);
    return DW_OK;
}
