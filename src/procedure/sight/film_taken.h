// SPDX-License-Identifier: MIT
// A film of the disc, read from a file: its frames followed, its camera calibrated, the platter's angle in each.
#ifndef DW_PROCEDURE_FILM_TAKEN_H
#define DW_PROCEDURE_FILM_TAKEN_H

#include "base/sheet.h"
#include "sight/film_camera.h"
#include "sight/platter.h"

typedef struct {
    DwFilmTrack *track;
    DwFilmCamera camera;
    double *time_s, *turn; // [rad], the way the platter turns
    double *x_mm, *y_mm;   // of the disc's middle
    double *rest_px;
    size_t count;
    bool backwards;    // it turns against a record's way
    double off_mm;     // how far the disc's middle lies beside the axis
    double frame_s;    // the usual time from frame to frame
    size_t gaps;       // places where the times tell that frames are missing
    double light;      // the least light of the most: 1 is even
    char stopped[200]; // why the film breaks off, or ""
} DwFilmTaken;

// Reads the film at PATH as INPUTS say. What cannot be measured is DW_BAD_INPUT with one line that says why and what to
// do: too few marks, frames missing, a telephone that moved, light that flickers. The caller frees what TAKEN holds
// with dw_film_taken_clear(), on failure too.
DwStatus dw_film_taken_read(const char *path, const DwInputs *inputs, DwFilmTaken *taken, DwMessage *message);
void dw_film_taken_clear(DwFilmTaken *taken);

// Adds to SHEET what TAKEN tells of a platter meant to turn at NOMINAL_RPM, its speed counting as reached within BAND,
// the camera's clock being off by CLOCK at most (shares). Nothing that turns is DW_BAD_INPUT with one line.
DwStatus dw_film_sheet_fill(const DwFilmTaken *taken, double nominal_rpm, double band, double clock, DwSheet *sheet,
                            DwMessage *message);

#endif
