// SPDX-License-Identifier: MIT
// How far the truth may lie from what is told: arms drawn as the readings'
// uncertainty allows, and of each outcome the distance that 95 % of them keep.
#include "procedure/align/found_setup.h"

#include "physics/chance.h"

#include <math.h>
#include <stdlib.h>

enum { DRAWS = 255 };

typedef enum {
    OVERHANG,
    OFFSET,
    LENGTH,
    SLIDE,
    TWIST,
    ERROR,
    WORST,
    MEAN,
    AFTER_WORST,
    AFTER_MEAN,
    AFTER_OVERHANG,
    AFTER_OFFSET,
    OUTCOMES
} Outcome;

// Those that go straight with the readings are added as squares, so that they
// are exact; a worst value is bent where it is least and must be drawn.
static bool is_straight(int outcome)
{
    return outcome <= TWIST || outcome >= AFTER_OVERHANG;
}

// The move as if nothing cut it short: how uncertain it is does not hang on where the slots end. A shell that does
// not twist has its best slide, which makes up for the angle as well; that search is worth it only where ASKED.
static DwArmMove free_move(const DwArmSetup *setup, const DwFoundSetup *found, const DwArm *arm, const DwArm *wanted,
                           bool asked)
{
    bool twists = found->shell.kind != DW_SHELL_SLIDE && found->shell.kind != DW_SHELL_PLUGIN;
    const DwHeadshell shell = {INFINITY, INFINITY, twists ? INFINITY : 0, 0};
    return twists || !asked ? dw_arm_move_whole(arm, wanted, shell) : dw_arm_move_best(arm, wanted, shell, &setup->aim);
}

static bool outcomes_of(const DwArmSetup *setup, const DwFoundSetup *found, const DwArm *arm, bool slides,
                        double outcomes[OUTCOMES])
{
    DwTrackingCost cost, after_cost;
    DwArm wanted = dw_arm_setup_at_distance(setup->kind, setup->nulls, arm->pivot_to_spindle_mm);
    DwArm after = dw_arm_moved(arm, found->move.slide_mm, found->move.twist_deg);
    if (!dw_tracking_cost(arm, setup->groove, setup->signal, &cost) || !isfinite(wanted.offset_deg) ||
        !dw_tracking_cost(&after, setup->groove, setup->signal, &after_cost))
        return false;
    DwArmMove move = free_move(setup, found, arm, &wanted, slides);
    const double values[OUTCOMES] = {
        [OVERHANG] = dw_arm_overhang(arm),
        [OFFSET] = arm->offset_deg,
        [LENGTH] = arm->effective_length_mm,
        [SLIDE] = move.slide_mm,
        [TWIST] = move.twist_deg,
        [ERROR] = cost.error_deg.value,
        [WORST] = cost.distortion_percent.value,
        [MEAN] = cost.distortion_rms_percent,
        [AFTER_WORST] = after_cost.distortion_percent.value,
        [AFTER_MEAN] = after_cost.distortion_rms_percent,
        [AFTER_OVERHANG] = dw_arm_overhang(&after),
        [AFTER_OFFSET] = after.offset_deg,
    };
    for (int i = 0; i < OUTCOMES; i++)
        outcomes[i] = values[i];
    return true;
}

// The half-widths by root sum of squares along the three axes of the covariance.
static bool propagate(const DwArmSetup *setup, const DwFoundSetup *found, double widths[OUTCOMES])
{
    const double normal_95 = dw_chance_normal(0.975);
    for (int i = 0; i < OUTCOMES; i++)
        widths[i] = 0;
    for (int axis = 0; axis < 3; axis++) {
        double z[3] = {0}, low[OUTCOMES], high[OUTCOMES];
        z[axis] = -normal_95;
        DwArm arm = dw_arm_fit_at(&found->fit, z);
        if (!outcomes_of(setup, found, &arm, true, low))
            return false;
        z[axis] = normal_95;
        arm = dw_arm_fit_at(&found->fit, z);
        if (!outcomes_of(setup, found, &arm, true, high))
            return false;
        for (int i = 0; i < OUTCOMES; i++)
            widths[i] = hypot(widths[i], (high[i] - low[i]) / 2);
    }
    return true;
}

// The INDEXth point (1 first) of Halton's sequence in BASE: even, and the same each time.
static double halton(int index, int base)
{
    double share = 1, sum = 0;
    for (int i = index; i > 0; i /= base) {
        share /= base;
        sum += share * (i % base);
    }
    return sum;
}

static int ascending(const void *left, const void *right)
{
    double difference = *(const double *)left - *(const double *)right;
    return (difference > 0) - (difference < 0);
}

// What 95 % of the drawn arms keep of the distance to what is told.
static bool draw(const DwArmSetup *setup, const DwFoundSetup *found, double widths[OUTCOMES])
{
    static const int bases[] = {2, 3, 5};
    double told[OUTCOMES], away[OUTCOMES][DRAWS];
    if (!outcomes_of(setup, found, &found->fit.arm, false, told))
        return false;
    for (int i = 0; i < DRAWS; i++) {
        double z[3], drawn[OUTCOMES];
        for (int axis = 0; axis < 3; axis++)
            z[axis] = dw_chance_normal(halton(i + 1, bases[axis]));
        DwArm arm = dw_arm_fit_at(&found->fit, z);
        if (!outcomes_of(setup, found, &arm, false, drawn))
            return false;
        for (int outcome = 0; outcome < OUTCOMES; outcome++)
            away[outcome][i] = fabs(drawn[outcome] - told[outcome]);
    }
    for (int outcome = 0; outcome < OUTCOMES; outcome++) {
        if (is_straight(outcome))
            continue;
        qsort(away[outcome], DRAWS, sizeof **away, ascending);
        widths[outcome] = away[outcome][(int)(0.95 * (DRAWS + 1)) - 1];
    }
    return true;
}

DwFoundSpread dw_found_spread(const DwArmSetup *setup, const DwFoundSetup *found)
{
    double widths[OUTCOMES];
    if (!propagate(setup, found, widths) || !draw(setup, found, widths))
        return (DwFoundSpread){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    return (DwFoundSpread){
        .overhang_mm = widths[OVERHANG],
        .offset_deg = widths[OFFSET],
        .length_mm = widths[LENGTH],
        .error_deg = widths[ERROR],
        .distortion_percent = widths[WORST],
        .rms_percent = widths[MEAN],
        .slide_mm = widths[SLIDE],
        .twist_deg = widths[TWIST],
        .after_percent = widths[AFTER_WORST],
        .after_rms_percent = widths[AFTER_MEAN],
        .after_overhang_mm = widths[AFTER_OVERHANG],
        .after_offset_deg = widths[AFTER_OFFSET],
    };
}
