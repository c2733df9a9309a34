// SPDX-License-Identifier: MIT
// Sheets with synthetic numbers of known truth, to draw and to look at.
#ifndef DW_TESTS_CHART_EXAMPLE_SHEETS_H
#define DW_TESTS_CHART_EXAMPLE_SHEETS_H

#include "base/sheet.h"

// A belt drive at 33⅓ rpm over 58.2 s: the mean deviation, once a revolution
// WOW percent and the belt (once per 3.5 s) a part of it.
DwSheet *example_speed_sheet(double mean, double wow);
// Tracking error of two alignments against the radius: a sheet without time or frequency.
DwSheet *example_alignment_sheet(void);

#endif
