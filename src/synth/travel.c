// SPDX-License-Identifier: MIT
#include "synth/travel.h"

#include "base/memory.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

DwCourse dw_travel_course(const DwTravelLeg *leg, const DwCourse *course)
{
    DwCourse there = *course;
    if (!isnan(leg->radius_mm))
        there.radius_mm = leg->radius_mm;
    return there;
}

double dw_travel_groove_s(const DwTravelLeg *leg, const DwCourse *there, double seconds)
{
    return leg->groove_s + (1 + there->error) * (seconds - leg->from_s) +
           (dw_course_gained(there, seconds) - leg->gained_s);
}

// The moment at which LEG reaches WANTED_S of the groove: the speed is never
// nothing for long, so the stretch is doubled until it holds the moment, then halved.
static double moment_of(const DwTravelLeg *leg, const DwCourse *there, double wanted_s)
{
    double low = leg->from_s, length = fmax(1e-3, wanted_s - leg->groove_s), high = low + length;
    while (dw_travel_groove_s(leg, there, high) < wanted_s) {
        low = high;
        length *= 2;
        high = low + length;
    }
    while (high - low > 1e-12 * fmax(1, high)) {
        double middle = (low + high) / 2;
        if (dw_travel_groove_s(leg, there, middle) < wanted_s)
            low = middle;
        else
            high = middle;
    }
    return high;
}

static size_t part_at(const DwEngraving *engraving, double groove_s)
{
    size_t part = 0;
    while (part + 1 < engraving->count && groove_s >= engraving->parts[part].end_s)
        part++;
    return part;
}

// Returned: valid until the next leg is added.
static const DwTravelLeg *add_leg(DwTravel *travel, const DwEngraving *engraving, const DwCourse *course, double from_s,
                                  double groove_s)
{
    if (travel->count == travel->room) {
        travel->room = 2 * travel->room + 16;
        travel->legs = dw_memory_resize(travel->legs, travel->room, sizeof *travel->legs);
    }
    DwTravelLeg *leg = &travel->legs[travel->count++];
    size_t part = part_at(engraving, groove_s);
    *leg = (DwTravelLeg){part, engraving->parts[part].radius_mm, from_s, groove_s, 0};
    DwCourse there = dw_travel_course(leg, course);
    leg->gained_s = dw_course_gained(&there, from_s);
    return leg;
}

// The next jump from FROM_S on, or NULL.
static const DwTravelJump *next_jump(const DwTravelSettings *settings, double from_s, const DwTravelJump *last)
{
    const DwTravelJump *next = NULL;
    for (size_t i = 0; i < settings->jump_count; i++) {
        const DwTravelJump *jump = &settings->jumps[i];
        bool ahead = jump->at_s > from_s || (jump->at_s == from_s && (!last || jump > last));
        if (ahead && (!next || jump->at_s < next->at_s))
            next = jump;
    }
    return next;
}

void dw_travel_make(const DwEngraving *engraving, const DwCourse *course, const DwTravelSettings *settings,
                    DwTravel *travel)
{
    *travel = (DwTravel){0};
    double end_s = fmin(settings->to_s, engraving->end_s), groove_s = settings->from_s, moment_s = 0;
    const DwTravelJump *jump = next_jump(settings, -INFINITY, NULL);
    while (groove_s < end_s) {
        const DwTravelLeg *leg = add_leg(travel, engraving, course, moment_s, groove_s);
        double border_s = fmin(end_s, engraving->parts[leg->part].end_s);
        DwCourse there = dw_travel_course(leg, course);
        double reached_s = moment_of(leg, &there, border_s);
        if (jump && jump->at_s < reached_s) {
            moment_s = jump->at_s;
            groove_s = fmax(0, dw_travel_groove_s(leg, &there, moment_s) + jump->by_s);
            jump = next_jump(settings, moment_s, jump);
        } else {
            moment_s = reached_s;
            groove_s = border_s;
        }
    }
    travel->end_s = moment_s;
}

void dw_travel_clear(DwTravel *travel)
{
    free(travel->legs);
    *travel = (DwTravel){0};
}
