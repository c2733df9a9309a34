// SPDX-License-Identifier: MIT
// Lets go of the process's fonts at its end, so that a leak checker sees only
// what the charts themselves forgot.
#include <pango/pangocairo.h>
#include <stdlib.h>

static void drop_fonts(void)
{
    pango_cairo_font_map_set_default(NULL);
}

__attribute__((constructor)) static void drop_fonts_at_exit(void)
{
    atexit(drop_fonts);
}

// Fontconfig keeps one pattern of its own (288 bytes, however much is drawn)
// until the process ends.
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\n";
}
