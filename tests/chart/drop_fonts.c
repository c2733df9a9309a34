// SPDX-License-Identifier: MIT
// Lets go of the process's fonts at its end, as the program does.
#include "chart/draw/fonts.h"

#include <stdlib.h>

__attribute__((constructor)) static void drop_fonts_at_exit(void)
{
    atexit(dw_fonts_drop);
}
