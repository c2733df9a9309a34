// SPDX-License-Identifier: MIT
#ifndef DW_PROCEDURE_PHOTO_MARKS_H
#define DW_PROCEDURE_PHOTO_MARKS_H

#include "sight/mark_finder.h"
#include "sight/photo.h"

// Reads the photograph at PATH and the marks of one paper in it, LEAST or more, into SEEN (room for
// DW_PAPER_MARKS_MOST). The caller frees what PHOTO holds with dw_photo_clear(), on success only.
DwStatus dw_photo_marks_read(const char *path, DwMarkFinder *finder, size_t least, DwPhoto *photo, DwMarkSeen *seen,
                             size_t *count, DwMarkedPaper *paper, DwMessage *message);

#endif
