// SPDX-License-Identifier: MIT
#include "measure/music/twin_turns.h"

#include "measure/music/twin_analysis.h"

#include <math.h>

// How far the speed at point I is from the mean, as a share; NAN where the course has a break.
static double off_at(const DwTwin *twin, size_t i)
{
    const DwTwinCourse *course = &twin->course;
    if (i == 0 || i + 1 >= course->count)
        return NAN;
    const DwTwinPoint *before = &course->point[i - 1], *after = &course->point[i + 1];
    if (!before->used || !after->used || !course->point[i].used || before->piece != after->piece)
        return NAN;
    double ratio = 1 + twin->fit.speed / 100;
    return (after->other_s - before->other_s) / (after->at_s - before->at_s) / ratio - 1;
}

// The rms over the turn that begins at point FIRST; NAN where it is not whole.
static double turn_at(const DwTwin *twin, size_t first, double turn_s)
{
    double square = 0, begin_s = twin->course.point[first].at_s;
    size_t count = 0;
    for (size_t i = first; i < twin->course.count && twin->course.point[i].at_s < begin_s + turn_s; i++, count++) {
        double off = off_at(twin, i);
        if (isnan(off) ||
            (i > first && twin->course.point[i].at_s - twin->course.point[i - 1].at_s > 3 * DW_TWIN_STEP_S))
            return NAN;
        square += off * off;
    }
    return (double)count * DW_TWIN_STEP_S > 0.8 * turn_s ? sqrt(square / (double)count) : NAN;
}

bool dw_twin_turns(const DwTwin *twin, DwTwinTurns *turns)
{
    double worst = -1, best = INFINITY;
    if (!twin->fitted)
        return false;
    *turns = (DwTwinTurns){.turn_s = 1 / twin->fit.line[0].rate_hz};
    for (size_t i = 0; i < twin->course.count; i++) {
        double off = turn_at(twin, i, turns->turn_s), at_s = twin->course.point[i].at_s;
        if (isnan(off))
            continue;
        if (off > worst) {
            worst = off;
            turns->worst_s = at_s + twin->settings.skip_s[0];
            turns->worst_other_s = twin->course.point[i].other_s + twin->settings.skip_s[1];
        }
        if (off < best) {
            best = off;
            turns->best_s = at_s + twin->settings.skip_s[0];
        }
    }
    turns->worst_percent = 100 * worst;
    turns->best_percent = 100 * best;
    return worst >= 0;
}
