// SPDX-License-Identifier: MIT
// One picture of a film as a photograph.
#ifndef DW_PROCEDURE_FILM_STILL_H
#define DW_PROCEDURE_FILM_STILL_H

#include "base/status.h"

// Writes the first frame of FILM that is shown at TIME_S or later as the photograph PHOTO (its ending as in
// src/audio/film_writer.h), in grey and as the frame is stored; *AT_S is its own time. A film that is over by then, or
// none, is DW_BAD_INPUT with one line that does not name it.
DwStatus dw_film_still(const char *film, double time_s, const char *photo, double *at_s, DwMessage *message);

#endif
