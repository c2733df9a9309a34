// SPDX-License-Identifier: MIT
// The arm and the cartridge in the groove: from what the walls do to what the
// two coils feel.
#ifndef DW_SYNTH_PICKUP_H
#define DW_SYNTH_PICKUP_H

#include "dsp/sections.h"
#include "physics/arm.h"
#include "synth/engraving.h"

#include <stdbool.h>

typedef enum {
    DW_PICKUP_LATERAL,
    DW_PICKUP_VERTICAL,
    DW_PICKUP_DIRECTIONS,
} DwPickupDirection;

typedef struct {
    double speed_rpm; // nominal: what the groove's own speed follows from
    bool has_arm;
    DwArm arm;                                              // as it stands
    double error_deg;                                       // of tracking everywhere, of an arm without a pivot
    double recorded_deg, replayed_deg;                      // vertical angles; replayed NAN: as recorded
    double resonance_hz[DW_PICKUP_DIRECTIONS], resonance_q; // hz NAN: none
    double force_mn,
        compliance;      // of tracking; for middle frequencies [µm/mN]; either NAN: the stylus never leaves the groove
    double friction;     // what anti-skating leaves of it
    double rotation_deg; // of azimuth
    double leak;         // of each coil into the other [ratio]
    double gain[2];
} DwPickupSettings;

// What hangs on the radius.
typedef struct {
    double tracking_error_deg; // NAN where there is no arm or no radius
    DwTracing tracing;
    double held_um[2]; // amplitude of a wall's own motion that its side of the stylus follows; INFINITY
} DwPickupPlace;

// Given: the settings and a radius [mm], NAN for none. An arm must reach it.
DwPickupPlace dw_pickup_place(const DwPickupSettings *settings, double radius_mm);
// The channels for walls that do [1, 0] and [0, 1], at frequencies well above
// the resonance: MATRIX[channel][wall].
void dw_pickup_matrix(const DwPickupSettings *settings, double matrix[2][2]);

// What the head of the arm does when the groove moves: with it at low frequencies,
// (1 + jx/Q)/(1 − x² + jx/Q) of it where x = f/HZ.
DwSections dw_pickup_head(double hz, double q, double rate_hz);

typedef struct {
    DwPickupSettings settings;
    double matrix[2][2];
    DwSections velocity[DW_PICKUP_DIRECTIONS], swing[DW_PICKUP_DIRECTIONS];
} DwPickup;

// Makes the pickup ready for samples of RATE_HZ [Hz], at rest.
void dw_pickup_init(DwPickup *pickup, const DwPickupSettings *settings, double rate_hz);
// The next value of the two coils [cm/s] for WALLS [cm/s], with the stylus held
// as PLACE says. The inner (left) wall loses it on swings towards the spindle, the
// outer (right) one on swings away from it; a channel whose wall is lost stands still.
// Accuracy: the suspension is a spring, and a wall that is lost costs neither
//   time nor the groove beside it.
// Reference: physics/resonance.h, physics/skating.h, physics/azimuth.h.
void dw_pickup_play(DwPickup *pickup, const DwPickupPlace *place, const double walls[2], double coils[2]);

#endif
