// SPDX-License-Identifier: MIT
#include "chart/draw/code.h"

#include "base/text.h"

#include <qrencode.h>
#include <stdbool.h>

enum { QUIET_ZONE = 4 };

DwCode *dw_code_new(const char *text)
{
    return (DwCode *)QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
}

void dw_code_free(DwCode *code)
{
    QRcode_free((QRcode *)code);
}

static int width_of(const DwCode *code)
{
    return ((const QRcode *)code)->width;
}

int dw_code_modules(const DwCode *code)
{
    return width_of(code) + 2 * QUIET_ZONE;
}

static bool is_dark(const DwCode *code, int row, int column)
{
    return ((const QRcode *)code)->data[row * width_of(code) + column] & 1;
}

void dw_code_draw(const DwCode *code, const DwCanvas *canvas, double x, double y, double size)
{
    double module = size / dw_code_modules(code);
    dw_canvas_use(canvas, DW_INK_TEXT);
    for (int row = 0; row < width_of(code); row++)
        for (int column = 0; column < width_of(code); column++)
            if (is_dark(code, row, column))
                cairo_rectangle(canvas->cairo, x + (column + QUIET_ZONE) * module, y + (row + QUIET_ZONE) * module,
                                module, module);
    cairo_fill(canvas->cairo);
}

// A row's neighbours are one piece: no hair lines between them, and a third of the bytes.
char *dw_code_path(const DwCode *code)
{
    DwText path = {0};
    for (int row = 0; row < width_of(code); row++)
        for (int column = 0, run; column < width_of(code); column += run ? run : 1) {
            for (run = 0; column + run < width_of(code) && is_dark(code, row, column + run);)
                run++;
            if (run)
                dw_text_add(&path, "M%d %dh%dv1h-%dz", column + QUIET_ZONE, row + QUIET_ZONE, run, run);
        }
    return dw_text_take(&path);
}
