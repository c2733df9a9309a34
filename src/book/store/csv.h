// SPDX-License-Identifier: MIT
// Tables for other programs, as RFC 4180 has them: cells parted by commas, lines ended by CR LF.
#ifndef DW_BOOK_CSV_H
#define DW_BOOK_CSV_H

#include "base/text.h"

// Adds TEXT as a cell: quoted where it must be, quotes doubled.
void dw_csv_add(DwText *csv, const char *text);

#endif
