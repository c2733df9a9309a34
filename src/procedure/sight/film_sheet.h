// SPDX-License-Identifier: MIT
#ifndef DW_PROCEDURE_FILM_SHEET_H
#define DW_PROCEDURE_FILM_SHEET_H

#include "procedure/sight/film_taken.h"

// Adds to SHEET what TAKEN tells of a platter meant to turn at NOMINAL_RPM, its speed counting as reached within BAND,
// the camera's clock being off by CLOCK at most (shares). Nothing that turns is DW_BAD_INPUT with one line.
DwStatus dw_film_sheet_fill(const DwFilmTaken *taken, double nominal_rpm, double band, double clock, DwSheet *sheet,
                            DwMessage *message);

#endif
