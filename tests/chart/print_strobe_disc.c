// SPDX-License-Identifier: MIT
// Writes a stroboscope disc to the path given and tells where its rings and ruler
// should lie, for strobe_disc.py to check on the picture.
#include "chart/template/strobe_disc.h"

#include <stdio.h>
#include <string.h>

int main(int count, char **arguments)
{
    if (count != 3)
        return 2;
    DwStrobeDisc disc = {
        .rings = {{540, "33⅓ · LED 300 Hz", "33⅓ rpm"},
                  {216, "33⅓ · 60 Hz", "33⅓ rpm"},
                  {180, "33⅓ · 50 Hz", "33⅓ rpm"},
                  {160, "45 · 60 Hz", "45 rpm"},
                  {133, "45 · 50 Hz", "45.11 rpm (+0.25 %)"},
                  {92, "78 · 60 Hz", "78.26 rpm (+0.33 %)"},
                  {77, "78 · 50 Hz", "77.92 rpm (-0.10 %)"}},
        .ring_count = 7,
        .letter = strcmp(arguments[1], "letter") == 0,
    };
    DwMessage message;
    if (dw_strobe_disc_write(&disc, arguments[2], &message) != DW_OK)
        return 1;
    DwStrobePage page = dw_strobe_page(&disc);
    printf("%.6f %.6f %.6f %.6f %.6f %.6f\n", page.width_mm, page.height_mm, page.centre_x_mm, page.centre_y_mm,
           page.ruler_x_mm, page.ruler_y_mm);
    for (size_t i = 0; i < disc.ring_count; i++) {
        double inner, outer;
        dw_strobe_ring_radii(&disc, i, &inner, &outer);
        printf("%d %.6f %.6f\n", disc.rings[i].bars, inner, outer);
    }
    return 0;
}
