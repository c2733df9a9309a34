// SPDX-License-Identifier: MIT
// The way of the belt that reaches the platter, as a drive is described.
#ifndef DW_PHYSICS_BELT_PATH_H
#define DW_PHYSICS_BELT_PATH_H

#include "physics/drive.h"
#include "physics/rates.h"

// Its path at the surface that it touches (mm); NAN where something was not stated. Of several motors it runs round
// all, unless a wheel stands between: they are then on the first belt.
DwBeltPath dw_drive_belt_path(const DwDrive *drive);

#endif
