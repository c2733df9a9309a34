// SPDX-License-Identifier: MIT
// The fonts that Pango and Fontconfig keep for the whole process.
#ifndef DW_CHART_FONTS_H
#define DW_CHART_FONTS_H

// Before a text is laid out. Only a leak checker needs it: what Fontconfig keeps of its configuration until the process
// ends is told to be no leak, for it holds some of it by offsets that no checker follows.
void dw_fonts_ready(void);
// Lets go of this thread's fonts: at the program's end, so that a leak checker sees only what the charts forgot.
void dw_fonts_drop(void);

#endif
