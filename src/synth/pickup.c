// SPDX-License-Identifier: MIT
#include "synth/pickup.h"

#include "physics/azimuth.h"
#include "physics/skating.h"
#include "physics/tracking.h"

#include <math.h>

// Without a stated resonance swings are counted from here up, and the velocity
// passes as it is.
#define STILL_HZ 2.0
#define STILL_Q 0.7

// ---- what hangs on the radius ---------------------------------------------

static double tracking_error_deg(const DwPickupSettings *settings, double radius_mm)
{
    return settings->has_arm ? dw_arm_tracking_error(&settings->arm, radius_mm) : settings->error_deg;
}

// A second harmonic of so many per cent for 1 cm/s is so much of the groove's
// motion a centimetre of swing: 100 · V · tan ε/V_g against tan ε/V_g.
static DwTracing tracing_at(const DwPickupSettings *settings, double radius_mm, double error_deg)
{
    DwTrackingSignal unit = {1, settings->speed_rpm};
    DwTracing tracing = {0, 0};
    if (!isnan(error_deg))
        tracing.lateral_s_cm = copysign(dw_tracking_distortion(unit, radius_mm, error_deg) / 100, error_deg);
    if (!isnan(settings->replayed_deg))
        tracing.vertical_s_cm =
            dw_tracking_vertical_distortion(unit, radius_mm, settings->recorded_deg, settings->replayed_deg) / 100;
    return tracing;
}

static void find_held(const DwPickupSettings *settings, double radius_mm, DwPickupPlace *place)
{
    double force = settings->force_mn, compliance = settings->compliance;
    place->held_um[0] = place->held_um[1] = INFINITY;
    if (isnan(force) || isnan(compliance))
        return;
    DwSkating skating = {.inner_mn = force * M_SQRT1_2, .outer_mn = force * M_SQRT1_2};
    if (settings->has_arm && !isnan(radius_mm)) {
        double length = settings->arm.effective_length_mm;
        skating = dw_skating_at(settings->friction, force, length,
                                dw_skating_angle(settings->arm.pivot_to_spindle_mm, length, radius_mm));
    }
    place->held_um[0] = dw_skating_held_um(skating.inner_mn, compliance);
    place->held_um[1] = dw_skating_held_um(skating.outer_mn, compliance);
}

DwPickupPlace dw_pickup_place(const DwPickupSettings *settings, double radius_mm)
{
    DwPickupPlace place = {.tracking_error_deg = NAN};
    if (!isnan(radius_mm)) {
        place.tracking_error_deg = tracking_error_deg(settings, radius_mm);
        place.tracing = tracing_at(settings, radius_mm, place.tracking_error_deg);
    }
    find_held(settings, radius_mm, &place);
    return place;
}

// ---- making ---------------------------------------------------------------

void dw_pickup_matrix(const DwPickupSettings *settings, double matrix[2][2])
{
    for (int wall = 0; wall < 2; wall++) {
        double felt[2] = {wall == 0, wall == 1};
        dw_azimuth_turn(settings->rotation_deg, felt);
        for (int channel = 0; channel < 2; channel++)
            matrix[channel][wall] = settings->gain[channel] * (felt[channel] + settings->leak * felt[1 - channel]);
    }
}

// n(s) over s² + sω/Q + ω², where n is of the second degree with the stated
// factors of ω², sω/Q and s².
static DwSections resonator(double hz, double q, const double factors[3], double rate_hz)
{
    double omega = 2 * M_PI * hz;
    const double d[3] = {omega * omega, omega / q, 1};
    const double n[3] = {factors[0] * d[0], factors[1] * d[1], factors[2] * d[2]};
    DwSections sections = {.count = 0};
    dw_sections_append(&sections, n, d, rate_hz);
    return sections;
}

DwSections dw_pickup_head(double hz, double q, double rate_hz)
{
    return resonator(hz, q, (double[]){1, 1, 0}, rate_hz);
}

// Of the groove's velocity, s² over that is what the cartridge gives and s its swing.
void dw_pickup_init(DwPickup *pickup, const DwPickupSettings *settings, double rate_hz)
{
    *pickup = (DwPickup){.settings = *settings};
    dw_pickup_matrix(settings, pickup->matrix);
    for (int i = 0; i < DW_PICKUP_DIRECTIONS; i++) {
        bool stated = !isnan(settings->resonance_hz[i]);
        double hz = stated ? settings->resonance_hz[i] : STILL_HZ, q = stated ? settings->resonance_q : STILL_Q;
        double once = q / (2 * M_PI * hz);
        pickup->swing[i] = resonator(hz, q, (double[]){0, once, 0}, rate_hz);
        if (stated)
            pickup->velocity[i] = resonator(hz, q, (double[]){0, 0, 1}, rate_hz);
    }
}

// ---- playing --------------------------------------------------------------

// From left and right to lateral and vertical, and back.
static void turn_45(const double from[2], double to[2])
{
    double sum = (from[0] + from[1]) * M_SQRT1_2, difference = (from[0] - from[1]) * M_SQRT1_2;
    to[0] = sum;
    to[1] = difference;
}

void dw_pickup_play(DwPickup *pickup, const DwPickupPlace *place, const double walls[2], double coils[2])
{
    double velocity[2], swing[2], felt[2], swings[2];
    turn_45(walls, velocity);
    for (int i = 0; i < DW_PICKUP_DIRECTIONS; i++) {
        swing[i] = velocity[i];
        dw_sections_run(&pickup->swing[i], &swing[i], 1);
        dw_sections_run(&pickup->velocity[i], &velocity[i], 1);
    }
    turn_45(velocity, felt);
    turn_45(swing, swings);
    if (-swings[0] * 1e4 > place->held_um[0])
        felt[0] = 0;
    if (swings[1] * 1e4 > place->held_um[1])
        felt[1] = 0;
    for (int channel = 0; channel < 2; channel++)
        coils[channel] = pickup->matrix[channel][0] * felt[0] + pickup->matrix[channel][1] * felt[1];
}
