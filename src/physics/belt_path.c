// SPDX-License-Identifier: MIT
#include "physics/belt_path.h"

DwBeltPath dw_drive_belt_path(const DwDrive *drive)
{
    double from = dw_drive_has_between(drive) ? drive->idler_mm : drive->pulley_mm;
    double pulleys = dw_drive_has_between(drive) ? 1 : drive->motors; // several motors are then on the first belt
    return (DwBeltPath){drive->rim_mm, from, drive->centre_mm, pulleys};
}
