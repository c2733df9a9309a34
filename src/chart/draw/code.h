// SPDX-License-Identifier: MIT
// QR codes (ISO/IEC 18004, by libqrencode, level M): on a label, on a screen.
#ifndef DW_CHART_CODE_H
#define DW_CHART_CODE_H

#include "chart/draw/canvas.h"

typedef struct DwCode DwCode;

// The code that says TEXT; NULL when that is empty or too long. The caller frees
// it with dw_code_free(), which takes NULL.
DwCode *dw_code_new(const char *text);
void dw_code_free(DwCode *code);

// Modules on a side, with the standard's quiet zone of four around the code.
int dw_code_modules(const DwCode *code);
// Draws the dark modules in ink; SIZE is the side with the quiet zone.
void dw_code_draw(const DwCode *code, const DwCanvas *canvas, double x, double y, double size);
// The dark modules as the path of an SVG whose unit is a module. The caller
// frees it with free().
char *dw_code_path(const DwCode *code);

#endif
