// SPDX-License-Identifier: MIT
// Two described drives that several tests ask about.
#ifndef DW_TESTS_PHYSICS_EXAMPLE_DRIVES_H
#define DW_TESTS_PHYSICS_EXAMPLE_DRIVES_H

#include "physics/rates.h"

// A sub-platter of 160 mm with centres 130 mm apart and a belt of 0.8 mm; no motor stated.
static inline DwDrive example_belt_drive(double pulley_mm)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_BELT);
    drive.rim_mm = 160;
    drive.pulley_mm = pulley_mm;
    drive.centre_mm = 130;
    drive.belt_thickness_mm = 0.8;
    return drive;
}

// A 4-pole motor at 50 Hz, an idler of 45 mm, a rim of 280 mm, for 33⅓ rpm.
static inline DwDrive example_idler_drive(void)
{
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_IDLER);
    drive.rim_mm = 280;
    drive.idler_mm = 45;
    drive.mains_hz = 50;
    drive.motor_poles = 4;
    drive.pulley_mm = 6.2222;
    return drive;
}

#endif
